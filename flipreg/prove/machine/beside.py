"""Two machines side by side: a program's own run, and the run of the output that is to do the same.

Equal states before equal lines are equal for ever. So states are compared until they are equal, and from there on one
machine stands for both.
"""

from dataclasses import replace

from flipreg.errors import ProofError
from flipreg.prove.machine.advance import advance
from flipreg.prove.machine.coordinate import Coordinate
from flipreg.prove.machine.history import History
from flipreg.prove.machine.line import Line, Lines
from flipreg.prove.machine.machine import AXES, MachineState
from flipreg.prove.machine.step import Deed, step

__all__ = ["Beside"]

_ALWAYS = {
    "plane": "plane (G17 to G19)",
    "distance": "distance mode (G90, G91)",
    "centres": "mode of arc centres",
    "feed_mode": "feed mode (G93, G94)",
    "units": "unit (G20, G21)",
    "returns": "retract mode (G98, G99)",
    "cutter": "cutter compensation",
    "length": "tool length offset",
    "offset": "work offset",
    "origins": "zero of a work offset",
    "axis_offset": "axis offset (G92)",
    "stored": "stored axis offset",
    "turning": "spindle (M3 to M5)",
    "mist": "mist (M7)",
    "flood": "flood (M8)",
    "overrides": "overrides (M48, M49)",
    "radius_off": "cutter compensation",
    "ended": "end",
}
"""What has to be the same at every line, and what a person calls it."""

_WHERE_USED = {
    "motion": "motion code",
    "path": "path control (G61, G64)",
    "speed": "spindle speed",
    "feed_mm": "feed",
    "tool": "tool in the spindle",
    "selected": "tool that is selected",
    "cycle": "words of a canned cycle",
}
"""What has to be the same where something depends on it."""

_ENDS = (2, 30)
_NO_MOTION = 800


class Beside:
    """Walks a source and an output line by line.

    Parameters
    ----------
    name : str
        The source's name, for messages.
    source, output : MachineState
        Both before the first line to come; they are the caller's no more.
    history : History
        What the source has done so far.
    """

    def __init__(self, name: str, source: MachineState, output: MachineState, history: History) -> None:
        self.name = name
        self.source = source
        self.history = history
        self._output: MachineState | None = output
        self.merge()

    @property
    def output(self) -> MachineState:
        """The output's machine."""
        return self.source if self._output is None else self._output

    def merge(self) -> None:
        """Let one machine stand for both if their states are equal."""
        other = self._output
        if other is None:
            return
        names = {*_ALWAYS, *_WHERE_USED}
        if self.source.motion is None or self.source.motion <= _NO_MOTION:
            # Words of a cycle hold only while it goes on.
            names.remove("cycle")
        if all(getattr(self.source, name) == getattr(other, name) for name in names) and all(
            mine.is_at(made) for mine, made in zip(self.source.place, other.place, strict=True)
        ):
            self._output = None

    def split(self) -> MachineState:
        """Return the output's machine, to be told lines that the source does not have."""
        if self._output is None:
            self._output = self.source.copy()
        return self._output

    def run(self, lines: Lines, first: int, stop: int) -> None:
        """Carry out lines that both have, many at once where one machine stands for both."""
        for block in range(first, stop):
            if self._output is None:
                advance(self.source, self.history, lines, block, stop)
                return
            self.step(lines.line(block))

    def step(self, line: Line, *, ends: bool = True) -> Deed:
        """Carry out a line that both have.

        Parameters
        ----------
        line : Line
            The line.
        ends : bool
            Whether an end in it counts; ends are taken out where programs are joined.

        Raises
        ------
        ProofError
            If it does not do the same in both.
        """
        if not ends:
            line = replace(line, m=tuple(code for code in line.m if code not in _ENDS))
        if self._output is None:
            deed = step(self.source, line)
            self.history.add(line, deed)
            return deed
        mine, made = step(self.source, line), step(self._output, line)
        self.history.add(line, mine)
        self._compare(line, mine, made)
        self.merge()
        return mine

    def compare_states(self, line: int) -> None:
        """Compare what has to be the same at every line.

        Raises
        ------
        ProofError
            If something is not.
        """
        for name, called in _ALWAYS.items():
            if getattr(self.source, name) != getattr(self.output, name):
                raise self.error(line, f"the {called} would be another one at this line")

    def compare_used(self, line: int, *names: str) -> None:
        """Compare what has to be the same where something depends on it."""
        for name in names:
            if getattr(self.source, name) != getattr(self.output, name):
                raise self.error(line, f"the {_WHERE_USED[name]} would be another one at this line")

    def free(self, *axes: int) -> None:
        """Let the source go on from anywhere along some axes, as if it had been started there."""
        for axis in axes:
            self.source.place[axis] = Coordinate.start(f"anew {AXES[axis]}")

    def error(self, line: int, message: str) -> ProofError:
        """Return the error that stops the program."""
        return ProofError(f"{self.name}:{line}:1: {message}")

    def _compare(self, line: Line, mine: Deed, made: Deed) -> None:
        self.compare_states(line.number)
        if mine.acts != made.acts or len(mine.moves) != len(made.moves):
            raise self.error(line.number, "this line would do something else")
        if "change" in mine.acts:
            self.compare_used(line.number, "tool", "selected")
        if not mine.moves:
            return
        if mine.depended_on_start:
            message = "a step or a cut that begins where nobody knows; name the whole point in G90 before it"
            raise self.error(line.number, message)
        # A traverse to a position of the machine is the same whatever is in the spindle.
        used = ["motion", "path", "tool"]
        if all(move.is_of_machine and not move.is_fed for move in mine.moves):
            used = []
        used += ["speed"] if self.source.turning != 5 else []
        used += ["feed_mm"] if any(move.is_fed for move in mine.moves) and self.source.feed_mode == 940 else []
        used += ["cycle"] if "cycle" in mine.acts else []
        self.compare_used(line.number, *used)
        for one, other in zip(mine.moves, made.moves, strict=True):
            same = one.is_fed == other.is_fed and one.is_straight == other.is_straight
            for ours, theirs in ((one.start, other.start), (one.end, other.end)):
                same &= all(a.depends_on_start or a.is_at(b) for a, b in zip(ours, theirs, strict=True))
            if not same:
                raise self.error(line.number, "this motion would lead somewhere else at the machine")
