"""Where the lines of a chunk are."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = ["LineLayout", "layout_of"]

Index = NDArray[np.int64]

_LF, _CR = 10, 13


class LineLayout(NamedTuple):
    """Line ends of a text, one row a line.

    Attributes
    ----------
    start : int64, shape (b,)
        Offset of the line's first character.
    end : int64, shape (b,)
        Offset after its last character, where CR, LF or CR LF begins; the very column `mark` where every line ends
        in one character.
    mark : int64, shape (b,)
        Offset of the last character of the line end; the text's length where the last line has none.
    """

    start: Index
    end: Index
    mark: Index

    def first(self, lines: int) -> "LineLayout":
        """Return where the first so many of the lines are."""
        if lines == len(self.start):
            return self
        start, end, mark = (column[:lines] for column in (self.start, self.end, self.mark))
        return LineLayout(start, mark if self.end is self.mark else end, mark)


def layout_of(text: bytes) -> LineLayout:
    """Return where the lines of a text are; LF, CR LF and CR end a line."""
    characters = np.frombuffer(text, np.uint8)
    is_end = characters == _LF
    has_returns = b"\r" in text
    if has_returns:
        lone = characters == _CR
        lone[:-1] &= ~is_end[1:]
        is_end |= lone
    mark = np.flatnonzero(is_end)
    if not mark.size or mark[-1] != len(text) - 1:
        mark = np.append(mark, len(text))
    start = np.empty_like(mark)
    start[0] = 0
    start[1:] = mark[:-1] + 1
    end = mark
    if has_returns:
        before = np.maximum(mark - 1, 0)
        end = mark - ((mark > start) & (characters[before] == _CR) & (mark < len(text)))
    return LineLayout(start, end, mark)
