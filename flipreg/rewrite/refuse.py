"""A refusal that points at a block."""

from flipreg.rs274.read.blocks import Blocks
from flipreg.rs274.read.location import RefusedError

__all__ = ["refusal_in"]


def refusal_in(blocks: Blocks, block: int, message: str) -> RefusedError:
    """Return the refusal that points at a block."""
    error = blocks.block_error(message, block=block)
    return RefusedError(error.message, error.location, error.excerpt)
