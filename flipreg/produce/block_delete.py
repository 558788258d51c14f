"""Results that hold with the machine's block-delete switch off only."""

import numpy as np

from flipreg.errors import ProofError
from flipreg.rs274.read.blocks import BlockFlag, Blocks
from flipreg.rs274.read.location import RefusedError

__all__ = ["deleted_refusal"]


def deleted_refusal(first: Blocks, error: ProofError) -> RefusedError:
    """Return the refusal of a result that holds with the block-delete switch off only.

    Parameters
    ----------
    first : Blocks
        The first chunk with a line that starts with `/`.
    error : ProofError
        What is wrong with the switch on.
    """
    block = int(np.argmax((first.flags & BlockFlag.DELETE) != 0))
    message = (
        "with lines like this one left out (block delete on) the result would not do what the source does; "
        f"take the / away or the line out: {error.fault}"
    )
    problem = first.block_error(message, block=block)
    return RefusedError(problem.message, problem.location, problem.excerpt)
