"""A refusal that points at a block, or at a line."""

from flipreg.rs274.interpret.whole import Whole
from flipreg.rs274.read.blocks import Blocks
from flipreg.rs274.read.location import RefusedError

__all__ = ["refusal_at", "refusal_in"]


def refusal_in(blocks: Blocks, block: int, message: str) -> RefusedError:
    """Return the refusal that points at a block."""
    error = blocks.block_error(message, block=block)
    return RefusedError(error.message, error.location, error.excerpt)


def refusal_at(whole: Whole, line: int, message: str) -> RefusedError:
    """Return the refusal that points at a line of a program."""
    return refusal_in(whole.blocks, line - 1, message)
