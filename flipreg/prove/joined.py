"""The proof of a joined program: each program does what it does by itself, and between two of them nothing can plunge.

In the machine's frame, for every tool length, table of offsets and start: after the last motion of a program the tool
rises, in the numbers in which it cut; then every state is as the next program's own run begins.
"""

from collections.abc import Sequence
from decimal import Decimal

import numpy as np

from flipreg.errors import ProofError
from flipreg.prove.machine.beside import Beside
from flipreg.prove.machine.coordinate import ZERO, Coordinate
from flipreg.prove.machine.history import History
from flipreg.prove.machine.line import Line, Lines
from flipreg.prove.machine.machine import MachineState
from flipreg.prove.machine.ours import added_moves, check_rise, is_high, is_straight_along_z
from flipreg.prove.part import ENDS, compare_part
from flipreg.prove.read import Read
from flipreg.prove.reader import OutputReader
from flipreg.rs274.interpret.interpret import interpret_blocks
from flipreg.rs274.interpret.units import first_state
from flipreg.rs274.read.blocks import BlockFlag, Blocks
from flipreg.rs274.read.location import ProgramError
from flipreg.rs274.read.program import Readable
from flipreg.rs274.read.scanner import Scanner

__all__ = ["ProvingJoined"]

_CUTTER_OFF = 400
_UNITS = {200, 210}


class ProvingJoined:
    """Reads the joined program like any other, and each program by itself, and compares them.

    Parameters
    ----------
    safe_mm : Decimal
        The height that the tool is raised to between two programs.
    programs : sequence of Program or ProgramFile
        The programs, of which no more than their units is asked here.

    Attributes
    ----------
    motions : int
        Motions compared so far.
    """

    def __init__(self, safe_mm: Decimal, programs: Sequence[Readable]) -> None:
        self._safe_mm = safe_mm
        self._first_states = [first_state(program) for program in programs]
        self._units = [program.units for program in programs]
        self._programs = len(programs)
        self._alone = self._first_states[0]
        self._reader = OutputReader("<joined>", self._alone, what="joined program")
        self._program = 0
        self._beside: Beside | None = None
        self._walking = 0
        self._is_over = self._raised = False
        self._has_unit = True
        self._heights: set[Coordinate] = set()
        self._promised: dict[Coordinate, ProofError] = {}
        self._largest_mm = 0.0
        self.motions = 0

    def add(self, program: int, blocks: Blocks, text: bytes, added: Sequence[int]) -> None:
        """Prove the next chunk.

        Parameters
        ----------
        program : int
            Which of the programs it is of, from 0.
        blocks : Blocks
            The chunk of that program.
        text : bytes
            Its lines in the joined program.
        added : sequence of int
            Lines of that text that are new, from 0; checked, not believed.

        Raises
        ------
        ProofError
            If it does not do what its source does.
        """
        if program != self._program:
            if program != self._program + 1:
                raise ProofError("a program would be lost")
            self._program, self._alone = program, self._first_states[program]
        begins = self._alone == self._first_states[program]
        modes, path, self._alone = interpret_blocks(blocks, self._alone)
        source = Read(blocks, modes, path)
        self.motions += len(path)
        if not text:
            if len(path) or (blocks.letter != ord("O")).any() or len(blocks.comment_start):
                raise ProofError(f"{blocks.source}: lines would be lost")
            return
        output = self._reader.read(text, name=blocks.source)
        off = compare_part(source, output, added, moved_start=begins)
        self._largest_mm = max(self._largest_mm, off)
        self._walk(source, output, sorted(added))

    def finish(self, texts: Sequence[bytes]) -> float:
        """Return the largest deviation; raises ProofError unless the program has one end and is whole."""
        if self._program != self._programs - 1 or self._beside is None:
            raise ProofError("a program would be lost")
        self._heights |= self._beside.history.machine_heights
        for height, error in self._promised.items():
            if height not in self._heights:
                raise error
        scanner, state, ends = Scanner("<joined>"), self._first_states[0], 0
        try:
            for text in filter(None, texts):
                for blocks in scanner.scan(text):
                    modes, _, state = interpret_blocks(blocks, state)
                    codes = np.rint(np.nan_to_num(modes.values))[blocks.letter == ord("M")]
                    ends += int(np.isin(codes, ENDS).sum())
            scanner.check_end()
        except ProgramError as error:
            raise ProofError("the joined program would not be whole", error) from None
        if ends > 1:
            raise ProofError(f"the joined program would have {ends} ends")
        return self._largest_mm

    def _walk(self, source: Read, output: Read, added: Sequence[int]) -> None:
        """Carry out a chunk on both machines."""
        lines, ours = Lines(source.blocks, source.modes.values), Lines(output.blocks, output.modes.values)
        blocks = [block for block in range(len(lines)) if not source.blocks.flags[block] & BlockFlag.PERCENT]
        made = [line for line in range(len(ours)) if not output.blocks.flags[line] & BlockFlag.PERCENT]
        if len(blocks) != len(made) - len(added) or not set(added) <= set(made):
            place = f"{source.blocks.source}:{source.blocks.first_line}"
            raise ProofError(f"{place}: lines would be lost")
        if self._beside is None or self._walking != self._program:
            junction = [line for number, line in enumerate(added) if line == number]
            self._begin(source.blocks, [ours.line(line) for line in junction])
            added, made = added[len(junction) :], made[len(junction) :]
        passed = 0
        for number, line in enumerate(added):
            stop = made.index(line) - number
            self._own(lines, blocks[passed:stop])
            self._raise(ours.line(line))
            passed = stop
        self._own(lines, blocks[passed:])

    def _begin(self, blocks: Blocks, junction: list[Line]) -> None:
        """Go on with the next program: the junction, and the state that its own run begins in."""
        before, self._walking, self._is_over, self._raised = self._beside, self._program, False, False
        units = self._units[self._program]
        alone = MachineState.before(units, f"of program {self._program + 1}")
        if before is None:
            if junction:
                message = "a line would be added before the first program"
                raise ProofError(f"{blocks.source}:1: {message}")
            self._beside = Beside(blocks.source, alone, alone.copy(), History())
            return
        if units is None:
            # Its unit is what the control has until the program says it.
            alone.units, self._has_unit = before.output.units, False
        if before.output.length != alone.length:
            # Once a program has said a length offset, the next one begins without, as after switching on.
            alone.length = ZERO
        if before.output.axis_offset == [ZERO] * 3:
            # The end of a program resets an axis offset as well (3.6.1), and keeps what it has stored.
            alone.axis_offset, alone.stored = [ZERO] * 3, [*before.output.stored]
        # Its own run may begin anywhere, so also a radius beside a place.
        alone.radius_off = before.output.radius_off
        # What nobody knows has one name in both.
        alone.unknowns = before.output.unknowns
        beside = Beside(blocks.source, alone, before.output.copy(), History())
        for line in junction:
            for move in added_moves(beside, line, "Z"):
                is_rise = move.is_of_machine and is_straight_along_z(move)
                self._check_machine_rise(beside, line.number, move.end[2], is_rise=is_rise)
        first = junction[0].number if junction else blocks.first_line
        here = beside.output.place[2]
        if here not in self._promised and not is_high(before, before.history.ends_in, self._safe_mm, here=here):
            raise beside.error(first, "the tool would not be up before this program")
        if beside.output.ended or beside.output.cutter[0] != _CUTTER_OFF:
            raise beside.error(first, "the program before would not be over as its own end leaves it")
        beside.compare_states(first)
        self._heights |= before.history.machine_heights
        self._beside = beside

    def _check_machine_rise(self, beside: Beside, line: int, height: Coordinate, *, is_rise: bool) -> None:
        error = beside.error(line, "the junction would move where no program rises by the machine")
        if not is_rise:
            raise error
        self._promised.setdefault(height, error)

    def _raise(self, line: Line) -> None:
        """Carry out a line that was added after the last motion of a program."""
        beside = self._beside
        assert beside is not None
        if self._program == self._programs - 1 or line.m or line.has_comment:
            raise beside.error(line.number, "an added line would do more than it may")
        for move in added_moves(beside, line, "Z"):
            check_rise(beside, line.number, move, self._safe_mm, from_anywhere=False)
            self._raised = True
        beside.compare_used(line.number, "path", "speed", "feed_mm", "tool", "selected")

    def _own(self, lines: Lines, blocks: Sequence[int]) -> None:
        """Carry out lines of the program itself; its end is taken out unless it is the last one."""
        beside = self._beside
        assert beside is not None
        if not blocks:
            return
        first = self._up_to_unit(beside, lines, blocks[0], blocks[-1] + 1)
        if self._program == self._programs - 1:
            beside.run(lines, first, blocks[-1] + 1)
            return
        for block in [*_ends(lines, first, blocks[-1] + 1), None]:
            stop = blocks[-1] + 1 if block is None else block
            self._check_over(lines, first, stop)
            self._run(lines, first, stop)
            if block is None:
                return
            self._check_over(lines, block, block + 1)
            beside.step(lines.line(block), ends=False)
            self._is_over, first = True, block + 1

    def _up_to_unit(self, beside: Beside, lines: Lines, first: int, stop: int) -> int:
        """Carry out lines up to the one that says the unit, and return the next; before it nothing may have a size."""
        block = first
        while not self._has_unit and block < stop:
            line = lines.line(block)
            if set(line.m) & set(ENDS):
                return block
            self._has_unit = bool(set(line.g) & _UNITS)
            if beside.step(line).moves and not self._has_unit and any(line.words.values()):
                raise beside.error(line.number, "a motion before this program says G20 or G21")
            block += 1
        return block

    def _run(self, lines: Lines, first: int, stop: int) -> None:
        beside = self._beside
        assert beside is not None
        if not self._raised:
            beside.run(lines, first, stop)
            return
        for block in range(first, stop):
            line = lines.line(block)
            if beside.step(line).moves:
                raise beside.error(line.number, "a motion would follow the way up")

    def _check_over(self, lines: Lines, first: int, stop: int) -> None:
        """Check that nothing is done after the end of a program that is not the last."""
        if not self._is_over or self._beside is None:
            return
        for block in range(first, stop):
            line = lines.line(block)
            if line.g or line.m or line.words:
                raise self._beside.error(line.number, "words after the end of this program would be run")


def _ends(lines: Lines, first: int, stop: int) -> list[int]:
    """Return the blocks that end the program."""
    rows = lines.blocks.rows("M")
    rows = rows[np.isin(np.rint(np.nan_to_num(lines.values[rows])), ENDS)]
    return [block for block in lines.blocks.block[rows].tolist() if first <= block < stop]
