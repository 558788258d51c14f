"""The proof that a program begins and ends over program zero, and that the lines added for it can't plunge.

In the machine's frame, for every tool length, table of offsets and start: an added line rises straight to the safe
height, or crosses there, and leaves everything else as it was. A line that leads over zero instead is high, and so is
the way on.
"""

from collections.abc import Sequence
from decimal import Decimal

from flipreg.prove.led import LedOverZero
from flipreg.prove.machine.beside import Beside
from flipreg.prove.machine.coordinate import NOISE_MM
from flipreg.prove.machine.history import History
from flipreg.prove.machine.line import Line, Lines
from flipreg.prove.machine.machine import CoordinateSystem, MachineState
from flipreg.prove.machine.ours import added_moves, check_rise, is_across, is_high, is_straight_along_z
from flipreg.prove.machine.step import Deed, Move
from flipreg.prove.read import Read
from flipreg.rs274.read.program import Units

__all__ = ["ProvingHome"]

_CODES = frozenset({0, 200, 210, 900, 910})
"""Ten times the G codes that an added line may hold."""


class ProvingHome:
    """Walks a source and its output, chunk after chunk.

    Parameters
    ----------
    source : str
        Name of the source, for messages.
    safe_z_mm : Decimal
        The safe height.
    units : Units, optional
        The program's before it says G20 or G21.
    """

    def __init__(self, source: str, safe_z_mm: Decimal, units: Units | None) -> None:
        self._safe = safe_z_mm
        self._beside = Beside(source, MachineState.before(units), MachineState.before(units), History())
        self._begun = False
        self._unnamed: set[int] = set()
        """The axes along which the source has named no place since lines were added at its start."""
        self._end_added = False
        self._promised: tuple[CoordinateSystem, bool] | None = None
        """The frame in which the start was shown to be high, and whether it was high in that frame's numbers."""
        self._led = LedOverZero(self._beside, safe_z_mm)
        self._line = 1

    def add(self, source: Read, output: Read, added: Sequence[int], zeroed: Sequence[int] = ()) -> None:
        """Prove the next chunk.

        Parameters
        ----------
        source, output : Read
            The source's chunk, and the output's.
        added : sequence of int
            Lines of the output's chunk that are added, from 0.
        zeroed : sequence of int
            Lines of the source's chunk that lead over zero instead, from 0, ascending.

        Raises
        ------
        ProofError
            If it can't be shown.
        """
        lines, ours = Lines(source.blocks, source.modes.values), Lines(output.blocks, output.modes.values)
        block = passed = 0
        left = list(zeroed)
        for group in [*_groups(added), []]:
            stop = group[0] - passed if group else len(lines)
            while left and left[0] < stop:
                led = left.pop(0)
                self._own(lines, block, led)
                self._lead(lines.line(led), ours.line(led + passed))
                block = led + 1
            self._own(lines, block, stop)
            if group:
                self._group([ours.line(each) for each in group])
            block, passed = stop, passed + len(group)

    def finish(self) -> None:
        """Check both ends; raises ProofError if it does not begin and end as it should."""
        beside, history = self._beside, self._beside.history
        if not self._begun:
            raise beside.error(self._line, "the output would not begin over program zero")
        frame = history.begins_in
        promises = [(each, True) for each in self._led.frames]
        for promised, by_numbers in [*promises, self._promised] if self._promised else promises:
            if frame is None:
                break
            axes = (0, 1, 2) if by_numbers else (0, 1)
            if not promised.same_zero(frame, axes) or (by_numbers and promised.tool != frame.tool):
                message = "the start would be high and over zero with other offsets, or another tool, than it cuts with"
                raise beside.error(self._line, message)
        if self._end_added or history.is_parked:
            return
        if history.ends_with_cut or not self._is_home(history.last_motion, history.ends_in):
            raise beside.error(self._line, "the output would not end over program zero")

    def _own(self, lines: Lines, first: int, stop: int) -> None:
        beside = self._beside
        for block in range(first, stop):
            if self._led.is_apart:
                line = lines.line(block)
                self._led.follow(line)
                self._unnamed -= {axis for axis in range(3) if "XYZ"[axis] in line.words}
                continue
            if self._unnamed:
                self._lean(lines.line(block))
                continue
            if self._begun and not self._end_added:
                beside.run(lines, block, stop)
                break
            if beside.source.ended:
                break
            line = lines.line(block)
            deed = beside.step(line)
            if deed.moves and self._end_added:
                raise beside.error(line.number, "a motion would follow the way home")
            if deed.moves:
                self._watch_start(line, deed)
        self._line = lines.blocks.first_line + max(0, stop - 1)

    def _lead(self, source: Line, output: Line) -> None:
        if self._end_added:
            raise self._beside.error(source.number, "a motion would follow the way home")
        deed = self._led.lead(source, output)
        self._unnamed -= {0, 1}
        if not self._begun:
            self._watch_start(output, deed)

    def _lean(self, line: Line) -> None:
        """Carry out a line of the source while it has not named all of its place: no cut may begin at what is ours."""
        beside = self._beside
        named = {axis for axis in range(3) if "XYZ"[axis] in line.words}
        deed = beside.step(line)
        for move in deed.moves:
            # A canned cycle goes to its hole by traverse before it cuts.
            unnamed = self._unnamed - named - {2} if "cycle" in deed.acts else self._unnamed
            along_z = is_straight_along_z(move) or 2 not in unnamed
            if move.is_fed and (unnamed & {0, 1} or not along_z):
                raise beside.error(line.number, "a cut would begin where the added lines lead")
            self._unnamed -= named | {axis for axis in range(3) if move.goes(axis)}

    def _watch_start(self, line: Line, deed: Deed) -> None:
        """See whether the source begins over zero by itself."""
        beside, (move, *_) = self._beside, deed.moves
        if move.is_of_machine and not move.is_fed:
            return
        if any(each.is_fed for each in deed.moves):
            raise beside.error(line.number, "the output would cut before it is over program zero")
        if "X" not in line.words and "Y" not in line.words:
            return
        machine = beside.source
        frame = machine.frame()
        named = [axis for axis, letter in enumerate("XY") if letter in line.words]
        if not (is_across(move) and all(move.end[axis].is_at(frame.zero[axis]) for axis in named)):
            raise beside.error(line.number, "the output would not begin over program zero")
        self._promise(line.number, frame)
        self._begun = all(move.end[axis].is_at(frame.zero[axis]) for axis in (0, 1))

    def _group(self, lines: list[Line]) -> None:
        beside = self._beside
        at_start = not (self._begun or beside.history.has_moved_across)
        if self._end_added or (self._begun and not beside.history.has_moved_across):
            raise beside.error(lines[0].number, "lines would be added where nothing is missing")
        frame = beside.source.frame() if at_start else beside.history.ends_in
        for line in lines:
            if not set(line.g) <= _CODES or line.m or line.has_comment:
                raise beside.error(line.number, "an added line would hold more than a traverse")
            for move in added_moves(beside, line, "XYZ"):
                self._check(line.number, move, frame, at_start=at_start)
        last = lines[-1].number
        if not at_start:
            # Nothing moves after it, so that it does not matter where compensation had left the point.
            beside.source.radius_off = beside.output.radius_off
        beside.compare_states(last)
        beside.compare_used(last, "path", "speed", "feed_mm", "tool", "selected", "cycle")
        if at_start:
            self._close_start(last)
        else:
            self._end_added = True
            if not self._is_home(beside.output.frame(), frame):
                raise beside.error(last, "the output would not end over program zero")
            beside.free(0, 1, 2)

    def _check(self, line: int, move: Move, frame: CoordinateSystem | None, *, at_start: bool) -> None:
        beside = self._beside
        if move.start[2] != move.end[2]:
            check_rise(beside, line, move, self._safe, from_anywhere=at_start)
        elif not is_straight_along_z(move) and not (is_across(move) and is_high(beside, frame, self._safe)):
            raise beside.error(line, "an added line would cross below the safe height, or at one that nobody knows")

    def _close_start(self, line: int) -> None:
        beside = self._beside
        machine, source = beside.output, beside.source
        frame = machine.frame()
        if not all(machine.place[axis].is_at(frame.zero[axis]) for axis in (0, 1)):
            raise beside.error(line, "the output would not begin over program zero")
        if not (source.place[2].depends_on_start or machine.place[2].is_at(source.place[2])):
            raise beside.error(line, "the source's next motion would be at another height")
        self._promise(line, frame)
        self._begun = True
        self._unnamed = {axis for axis in range(3) if source.place[axis].depends_on_start}
        for axis in range(3):
            if source.place[axis].depends_on_start:
                # Nobody knows where the source would have started: one of its own runs starts here.
                source.place[axis] = machine.place[axis]
            elif source.place[axis] != machine.place[axis]:
                beside.free(axis)
        beside.merge()

    def _promise(self, line: int, frame: CoordinateSystem) -> None:
        beside = self._beside
        here = beside.output.place[2]
        by_numbers = here not in beside.history.machine_heights
        if by_numbers:
            over = here.over(frame.zero[2])
            if over is None or over < self._safe - NOISE_MM:
                raise beside.error(line, "the output would not begin at the safe height")
        self._promised = (frame, by_numbers)

    def _is_home(self, here: CoordinateSystem | None, worked_in: CoordinateSystem | None) -> bool:
        machine = self._beside.output
        if here is None or machine.radius_off:
            return False
        over_zero = all(machine.place[axis].is_at(here.zero[axis]) for axis in (0, 1))
        return over_zero and is_high(self._beside, worked_in, self._safe)


def _groups(added: Sequence[int]) -> list[list[int]]:
    """Return runs of lines that follow one another."""
    groups: list[list[int]] = []
    for line in sorted(added):
        if groups and groups[-1][-1] == line - 1:
            groups[-1].append(line)
        else:
            groups.append([line])
    return groups
