"""What makes a text a program of its own: percent lines, and the bytes that old systems end a file with."""

import numpy as np

from flipreg.rs274.read.blocks import BlockFlag, Blocks

__all__ = ["begins_in", "end_bytes", "is_framing", "percents"]

_END_BYTES = b"\x00\x1a"
"""A zero byte and Ctrl-Z."""
_BLANKS = b" \t\r\n"


def begins_in(blocks: Blocks) -> int:
    """Return the first block that holds a word or a program's name; the number of blocks where none does."""
    named = np.flatnonzero(blocks.flags & BlockFlag.PROGRAM_NUMBER)
    first = [int(blocks.block[0])] if len(blocks.block) else []
    return min([*first, *named[:1].tolist()], default=len(blocks))


def percents(blocks: Blocks, *, is_begun: bool) -> tuple[list[int], list[int]]:
    """Return the percent lines of a chunk that open its program, and those that close it.

    Parameters
    ----------
    blocks : Blocks
        The chunk.
    is_begun : bool
        Whether a chunk before it holds words.
    """
    begins = 0 if is_begun else begins_in(blocks)
    found = np.flatnonzero(blocks.flags & BlockFlag.PERCENT).tolist()
    return [block for block in found if block < begins], [block for block in found if block >= begins]


def end_bytes(text: bytes) -> list[tuple[int, int]]:
    """Return where zero bytes and Ctrl-Z stand at the end of a chunk, as offsets; nothing but blanks comes after."""
    end = len(text.rstrip(_END_BYTES + _BLANKS))
    return [(at, at + 1) for at in range(end, len(text)) if text[at] in _END_BYTES]


def is_framing(text: bytes) -> bool:
    """Return whether a text holds nothing but percent signs, blanks and what files end with."""
    return not text.strip(_END_BYTES + _BLANKS + b"%")
