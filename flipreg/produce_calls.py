"""Programs with subprograms: rewritten where they stand, run call for call, and compared."""

from flipreg.prove import Expected, ProofError
from flipreg.prove.calls import prove_calls
from flipreg.rewrite.header import header_place
from flipreg.rewrite.rewriter import Rewriter
from flipreg.rs274.block import BlockFlag, Blocks
from flipreg.rs274.location import RefusedError
from flipreg.rs274.program import Program, Readable
from flipreg.rs274.run import Step, run
from flipreg.rs274.state import BlockDelete, State
from flipreg.rs274.unrolled import UnrolledChunk, unrolled

__all__ = ["rewritten_with_calls"]


def rewritten_with_calls(program: Readable, rewriter: Rewriter, expected: Expected) -> tuple[bytes, float, int, int]:
    """Return the new text, the largest deviation, the number of motions, and where the header goes.

    Raises
    ------
    RefusedError
        Where a subprogram cannot be rewritten where it stands; also at the second call of one, if no text does what
        both calls need.
    """
    steps = list(run(program))
    chunks = unrolled(program, steps)
    end = steps[-1].after if steps else State()
    text, place = b"", 0
    for chunk in chunks:
        before = State() if not text else end
        new = rewriter.rewrite(chunk.blocks, chunk.modes, chunk.path, before=before, after=end)
        if new.spelled.size:
            block = int(new.spelled[0])
            error = chunk.blocks.block_error(
                "a block that has to be spelled out, in a program with subprograms; write the subprograms out",
                block=block,
            )
            raise RefusedError(error.message, error.location, error.excerpt)
        if not text:
            place = header_place(chunk.blocks, new.text)
        text += new.text
    output = Program(text, program.source)
    try:
        largest = prove_calls(program, expected, output, block_delete=BlockDelete.OFF)
        if any((chunk.blocks.flags & BlockFlag.DELETE).any() for chunk in chunks):
            largest = max(largest, prove_calls(program, expected, output, block_delete=BlockDelete.ON))
    except ProofError as error:
        raise _refusal(steps, chunks, error) from None
    return text, largest, sum(len(step.path) for step in steps), place


def _refusal(steps: list[Step], chunks: list[UnrolledChunk], error: ProofError) -> RefusedError | ProofError:
    """Return the refusal at the second call of a subprogram; without one it is no matter of subprograms."""
    calls = [step.call_line for step in steps if step.depth]
    starts = [step.blocks.first_line for step in steps if step.depth]
    seen: set[int] = set()
    for line, start in zip(calls, starts, strict=True):
        if start in seen:
            blocks: Blocks = next(chunk.blocks for chunk in reversed(chunks) if chunk.blocks.first_line <= line)
            message = (
                "this call runs a subprogram again, and no text of it does what both calls need; write it out "
                f"({str(error).removesuffix('; nothing was written')})"
            )
            problem = blocks.block_error(message, block=line - blocks.first_line)
            return RefusedError(problem.message, problem.location, problem.excerpt)
        seen.add(start)
    return error
