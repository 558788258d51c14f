"""The machine's block-delete switch: whether a result holds with it on, too, which leaves lines with `/` out."""

import numpy as np

from flipreg.errors import ProofError
from flipreg.prove import Claim, Expected, Proving, Read
from flipreg.rs274.interpret.interpret import interpret_blocks
from flipreg.rs274.interpret.state import BlockDelete, State
from flipreg.rs274.interpret.units import first_state
from flipreg.rs274.read.blocks import BlockFlag, Blocks
from flipreg.rs274.read.location import ProgramError, RefusedError
from flipreg.rs274.read.program import Readable
from flipreg.rs274.read.scanner import scan_chunks

__all__ = ["deleted_refusal", "proved_without"]


def proved_without(
    program: Readable, expected: Expected, texts: list[bytes], claims: list[Claim | None], first: Blocks
) -> tuple[float, str | None]:
    """Return the largest deviation with the switch on: both programs without their `/` lines.

    And where the source itself is not legal then, and why; None if it is.

    Parameters
    ----------
    program : Program or ProgramFile
        The source.
    expected : Expected
        What becomes of it.
    texts : list of bytes
        The new program, chunk by chunk.
    claims : list of Claim or None
        What was spelled out in each chunk.
    first : Blocks
        The first chunk with a line that starts with `/`.

    Raises
    ------
    RefusedError
        If the result holds with the switch off only.
    """
    proving = Proving(
        program.source,
        expected,
        block_delete=BlockDelete.ON,
        units=program.units,
        passive=program.dialect.passive,
    )
    state = first_state(program, State(block_delete=BlockDelete.ON))
    chunks = scan_chunks(program.pieces(), program.source)
    for blocks, text, claim in zip(chunks, texts, claims, strict=True):
        try:
            modes, path, state = interpret_blocks(blocks, state)
        except ProgramError as error:
            # Up to here the machine may run; here it stops.
            return proving.largest_mm, f"line {error.location.line}: {error.message}"
        try:
            proving.add(text, Read(blocks, modes, path), claim)
        except ProofError as error:
            raise deleted_refusal(first, error) from error
    return proving.finish(), None


_MOVING = [ord(letter) for letter in "GXYZIJKR"]
"""Letters that change where a motion leads, or what its numbers mean."""


def deleted_refusal(first: Blocks, error: ProofError) -> RefusedError:
    """Return the refusal of a result that holds with the block-delete switch off only.

    Parameters
    ----------
    first : Blocks
        The first chunk with a line that starts with `/`.
    error : ProofError
        What is wrong with the switch on.
    """
    deleted = (first.flags & BlockFlag.DELETE) != 0
    moves = np.zeros(len(first), np.bool_)
    moves[first.block[np.isin(first.letter, _MOVING)]] = True
    # A line with M8 alone leaves every place as it is.
    block = int(np.argmax(deleted & moves if (deleted & moves).any() else deleted))
    message = (
        "with lines like this one left out (block delete on) the result would not do what the source does; "
        f"take the / away or the line out: {error.fault}"
    )
    problem = first.block_error(message, block=block)
    return RefusedError(problem.message, problem.location, problem.excerpt)
