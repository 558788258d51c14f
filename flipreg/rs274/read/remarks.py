"""Remarks that hold a motion: what stands after `;` is a comment, also where somebody meant to end a block by it."""

import re

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.read.blocks import Blocks

__all__ = ["remarks_with_motion"]

# Nothing that was matched once is tried in another way, so that a line takes as long as it is.
_WORD = rb"[A-Za-z][ \t]*+[-+]?+[ \t]*+(?:[0-9]++\.?+[0-9]*+|\.[0-9]++)[ \t]*+"
_WORDS_ALONE = re.compile(rb";[ \t]*+((?:" + _WORD + rb")++)(?=[;(\r\n]|\Z)")
"""A semicolon and words, and then the end of the line or another comment."""

_MOVES = re.compile(rb"[Gg][^XYZxyz]*+[XYZxyz]")
"""A G word and an axis word after it."""

_NOT_RUN = np.frombuffer(b"NO", np.uint8)


def remarks_with_motion(blocks: Blocks) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the blocks that words with a motion stand after as a remark, and where these remarks begin.

    A remark of nothing but words, a G word and an axis word among them, looks like a block. Where nothing stands before
    it a block was taken out, which says nothing wrong; nor does text with words in it, as `; G1 X5 is slow`.
    """
    blocks_with, starts = list[int](), list[int]()
    if b";" in blocks.text:
        for match in _WORDS_ALONE.finditer(blocks.text):
            at = int(np.searchsorted(blocks.comment_start, match.start()))
            # Within another comment, after the program's end or in a line that is refused it begins none.
            is_remark = at < len(blocks.comment_start) and int(blocks.comment_start[at]) == match.start()
            if not (is_remark and _MOVES.search(match[1])):
                continue
            block = int(blocks.comment_block[at])
            low, high = np.searchsorted(blocks.block, [block, block + 1]).tolist()
            if not np.isin(blocks.letter[low:high], _NOT_RUN).all():
                blocks_with.append(block)
                starts.append(match.start())
    return np.array(blocks_with, np.int64), np.array(starts, np.int64)
