"""The proof of a program with subprograms: both programs are run, call for call, and compared step by step."""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from flipreg.errors import ProofError
from flipreg.prove.chunk import prove, prove_motions
from flipreg.prove.expected import Expected
from flipreg.prove.read import Claim, Read
from flipreg.rs274.interpret.state import BlockDelete
from flipreg.rs274.interpret.subprograms import Step, executed
from flipreg.rs274.read.blocks import Blocks
from flipreg.rs274.read.dialect import Dialect
from flipreg.rs274.read.location import ProgramError
from flipreg.rs274.read.part import part_of
from flipreg.rs274.read.program import Readable, Units
from flipreg.rs274.read.scanner import scan_chunks

__all__ = ["SecondRunError", "SpelledLines", "prove_calls"]

_NO_LINES = np.empty(0, np.int64)


class SecondRunError(ProofError):
    """The output does what the source does until a subprogram runs again.

    Attributes
    ----------
    call_line : int
        The line of the call.
    """

    def __init__(self, fault: str, call_line: int) -> None:
        super().__init__(fault)
        self.call_line = call_line


@dataclass(frozen=True, eq=False, slots=True)
class SpelledLines:
    """What a rewriter says of the lines of a whole program that it spelled out; checked, not believed.

    Attributes
    ----------
    line : int64, shape (k,)
        The source's lines that are straight moves now, ascending.
    added : int64, shape (k,)
        How many lines each of them has gained.
    chords_mm : float
        How far chords may stand off their arcs.
    """

    line: NDArray[np.int64] = field(default_factory=lambda: _NO_LINES)
    added: NDArray[np.int64] = field(default_factory=lambda: _NO_LINES)
    chords_mm: float = 0.0

    def among(self, read: Read) -> Claim | None:
        """Return what is said of consecutive lines, None if there is nothing."""
        first = read.blocks.first_line
        low, high = np.searchsorted(self.line, [first, first + len(read.blocks)]).tolist()
        if low == high:
            return None
        return Claim(self.line[low:high] - first, self.added[low:high], self.chords_mm)

    def gained_before(self, line: int) -> int:
        """Return how many lines are said to be added in front of a line of the source."""
        return int(self.added[: int(np.searchsorted(self.line, line))].sum())


@dataclass(frozen=True, slots=True)
class _OneChunk:
    """A program that is read at once, so that two texts of different lengths are cut at the same lines."""

    text: bytes
    source: str
    units: Units | None
    dialect: Dialect

    @classmethod
    def of(cls, program: Readable) -> "_OneChunk":
        text = b"".join(program.pieces())
        whole = text if text.endswith((b"\n", b"\r")) else text + b"\n"
        # The source was read as it is, and what it may not have was found then.
        return cls(whole, program.source, program.units, program.dialect._replace(strict=False))

    def pieces(self) -> Iterator[bytes]:
        yield self.text


def prove_calls(
    source: Readable,
    expected: Expected,
    output: Readable,
    *,
    block_delete: BlockDelete,
    spelled: SpelledLines = SpelledLines(),
) -> float:
    """Run both programs and return the largest deviation of the output's motions, in millimetres.

    Raises
    ------
    ProofError
        If the output is not legal, or does not do what the source does; `SecondRunError` if that is so at the second
        run of a subprogram.
    """
    largest, runs = 0.0, set[int]()
    source, output = _OneChunk.of(source), _OneChunk.of(output)
    steps, is_legal = _steps(source, block_delete)
    made, problem = _made(output, block_delete)
    if len(made) > len(steps) and is_legal:
        raise ProofError(f"{source.source}: the output would run more lines")
    for step, ours in enumerate(steps):
        try:
            if step >= len(made):
                raise problem or ProofError(f"{source.source}: the output would run fewer lines")
            largest = max(largest, _prove_step(ours, expected, made[step], spelled, block_delete))
        except ProofError as error:
            if ours.blocks.first_line in runs:
                raise SecondRunError(error.fault, ours.call_line) from None
            raise
        if ours.depth:
            runs.add(ours.blocks.first_line)
    if block_delete is BlockDelete.OFF:
        _compare_lines_not_run(source, output, steps, spelled)
    return largest


def _prove_step(
    ours: Step, expected: Expected, theirs: Step, spelled: SpelledLines, block_delete: BlockDelete
) -> float:
    mine = Read(ours.blocks, ours.modes, ours.path)
    made = Read(theirs.blocks, theirs.modes, theirs.path)
    if not _is_same_place(mine.blocks, made.blocks, spelled):
        raise ProofError(f"{mine.blocks.source}: the output would run other lines")
    if block_delete is BlockDelete.ON:
        return prove_motions(mine, expected, made, claim=spelled.among(mine))
    mine, made = _executed(mine), _executed(made)
    return prove(mine, expected, made, claim=spelled.among(mine))


def _is_same_place(ours: Blocks, theirs: Blocks, spelled: SpelledLines) -> bool:
    first, after = ours.first_line, ours.first_line + len(ours)
    out_first, out_after = (line + spelled.gained_before(line) for line in (first, after))
    return (theirs.first_line, len(theirs)) == (out_first, out_after - out_first)


def _executed(read: Read) -> Read:
    """Return the blocks of a step up to the end of the program, if that is in it."""
    count = int(np.count_nonzero(read.modes.executes))
    blocks = part_of(read.blocks, 0, count)
    modes = replace(
        read.modes, executes=read.modes.executes[:count].copy(), values=read.modes.values[: len(blocks.letter)].copy()
    )
    return Read(blocks, modes, read.path)


def _compare_lines_not_run(source: Readable, output: Readable, steps: list[Step], spelled: SpelledLines) -> None:
    runs: set[int] = set()
    for step in steps:
        runs.update((np.flatnonzero(step.modes.executes) + step.blocks.first_line).tolist())
    gained = dict(zip(spelled.line.tolist(), spelled.added.tolist(), strict=True))
    made = _lines(output)
    line = 0
    for line, ours in enumerate(_lines(source), 1):
        theirs = [next(made, None) for _ in range(1 + gained.get(line, 0))]
        if theirs != [ours] and (line not in runs or None in theirs):
            raise ProofError(f"{source.source}:{line}: a line that is never run would change")
    if next(made, None) is not None:
        raise ProofError(f"{source.source}:{line}: lines would be added after the end")


def _lines(program: Readable) -> Iterator[str]:
    for blocks in scan_chunks(program.pieces(), program.source):
        yield from map(blocks.line, range(len(blocks)))


def _steps(source: Readable, block_delete: BlockDelete) -> tuple[list[Step], bool]:
    """Return the steps of the source, and whether it is legal to its end; with the switch on it may not be."""
    steps: list[Step] = []
    try:
        for step in executed(source, block_delete=block_delete):
            # One by one: those in front of an error count.
            steps.append(step)
    except ProgramError:
        if block_delete is BlockDelete.OFF:
            raise
        return steps, False
    return steps, True


def _made(output: Readable, block_delete: BlockDelete) -> tuple[list[Step], ProofError | None]:
    """Return the steps of the output, and what is illegal after them."""
    steps: list[Step] = []
    try:
        for step in executed(output, block_delete=block_delete):
            steps.append(step)
    except ProgramError as error:
        return steps, ProofError("the output would not be legal", error)
    return steps, None
