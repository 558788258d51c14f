"""A whole program block after block, its subprograms where they are called.

`M98 P1000 L3` runs the blocks after the line `O1000` up to `M99`, three times. It is a widespread habit and not in
the report; the subprogram stands in the same file, most often after the end of the main program.
"""

from collections.abc import Generator, Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from flipreg.path import Path
from flipreg.rs274.code_numbers import M
from flipreg.rs274.interpret.interpret import interpret_blocks
from flipreg.rs274.interpret.state import BlockDelete, Modes, State
from flipreg.rs274.interpret.units import first_state
from flipreg.rs274.read.blocks import EXPRESSION, BlockFlag, Blocks
from flipreg.rs274.read.part import part_of
from flipreg.rs274.read.program import Readable
from flipreg.rs274.read.scanner import scan_chunks

__all__ = ["MOST_CALLS", "MOST_DEEP", "Step", "executed", "interpret"]

MOST_DEEP = 10
"""Subprograms that may call one another (chosen), more is a circle."""

MOST_CALLS = 2_000
"""Runs of subprograms in one program (chosen), more is a slip of the decimal point, and each takes about a
millisecond."""

_P, _L = b"PL"


@dataclass(frozen=True, eq=False, slots=True)
class Step:
    """Consecutive blocks that were executed one after the other.

    Attributes
    ----------
    blocks, modes, path
        The blocks, their modes and their motions.
    before, after : State
        The state around them.
    depth : int
        0 for the main program, 1 for a subprogram that it calls, and so on.
    call_line : int
        Line of the call that runs them, 0 for the main program.
    """

    blocks: Blocks
    modes: Modes
    path: Path
    before: State
    after: State
    depth: int = 0
    call_line: int = 0


def interpret(program: Readable, *, block_delete: BlockDelete = BlockDelete.OFF) -> Path:
    r"""Return all motions of a program.

    Parameters
    ----------
    program : Program or ProgramFile
        The program.
    block_delete : BlockDelete
        The machine's switch: whether lines that start with `/` are left out.

    Returns
    -------
    Path
        One row a motion, in the order of execution, in the program's own coordinates and in millimetres.

    Raises
    ------
    ProgramError
        At the first block that is not legal.
    RefusedError
        At the first block that is understood, but cannot be interpreted.

    Examples
    --------
    >>> from flipreg.rs274.read.program import parse
    >>> interpret(parse("G21 G90 G0 X0 Y0 Z5\nG1 X2.5 F600")).end[-1].tolist()
    [2.5, 0.0, 5.0]
    """
    parts = [step.path for step in executed(program, block_delete=block_delete) if len(step.path)]
    return Path.concatenate(parts) if parts else Path.empty()


def executed(program: Readable, *, block_delete: BlockDelete = BlockDelete.OFF) -> Iterator[Step]:
    """Yield a program's blocks in the order of execution, with all that they do.

    Parameters
    ----------
    program : Program or ProgramFile
        The program.
    block_delete : BlockDelete
        The machine's switch.

    Yields
    ------
    Step
        The steps of depth 0 are the whole text in file order, what is after the end included.

    Raises
    ------
    ProgramError, RefusedError
        As `interpret`, and at a call of a subprogram that is not there, has no end, or calls itself.
    """
    runner = _Runner(program, block_delete)
    for blocks in scan_chunks(program.pieces(), program.source):
        yield from runner.run(_parts(blocks), 0, 0)


class _Runner:
    def __init__(self, program: Readable, block_delete: BlockDelete) -> None:
        self._program = program
        self._state = first_state(program, State(block_delete=block_delete, runs_calls=True))
        self._subprograms: dict[int, list[Blocks]] | None = None
        self._calls = 0

    def run(self, parts: Iterable[Blocks], depth: int, call_line: int) -> Generator[Step, None, bool]:
        """Yield the steps of parts of the text; return whether they ended with the way back."""
        for part in parts:
            before = self._state
            modes, path, self._state = interpret_blocks(part, before)
            yield Step(part, modes, path, before, self._state, depth, call_line)
            code, row = _last_code(part, modes)
            if code == M.RETURN:
                if not depth:
                    message = "M99 outside a subprogram would start the program again; end it with M2 or M30"
                    raise part.error(message, row=row)
                return True
            if code == M.CALL:
                yield from self._call(part, modes, row, depth)
            if self._state.ended and depth:
                return True
        return False

    def _call(self, part: Blocks, modes: Modes, row: int, depth: int) -> Iterator[Step]:
        values = {int(part.letter[at]): float(modes.values[at]) for at in _rows_of_last(part)}
        number, repeats = round(values[_P]), round(values.get(_L, 1.0))
        line = part.first_line + len(part) - 1
        self._calls += repeats
        if depth >= MOST_DEEP:
            raise part.error(f"more than {MOST_DEEP} subprograms inside one another; does one call itself?", row=row)
        if self._calls > MOST_CALLS:
            raise part.error(f"more than {MOST_CALLS} runs of subprograms in one program", row=row)
        if self._subprograms is None:
            self._subprograms = _subprograms(self._program)
        body = self._subprograms.get(number)
        if body is None:
            raise part.error(f"no subprogram O{number} in this file; write it into the file, after the end", row=row)
        for _ in range(repeats):
            returned = yield from self.run(body, depth + 1, line)
            if self._state.ended:
                return
            if not returned:
                raise part.error(f"subprogram O{number} has no M99 at its end", row=row)


def _parts(blocks: Blocks) -> Iterator[Blocks]:
    """Yield the blocks cut after every block that may call a subprogram or leave one."""
    rows = blocks.rows("M")
    literal = blocks.decimals[rows] != EXPRESSION
    small = blocks.decimals[rows] < 10
    number = blocks.mantissa[rows] / 10.0 ** np.where(small, blocks.decimals[rows], 0)
    cuts = np.unique(blocks.block[rows[~literal | (np.rint(number) >= M.CALL)]])
    first = 0
    for cut in cuts.tolist():
        yield part_of(blocks, first, cut + 1)
        first = cut + 1
    if not first:
        yield blocks
    elif first < len(blocks):
        yield part_of(blocks, first, len(blocks))


def _rows_of_last(part: Blocks) -> list[int]:
    return np.flatnonzero(part.block == len(part) - 1).tolist()


def _last_code(part: Blocks, modes: Modes) -> tuple[int, int]:
    """Return the subprogram code of the last block, 0 where it has none or is not executed, and its row."""
    if len(part) and modes.executes[-1]:
        rows = part.rows("M")
        if rows.size and part.block[rows[-1]] == len(part) - 1:
            for row in rows[part.block[rows] == len(part) - 1].tolist():
                if round(float(modes.values[row])) in (M.CALL, M.RETURN):
                    return round(float(modes.values[row])), row
    return 0, 0


def _subprograms(program: Readable) -> dict[int, list[Blocks]]:
    """Return the blocks after each program number, up to the next one, cut as they are run."""
    found: dict[int, list[Blocks]] = {}
    number = -1
    for blocks in scan_chunks(program.pieces(), program.source):
        starts = np.flatnonzero(blocks.flags & BlockFlag.PROGRAM_NUMBER).tolist()
        bounds = [*starts, len(blocks)]
        if number >= 0 and bounds[0]:
            found[number] += _parts(part_of(blocks, 0, bounds[0]))
        for start, stop in zip(starts, bounds[1:], strict=True):
            row = int(np.searchsorted(blocks.block, start))
            if row == len(blocks.block) or blocks.block[row] != start:
                # A program may have a name instead, which no block calls.
                number = -1
                continue
            number = int(blocks.mantissa[row])
            if number in found:
                message = f"a second O{number} in this file; give each subprogram a number of its own"
                raise blocks.error(message, row=row)
            found[number] = [*_parts(part_of(blocks, start + 1, stop))]
    return found
