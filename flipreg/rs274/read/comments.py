"""Comments of a chunk: found, and masked so that the scanner does not see what is inside them.

`(...)` nests when its brackets balance, `;` outside of brackets reaches to the line end. A line whose
brackets do not balance is left to the grammar, which says what is wrong with it.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.read.line_layout import LineLayout

__all__ = ["IN_COMMENT", "Comments", "flat_spans", "mask_comments"]

Index = NDArray[np.int64]

_OPEN, _CLOSE, _SEMICOLON = b"();"

IN_COMMENT = 11
"""What comments are overwritten with, brackets included: a character that no text of the language has."""


class Comments(NamedTuple):
    """Comments in text order: offsets with their brackets, and the block each is in; shape (c,)."""

    start: Index
    end: Index
    block: Index

    @classmethod
    def none(cls) -> "Comments":
        """Return no comments."""
        empty = np.empty(0, np.int64)
        return cls(empty, empty, empty)


def mask_comments(scratch: NDArray[np.uint8], text: bytes, layout: LineLayout) -> tuple[Comments, Index]:
    """Overwrite comments with `IN_COMMENT`.

    Parameters
    ----------
    scratch : uint8, shape (at least len(text),)
        Changed in place.
    text : bytes
        The same text.
    layout : LineLayout
        Its lines.

    Returns
    -------
    Comments
        The comments of all lines whose brackets balance.
    int64, shape (k,)
        The lines whose brackets do not.
    """
    has_tails = b";" in text
    if not (has_tails or b"(" in text or b")" in text):
        return Comments.none(), np.empty(0, np.int64)
    characters = scratch[: len(text)]
    # Both brackets differ in the last bit only.
    is_mark = characters | 1 == _CLOSE
    if has_tails:
        is_mark |= characters == _SEMICOLON
    at = np.flatnonzero(is_mark)
    what = characters[at]
    line = np.searchsorted(layout.mark, at)
    is_first = np.ones(len(line), np.bool_)
    np.not_equal(line[1:], line[:-1], out=is_first[1:])
    first = np.flatnonzero(is_first)
    counts = np.diff(first, append=len(at))

    step = (what == _OPEN).astype(np.int64) - (what == _CLOSE)
    depth = np.cumsum(step)
    depth -= np.repeat(depth[first] - step[first], counts)
    tail = (what == _SEMICOLON) & (depth == 0)
    tails = np.cumsum(tail)
    tails -= np.repeat(tails[first] - tail[first], counts)
    counted = tails - tail == 0

    lowest = np.minimum.reduceat(np.where(counted, depth, 0), first)
    open_at_end = np.where(tails > 0, 0, depth)[first + counts - 1]
    unbalanced = (lowest < 0) | (open_at_end != 0)
    usable = counted & ~np.repeat(unbalanced, counts)

    opens = usable & (what == _OPEN) & (depth == 1)
    begins = opens | (usable & tail)
    start, block = at[begins], line[begins]
    end = layout.end[block]
    end[opens[begins]] = at[usable & (what == _CLOSE) & (depth == 0)] + 1
    scratch[flat_spans(start, end)] = IN_COMMENT
    return Comments(start, end, block), line[first[unbalanced]]


def flat_spans(start: Index, end: Index) -> Index:
    """Return the offsets from each start up to, not including, its end, one span after the other."""
    length = end - start
    ends = np.cumsum(length)
    offsets = np.repeat(start - ends + length, length)
    offsets += np.arange(len(offsets))
    return offsets
