"""The proof of the parts of a program: each does at the machine what its lines do in the whole.

In the machine's frame, for every tool length, table of offsets and start: before its lines a part comes to the very
state, and the very place, that the whole program is in there; the way to it rises first, crosses high, and comes down
only where the program stood itself.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from flipreg.errors import ProofError
from flipreg.prove.ahead import check_clear_from_anywhere, says_length
from flipreg.prove.machine.beside import Beside
from flipreg.prove.machine.coordinate import NOISE_MM, Coordinate
from flipreg.prove.machine.history import History
from flipreg.prove.machine.line import Line, Lines
from flipreg.prove.machine.machine import LENGTH_OF_TOOL, CoordinateSystem, MachineState
from flipreg.prove.machine.ours import ROUNDING_MM, added_moves, check_rise, is_across, is_high, is_straight_along_z
from flipreg.prove.machine.step import Move, step
from flipreg.prove.read import Read
from flipreg.rs274.read.blocks import BlockFlag
from flipreg.rs274.read.program import Units

__all__ = ["ProvingParts"]

_LETTERS = "XYZFSTHPQLRIJK"
_STOPS, _ENDS = (5, 9), (2, 30)
_CUTTER_OFF, _STOPPED = 400, 5
_Z = 2
_NOT_RUN = BlockFlag.PERCENT | BlockFlag.AFTER_END


@dataclass(frozen=True, slots=True)
class AddedMotion:
    """A motion that was added before a part's own ones: its line, and what numbers meant in it."""

    line: int
    move: Move
    frame: CoordinateSystem


class ProvingParts:
    """Walks a program once, and each of its parts beside it.

    Parameters
    ----------
    source : Read
        The program.
    safe_mm : Decimal
        The height the parts end at.
    units : Units, optional
        The program's before it says G20 or G21.
    """

    def __init__(self, source: Read, safe_mm: Decimal, units: Units | None) -> None:
        self._name = source.blocks.source
        self._lines = Lines(source.blocks, source.modes.values)
        self._safe = safe_mm
        self._units = units
        self._machine = MachineState.before(units)
        self._history = History()

    def add(
        self, output: Read, blocks: tuple[int, int, int], added: Sequence[int], begun: int, *, is_last: bool
    ) -> None:
        """Prove the next part.

        Parameters
        ----------
        output : Read
            The part.
        blocks : three ints
            How many lines the program begins with that every part has; the first block of the part's own lines, and
            the one after them.
        added : sequence of int
            Lines of the part that are new, from 0; checked, not believed.
        begun : int
            The line of the part from which on it is in the state of the whole program.
        is_last : bool
            Whether it is the last part.

        Raises
        ------
        ProofError
            If it can't be shown.
        """
        shared, first, stop = blocks
        ours = Lines(output.blocks, output.modes.values)
        lines = [line for line in range(len(ours)) if not output.blocks.flags[line] & _NOT_RUN]
        own = [block for block in range(first, stop) if not self._lines.blocks.flags[block] & _NOT_RUN]
        made = [line for line in lines if line >= shared]
        if len(made) - len(added) != len(own) or not set(added) <= set(made):
            raise ProofError(f"{self._name}:{first + 1}: lines would be lost")
        part = MachineState.before(self._units)
        # What nobody knows has one name in both.
        part.unknowns = self._machine.unknowns
        for block in range(shared):
            step(part, self._lines.line(block))
        if first == shared:
            for block in range(shared):
                line = self._lines.line(block)
                self._history.add(line, step(self._machine, line))
        beside, ways, own, made = self._beginning(part, (own, made), ours, set(added), begun)
        self._rest(beside, (own, made), ours, set(added), is_last=is_last)
        self._check_frames(beside, ways)
        self._machine, self._history = beside.source, beside.history

    def _beginning(
        self, part: MachineState, both: tuple[list[int], list[int]], ours: Lines, added: set[int], begun: int
    ) -> tuple[Beside, list[AddedMotion], list[int], list[int]]:
        """Bring both to where their states have to be equal, and return the ways that were added up to there."""
        own, made = both
        beside = Beside(self._name, self._machine, part, History(machine_heights=self._history.machine_heights))
        ways: list[AddedMotion] = []
        while made and made[0] < begun:
            line = made.pop(0)
            output = beside.split()
            if line in added:
                here = ours.line(line)
                if here.has_comment:
                    raise beside.error(here.number, "an added line would hold a comment")
                moves = added_moves(beside, here, _LETTERS)
                going = [move for move in moves if any(move.goes(axis) for axis in range(3))]
                ways += [AddedMotion(here.number, move, output.frame()) for move in going]
                continue
            here = self._lines.line(own.pop(0))
            deeds = [step(beside.source, here), step(output, here)]
            if any(deed.moves or set(deed.acts) - {"change"} for deed in deeds):
                raise beside.error(here.number, "the part would move before it is where the program is")
        self._settle(beside, ways, own)
        return beside, ways, own, made

    def _settle(self, beside: Beside, ways: Sequence[AddedMotion], own: Sequence[int]) -> None:
        """Check that both machines are in one state at one place, and that the way there was right."""
        line = own[0] + 1 if own else len(self._lines)
        source, output = beside.source, beside.output
        # Along these axes nobody knows where the part stands.
        open_axes = [
            axis
            for axis, (mine, made) in enumerate(zip(source.place, output.place, strict=True))
            if not mine.is_at(made) or axis in source.radius_off
        ]
        said = [
            axis
            for axis in open_axes
            if _Z not in open_axes and axis not in source.radius_off and _can_be_said(source, axis)
        ]
        if said or any(not output.place[axis].depends_on_start for axis in open_axes):
            raise beside.error(line, "the part would not be where the program is before its own motions")
        source.radius_off -= frozenset(open_axes)
        is_of_tool = any(symbol.startswith(LENGTH_OF_TOOL) for symbol, _ in source.length.symbols)
        if is_of_tool and source.length != output.length and says_length(source, self._lines, own):
            # The length of the tool before is nothing that the part could be told.
            source.length = output.length
        beside.compare_states(line)
        beside.compare_used(line, "path", "tool", "selected", "feed_mm", "speed")
        for way in ways:
            self._check_way(beside, way)
        beside.free(*open_axes)
        check_clear_from_anywhere(beside, self._lines, own, set(open_axes), self._safe)
        beside.merge()

    def _check_way(self, beside: Beside, way: AddedMotion) -> None:
        source, move = beside.source, way.move
        height, there = move.end[2], source.place[2]
        is_there = height.is_at(there)
        is_safe = self._is_at_safe_height(height, way.frame)
        if is_straight_along_z(move):
            # To the safe height or higher it may come down from a height of the machine: nothing is below on its way.
            # Farther it comes down only where the program stands, and to where it stands.
            up = move.end[2].over(move.start[2])
            is_rise = move.start[2].depends_on_start or (up is not None and up >= 0)
            in_place = all(a.is_at(b) for a, b in zip(move.start[:2], source.place[:2], strict=True))
            # From one height of the machine to another it is as high as the program stands anyway.
            is_machine = there in beside.history.machine_heights
            is_rise |= move.start[2] in beside.history.machine_heights
            over = there.over(way.frame.zero[2])
            is_high_there = (is_machine and is_rise) or (over is not None and over >= self._safe - NOISE_MM)
            fine = is_safe or (is_there and (in_place or is_high_there))
        else:
            in_place = all(
                mine.is_at(made) or move.start[axis] == made
                for axis, (mine, made) in enumerate(zip(source.place[:2], move.end[:2], strict=True))
            )
            over = height.over(way.frame.zero[2])
            is_high = (is_there and there in beside.history.machine_heights) or (
                over is not None and over >= self._safe - NOISE_MM and (is_safe or is_there)
            )
            fine = is_across(move) and in_place and is_high
        if not fine:
            raise beside.error(way.line, "an added line would lead somewhere that is not shown to be clear")

    def _is_at_safe_height(self, height: Coordinate, frame: CoordinateSystem) -> bool:
        over = height.over(frame.zero[2])
        return over is not None and -NOISE_MM <= over - self._safe <= ROUNDING_MM

    def _check_frames(self, beside: Beside, ways: Sequence[AddedMotion]) -> None:
        """Check that heights that were said as numbers mean what the numbers mean where the part cuts."""
        frame = beside.history.begins_in
        for way in ways:
            if frame is None or way.move.end[2] in beside.history.machine_heights:
                continue
            if not way.frame.same_zero(frame, (2,)) or way.frame.tool != frame.tool:
                message = "an added line would go to a height by numbers that mean another one where this tool cuts"
                raise beside.error(way.line, message)

    def _rest(
        self, beside: Beside, both: tuple[list[int], list[int]], ours: Lines, added: set[int], *, is_last: bool
    ) -> None:
        """Carry out the part's own lines, the way up after the last motion, and the end."""
        own, made = both
        raised, ending = False, list[Line]()
        while made:
            if made[0] in added:
                line = ours.line(made.pop(0))
                if is_last or line.has_comment:
                    raise beside.error(line.number, "a line would be added that nothing asks for")
                if not own:
                    ending.append(line)
                    continue
                raised = self._rise(beside, line)
                continue
            count = next((at for at, line in enumerate(made) if line in added), len(made))
            self._own(beside, own[:count], raised=raised)
            own, made = own[count:], made[count:]
        if not is_last:
            self._end(beside, ending)

    def _own(self, beside: Beside, blocks: Sequence[int], *, raised: bool) -> None:
        if not raised:
            beside.run(self._lines, blocks[0], blocks[-1] + 1)
            return
        for block in blocks:
            if beside.step(self._lines.line(block)).moves:
                raise beside.error(block + 1, "a motion would follow the way up")

    def _rise(self, beside: Beside, line: Line) -> bool:
        if line.m:
            raise beside.error(line.number, "an added line would do more than it may")
        moves = added_moves(beside, line, "Z")
        for move in moves:
            check_rise(beside, line.number, move, self._safe, from_anywhere=False)
        beside.compare_used(line.number, "path", "speed", "feed_mm", "tool", "selected")
        return True

    def _end(self, beside: Beside, lines: Sequence[Line]) -> None:
        """Check that a part that is not the last ends high, with everything off."""
        at = lines[-1].number if lines else 1
        for line in lines:
            output = beside.split()
            if output.ended:
                raise beside.error(line.number, "a line would follow the end of a part")
            if set(line.m) & set(_ENDS):
                self._check_off(beside, line.number)
            if line.g or line.words or not set(line.m) <= {*_STOPS, *_ENDS}:
                raise beside.error(line.number, "an added line would do more than it may")
            added_moves(beside, line, "", acts=("end",))
        if not beside.output.ended:
            raise beside.error(at, "a part would have no end")

    def _check_off(self, beside: Beside, line: int) -> None:
        output = beside.output
        if output.turning != _STOPPED or output.mist or output.flood:
            raise beside.error(line, "a part would end with the spindle or the coolant on")
        if output.cutter[0] != _CUTTER_OFF:
            raise beside.error(line, "a part would end with cutter compensation on")
        if not is_high(beside, beside.history.ends_in or output.frame(), self._safe):
            raise beside.error(line, "a part would not end at the safe height")


def _can_be_said(machine: MachineState, axis: int) -> bool:
    """Return whether a part can be told a place: as a number in force, or as a position of the machine."""
    place = machine.place[axis]
    return (place - machine.zero(axis)).is_number or place.is_of_machine
