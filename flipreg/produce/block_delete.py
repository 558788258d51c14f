"""Results that hold with the machine's block-delete switch off only."""

import numpy as np

from flipreg.errors import ProofError
from flipreg.rs274.read.blocks import BlockFlag, Blocks
from flipreg.rs274.read.location import RefusedError

__all__ = ["deleted_refusal"]


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
