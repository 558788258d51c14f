"""Programs with subprograms: rewritten where they stand, run call for call, and compared."""

import numpy as np
from numpy.typing import NDArray

from flipreg.errors import ProofError
from flipreg.produce.block_delete import deleted_refusal
from flipreg.prove import Expected
from flipreg.prove.calls import SecondRunError, SpelledLines, prove_calls
from flipreg.rewrite.isometry.rewriter import Rewriter
from flipreg.rewrite.text.alternatives import Alternatives
from flipreg.rewrite.text.header import header_place
from flipreg.rs274.code_numbers import M
from flipreg.rs274.interpret.state import BlockDelete
from flipreg.rs274.interpret.subprograms import executed
from flipreg.rs274.interpret.units import first_state
from flipreg.rs274.interpret.unrolled import UnrolledChunk, unrolled
from flipreg.rs274.read.blocks import BlockFlag, Blocks
from flipreg.rs274.read.location import RefusedError
from flipreg.rs274.read.program import Program, Readable

__all__ = ["rewritten_with_calls"]

_NO_LINES = np.empty(0, np.int64)


def rewritten_with_calls(
    program: Readable, rewriter: Rewriter, expected: Expected, allowed: Alternatives
) -> tuple[bytes, float, int, int]:
    """Return the new text, the largest deviation, the number of motions, and where the header goes.

    A block of a subprogram is spelled out where it stands, for the first of its calls; the proof shows whether that
    is what the other calls need.

    Raises
    ------
    RefusedError
        Where a subprogram cannot be rewritten where it stands; also at the second call of one, if no text does what
        both calls need.
    """
    steps = list(executed(program))
    for step in steps:
        rewriter.parked.check(step.blocks, step.modes, step.path)
    chunks = unrolled(program, steps)
    end = steps[-1].after if steps else first_state(program)
    text, place = b"", 0
    spells = not expected.isometry.is_axis_aligned and _spells(chunks)
    lines, added = [_NO_LINES], [_NO_LINES]
    for chunk in chunks:
        before = first_state(program) if not text else end
        new = rewriter.rewrite(
            chunk.blocks,
            chunk.modes,
            chunk.path,
            before=before,
            after=end,
            entered=_entered(chunk),
            spells=spells,
        )
        lines.append(new.spelled + chunk.blocks.first_line)
        added.append(new.added)
        if not text:
            place = header_place(chunk.blocks, new.text)
        text += new.text
    output = Program(text, program.source, program.units, program.dialect)
    spelled = SpelledLines(np.concatenate(lines), np.concatenate(added), allowed.chords_mm or 0.0)
    try:
        largest = prove_calls(program, expected, output, block_delete=BlockDelete.OFF, spelled=spelled)
    except SecondRunError as error:
        raise _refusal(chunks, error) from error
    deleted = next((chunk.blocks for chunk in chunks if (chunk.blocks.flags & BlockFlag.DELETE).any()), None)
    if deleted is not None:
        try:
            with_deleted = prove_calls(program, expected, output, block_delete=BlockDelete.ON, spelled=spelled)
        except ProofError as error:
            raise deleted_refusal(deleted, error) from error
        largest = max(largest, with_deleted)
    return text, largest, sum(len(step.path) for step in steps), place


def _spells(chunks: list[UnrolledChunk]) -> bool:
    # Imported here: a flip has no use for it.
    from flipreg.rewrite.isometry.spelled import is_outside

    return any(bool(is_outside(chunk.path).any()) for chunk in chunks)


def _entered(chunk: UnrolledChunk) -> NDArray[np.int64]:
    """Return the blocks that the machine comes to from elsewhere: after a call, and where a subprogram begins."""
    blocks = chunk.blocks
    rows = blocks.rows("M")
    calls = blocks.block[rows[np.rint(chunk.modes.values[rows]) == M.CALL]]
    starts = np.flatnonzero(blocks.flags & BlockFlag.PROGRAM_NUMBER)
    # Where the text was cut, a call may stand in front of the cut.
    return np.unique(np.concatenate(([0], calls + 1, starts)))


def _refusal(chunks: list[UnrolledChunk], error: SecondRunError) -> RefusedError:
    line = error.call_line
    blocks: Blocks = next(chunk.blocks for chunk in reversed(chunks) if chunk.blocks.first_line <= line)
    message = (
        "this call runs a subprogram again, and no text of it does what both calls need; write it out "
        f"({error.fault})"
    )
    problem = blocks.block_error(message, block=line - blocks.first_line)
    return RefusedError(problem.message, problem.location, problem.excerpt)
