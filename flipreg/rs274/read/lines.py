"""Text in pieces of any size to chunks of whole lines.

Lines end in LF, CR LF or CR, mixed as they come. A chunk is small enough to stay in the processor's cache:
measured, 256 KiB to 1 MiB is best and 4 to 16 MiB is 1.5 to 3.4 times slower.
"""

from collections.abc import Iterable, Iterator
from functools import cache

import numpy as np

__all__ = ["CHUNK_BYTES", "LargePages", "text_pieces", "whole_lines"]

CHUNK_BYTES = 512 * 1024
"""Size a chunk is filled up to (chosen, measured)."""

_KEPT_BYTES = 31 * 1024 * 1024
"""Up to twice this much memory is kept for the next columns; the most that the C library of Linux can be brought to."""


def text_pieces(text: bytes) -> Iterator[bytes]:
    """Yield a text in pieces of about one chunk."""
    for first in range(0, len(text), CHUNK_BYTES):
        yield text[first : first + CHUNK_BYTES]


def whole_lines(pieces: Iterable[bytes]) -> Iterator[bytes]:
    """Yield the same bytes as chunks that end with a line, about `CHUNK_BYTES` each.

    Only the last chunk may lack a line end. A line longer than a chunk makes a longer chunk.
    """
    waiting: list[bytes] = []
    size = 0
    for piece in pieces:
        size += len(piece)
        if size < CHUNK_BYTES:
            waiting.append(piece)
            continue
        # A CR at the very end may be half of a CR LF: the cut is then before its line.
        cut = max(piece.rfind(b"\n"), piece.rfind(b"\r", 0, max(0, len(piece) - 1))) + 1
        if cut == 0:
            waiting.append(piece)
            continue
        _keep_freed_memory()
        yield b"".join((*waiting, piece[:cut]))
        waiting = [piece[cut:]]
        size = len(piece) - cut
    rest = b"".join(waiting)
    if rest:
        yield rest


@cache
def _keep_freed_memory() -> None:
    """Let the memory of one chunk's columns be used for the next one's, where it would go back to the system.

    The C library of Linux gives back what is freed at the end of the heap, and large blocks at once, so that each
    column of each chunk is fresh pages again: a tenth of a flip's time. It stops doing so for blocks up to the size of
    the largest that was freed. Nothing is written to this one, so that it takes no memory.
    """
    np.empty(_KEPT_BYTES, np.uint8)


class LargePages:
    """Lets the columns of the thread that uses it lie in large pages, where the system has them.

    The columns of a long chunk are thousands of pages of 4 KiB, and the system takes longer over these than a flip over
    the chunk's words. Short programs are done before that pays, and what holds a whole program in memory would take
    more of it.
    """

    def __init__(self) -> None:
        self._are_taken = False

    def take_for(self, text: bytes) -> None:
        """Take them before a text is read, if it is the first long one."""
        if self._are_taken or len(text) < CHUNK_BYTES // 2:
            return
        self._are_taken = True
        # What is asked for the second time lies in the thread's own heap, for which numpy asks for large pages.
        for _ in range(2):
            np.empty(_KEPT_BYTES, np.uint8)

    def before_each(self, pieces: Iterable[bytes]) -> Iterator[bytes]:
        """Yield the pieces of a text, and take them before the first long one."""
        for piece in pieces:
            self.take_for(piece)
            yield piece
