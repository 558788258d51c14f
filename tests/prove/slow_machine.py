"""A small machine with numbers for everything: what each line of a program does in one table of offsets and lengths.

It shares nothing with the package but the standard (NISTIR 6556, 3.5 to 3.8), and reads no expressions. A coordinate
that nobody knows is NaN.
"""

import re
from dataclasses import dataclass, field
from functools import cache
from math import isnan, nan

__all__ = ["Done", "Machine", "Table", "run"]

_WORD = re.compile(r"([A-Z])\s*([+-]?[0-9]*\.?[0-9]+|[+-]?[0-9]+\.?)")
_AXES = "XYZ"
_GROUPS = {
    "motion": (0, 1, 2, 3, 38.2, 80, 81, 82, 83, 84, 85, 86, 87, 88, 89),
    "plane": (17, 18, 19),
    "unit": (20, 21),
    "distance": (90, 91),
    "centres": (90.1, 91.1),
    "feed mode": (93, 94),
    "retract": (98, 99),
    "offset": (54, 55, 56, 57, 58, 59, 59.1, 59.2, 59.3),
}


Move = tuple[bool, bool, list[float], list[float]]
"""Whether it cuts, whether it is to a position of the machine, and both its ends."""


@dataclass(frozen=True)
class Table:
    """What the control and the shop know, and the program doesn't."""

    origins: dict[float, tuple[float, float, float]]
    lengths: dict[float, float]
    start: tuple[float, float, float]
    reference: tuple[float, float, float] = (-1.0, -2.0, 0.0)


@cache
def _words(text: str) -> list[tuple[str, float]]:
    """Return the words of a line, which runs for every table: letter and value, without line and program numbers."""
    bare = re.sub(r"\([^)]*\)|;.*", "", text).upper()
    return [(letter, float(value)) for letter, value in _WORD.findall(bare) if letter not in "NO"]


@dataclass
class Done:
    """What one line did: its states, and its motions as (is a cut, is by the machine, start, end)."""

    text: str
    states: dict[str, object]
    moves: list[Move]
    acts: list[str]
    zero: list[float]
    by_machine: bool


@dataclass
class Machine:
    """The machine; `do` carries out a line."""

    table: Table
    place: list[float] = field(default_factory=list)
    modes: dict[str, object] = field(default_factory=dict)
    axis_offset: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0])
    up_by_machine: bool = False
    ended: bool = False

    def __post_init__(self) -> None:
        self.place = [*self.table.start]
        self.modes = {
            **{"motion": 80, "plane": 17, "unit": 21, "distance": 90, "centres": 91.1, "feed mode": 94, "retract": 98},
            **{"offset": 54, "length": 0.0, "cutter": (40, None), "spindle": 5, "mist": False, "flood": False},
            **{"overrides": 48, "path": None, "speed": None, "feed": None, "tool": None, "selected": None},
        }

    def do(self, text: str) -> Done:
        """Carry out one line."""
        if self.ended:
            return Done(text, {}, [], [], self._zero(), self.up_by_machine)
        words = _words(text)
        g = [value for letter, value in words if letter == "G"]
        m = [value for letter, value in words if letter == "M"]
        said = {letter: value for letter, value in words if letter not in "GM"}
        modes = self.modes
        for name, codes in _GROUPS.items():
            for code in g:
                if code in codes:
                    modes[name] = code
        plain = [code for code in g if code in (0, 1, 2, 3)]
        if 80 in g and plain:
            # The cancel of a cycle beside a motion: the motion is made, if there is one.
            is_moving = set(said) & {*_AXES} and not {10, 28, 30, 92} & {*g}
            modes["motion"] = plain[-1] if is_moving else 80
        acts = []
        scale = 25.4 if modes["unit"] == 20 else 1.0
        if "F" in said and modes["feed mode"] == 94:
            modes["feed"] = said["F"] * scale
        modes["speed"] = said.get("S", modes["speed"])
        modes["selected"] = said.get("T", modes["selected"])
        if 6 in m:
            modes["tool"], modes["spindle"] = modes["selected"], 5
            acts.append("M6")
        for code in m:
            if code in (3, 4, 5):
                modes["spindle"] = code
            if code in (48, 49):
                modes["overrides"] = code
            modes["mist"] = code == 7 or (bool(modes["mist"]) and code != 9)
            modes["flood"] = code == 8 or (bool(modes["flood"]) and code != 9)
            if code in (0, 1, 60):
                acts.append(f"M{code:g}")
        if 4 in g:
            acts.append("G4")
        for code in g:
            if code in (40, 41, 42):
                modes["cutter"] = (code, said.get("D"))
            if code == 43:
                modes["length"] = self._length_of(said["H"]) if "H" in said else self._own_length()
            if code == 49:
                modes["length"] = 0.0
            if code in (61, 61.1, 64):
                modes["path"] = (code, *sorted((letter, said[letter]) for letter in said if letter in "PQLRIJK"))
        moves = self._moves(g, {letter: value * scale for letter, value in said.items()})
        states = dict(modes)
        zero = self._zero()
        if {2, 30} & set(m):
            acts.append("end")
            self.ended = True
            modes.update({"spindle": 5, "mist": False, "flood": False, "overrides": 48})
        return Done(text, states, moves, acts, zero, self.up_by_machine)

    def _length_of(self, number: float) -> float:
        """Return the length that an H number stands for; one like no other where the table has none."""
        return self.table.lengths.get(number, 1000.0 + number)

    def _own_length(self) -> float:
        """Return the length of the tool in the spindle, which no H number stands for."""
        tool = self.modes["tool"]
        return 33.0 if tool is None else 34.5 + 7.0 * float(str(tool)) + self.table.lengths[1]

    def _zero(self) -> list[float]:
        origin = self.table.origins[float(str(self.modes["offset"]))]
        zero = [a + b for a, b in zip(origin, self.axis_offset, strict=True)]
        zero[2] += float(str(self.modes["length"]))
        return zero

    def _moves(self, g: list[float], said: dict[str, float]) -> list[Move]:
        moves: list[Move] = []
        named = [axis for axis, letter in enumerate(_AXES) if letter in said]

        def go(end: list[float], *, cuts: bool, machine: bool = False) -> None:
            moves.append((cuts, machine, [*self.place], [*end]))
            if end[2] != self.place[2] or (machine and 2 in named) or not named:
                self.up_by_machine = machine
            self.place = [*end]

        def target() -> list[float]:
            end, zero = [*self.place], self._zero()
            for axis in named:
                here = self.place[axis] if self.modes["distance"] == 91 else zero[axis]
                end[axis] = here + said[_AXES[axis]]
            return end

        is_circle = not named and self.modes["motion"] in (2, 3) and not {4, 10, 28, 30, 53, 92} & {*g}
        is_circle &= bool({2, 3} & {*g}) or not {61, 61.1, 64} & {*g}
        if 4 in g and "P" not in said:
            return moves
        if is_circle and {*said} & {*{17.0: "IJ", 18.0: "IK", 19.0: "JK"}[float(str(self.modes["plane"]))]}:
            moves.append((True, False, [*self.place], [*self.place]))
        elif 28 in g or 30 in g:
            if named:
                go(target(), cuts=False, machine=True)
            end = [*self.place]
            for axis in named or (0, 1, 2):
                end[axis] = self.table.reference[axis]
            go(end, cuts=False, machine=True)
        elif 92 in g:
            for axis in named:
                self.axis_offset[axis] += self.place[axis] - self._zero()[axis] - said[_AXES[axis]]
        elif named and 53 in g:
            end = [*self.place]
            for axis in named:
                end[axis] = said[_AXES[axis]]
            go(end, cuts=self.modes["motion"] != 0, machine=True)
        elif named and float(str(self.modes["motion"])) > 80:
            level = said["R"] + self._zero()[2] if "R" in said else nan
            end = target()
            before = self.place[2]
            end[2] = before if self.modes["retract"] == 98 and (isnan(level) or before >= level) else level
            go(end, cuts=True)
        elif named:
            go(target(), cuts=self.modes["motion"] != 0)
        return moves


def run(lines: list[str], table: Table, machine: Machine | None = None) -> list[Done]:
    """Return what the lines of a program do."""
    machine = machine or Machine(table)
    return [machine.do(line) for line in lines]
