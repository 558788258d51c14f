"""The text of a program: motions in the blank's frame, written in the numbers of a program."""

from collections.abc import Sequence
from dataclasses import dataclass

from tests.pairs.motions import CLEAR_MM, Motion
from tests.pairs.placement import Placement

INCH_MM = 25.4


@dataclass(frozen=True, slots=True)
class Hand:
    """How somebody writes programs: habits that change no motion.

    Attributes
    ----------
    decimals : int
        Decimals of a number.
    modal : bool
        Leave out a code and a coordinate that hold already.
    cycles : bool
        Drill with G81, else with G0 and G1.
    numbered : bool
        Lines carry N words.
    numbers_mm : float
        How many millimetres one unit of the written numbers means to who wrote them.
    unit_word : str
        The word for the unit that stands in the program; empty for none.
    """

    decimals: int = 3
    modal: bool = True
    cycles: bool = True
    numbered: bool = False
    numbers_mm: float = 1.0
    unit_word: str = "G21"


@dataclass(frozen=True, slots=True)
class Section:
    """What one tool makes: its T number, motions in the blank's frame, and the map to the program's numbers."""

    tool: int
    motions: tuple[Motion, ...]
    placed: Placement


def text(sections: Sequence[Section], hand: Hand, title: str) -> str:
    """Return the program that makes the motions of its sections, with a tool change before each."""
    up = f"G0 Z{_number(CLEAR_MM, hand)}"
    lines = [f"({title})", f"{hand.unit_word} G90 G17 G94".strip()]
    for section in sections:
        lines += [f"T{section.tool} M6", up, "M3 S18000"]
        writer = _Writer(section.placed, hand)
        for motion in section.motions:
            lines += writer.lines(motion)
        lines += [up, "M5"]
    lines += ["G0 X0 Y0", "M30"]
    if hand.numbered:
        lines = [f"N{10 * count} {line}" for count, line in enumerate(lines, 1)]
    return "\n".join(lines) + "\n"


def _number(value_mm: float, hand: Hand) -> str:
    written = f"{value_mm / hand.numbers_mm:.{hand.decimals}f}"
    return written[1:] if float(written) == 0 and written.startswith("-") else written


class _Writer:
    def __init__(self, placement: Placement, hand: Hand) -> None:
        self.placement = placement
        self.hand = hand
        self.code = ""
        self.at: dict[str, str] = {}

    def lines(self, motion: Motion) -> list[str]:
        x, y = self.placement.point(motion.x, motion.y)
        place = {"X": self._number(x), "Y": self._number(y), "Z": self._number(motion.z)}
        if motion.kind == "drill":
            return self._drill(place)
        if motion.kind == "arc":
            return self._arc(motion, place)
        feed = f" F{self._number(900.0)}" if motion.kind == "feed" and self.code != "G1" else ""
        line = self._line("G0" if motion.kind == "rapid" else "G1", place)
        return [line + feed] if line else []

    def _line(self, code: str, place: dict[str, str]) -> str:
        changed = {letter: value for letter, value in place.items() if self.at.get(letter) != value}
        if not changed:
            return ""
        words = changed if self.hand.modal else place
        head = "" if self.hand.modal and self.code == code else code
        self.code = code
        self.at = place
        return " ".join([*([head] if head else []), *(letter + value for letter, value in words.items())])

    def _arc(self, motion: Motion, place: dict[str, str]) -> list[str]:
        # The centre is written from the start as it was written, so that rounding doesn't add up.
        cx, cy = self.placement.point(motion.cx, motion.cy)
        scale = self.hand.numbers_mm
        i, j = (self._number(c - float(self.at[letter]) * scale) for c, letter in ((cx, "X"), (cy, "Y")))
        self.code = "G3" if motion.ccw != self.placement.is_mirror else "G2"
        self.at = place
        return [f"{self.code} X{place['X']} Y{place['Y']} Z{place['Z']} I{i} J{j} F{self._number(900.0)}"]

    def _drill(self, place: dict[str, str]) -> list[str]:
        up = self._number(CLEAR_MM)
        if not self.hand.cycles:
            self.code = "G0"
            self.at = place | {"Z": up}
            return [f"G0 X{place['X']} Y{place['Y']}", f"G1 Z{place['Z']} F{self._number(300.0)}", f"G0 Z{up}"]
        self.code = ""
        self.at = place | {"Z": up}
        position = f"X{place['X']} Y{place['Y']} Z{place['Z']}"
        return [f"G98 G81 {position} R{self._number(1.0)} F{self._number(300.0)}", "G80"]

    def _number(self, value_mm: float) -> str:
        return _number(value_mm, self.hand)
