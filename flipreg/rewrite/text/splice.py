"""Edits of a text as columns of spans and new texts, applied in one go.

Everything between the edits is copied: comments, spacing, case, block numbers and order stay as they are by
construction.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.read.comments import flat_spans

__all__ = ["Edits", "Texts", "splice"]

Index = NDArray[np.int64]
Bytes = NDArray[np.uint8]

_RUNS_AT_ONCE = 4096
"""Runs that are gathered together (chosen, measured): the offsets of their characters stay in the processor's cache."""


class Texts(NamedTuple):
    """Many short texts.

    Attributes
    ----------
    characters : uint8, shape (m,)
        All of them, and what may stand between them.
    first, length : int64, shape (n,)
        Where in the characters each begins, and how long it is.
    """

    characters: Bytes
    first: Index
    length: Index

    @classmethod
    def of(cls, texts: list[bytes]) -> "Texts":
        """Return the given texts as columns."""
        length = np.array([len(text) for text in texts], np.int64)
        return cls(np.frombuffer(b"".join(texts), np.uint8), np.cumsum(length) - length, length)

    @classmethod
    def single(cls, characters: Bytes) -> "Texts":
        """Return texts of one character each."""
        return cls(characters, np.arange(len(characters)), np.ones(len(characters), np.int64))

    @classmethod
    def joined(cls, parts: "list[Texts]") -> "Texts":
        """Return the texts of all parts."""
        sizes = np.array([len(part.characters) for part in parts])
        moved = np.repeat(np.cumsum(sizes) - sizes, [len(part.first) for part in parts])
        characters, first, length = (
            np.concatenate([getattr(part, name) for part in parts]) for name in ("characters", "first", "length")
        )
        return cls(characters, first + moved, length)

    def take(self, rows: Index) -> "Texts":
        """Return the named texts."""
        return Texts(self.characters, self.first[rows], self.length[rows])

    def each(self) -> list[bytes]:
        """Return the texts one by one."""
        joined = self.characters.tobytes()
        bounds = zip(self.first.tolist(), (self.first + self.length).tolist(), strict=True)
        return [joined[first:end] for first, end in bounds]


class Edits(NamedTuple):
    """Replacements: the characters from start up to, not including, end become the text of the same row.

    An edit with start equal to end inserts. Spans do not overlap; insertions at one place keep their order.

    Attributes
    ----------
    start, end : int64, shape (n,)
    texts : Texts
    """

    start: Index
    end: Index
    texts: Texts

    @classmethod
    def joined(cls, parts: "list[Edits]") -> "Edits":
        """Return all edits in text order; edits of an earlier part come first where they share a place."""
        if len(parts) == 1:
            return parts[0]
        start = np.concatenate([part.start for part in parts])
        end = np.concatenate([part.end for part in parts])
        # An insertion goes in front of what is replaced at the same place.
        order = np.lexsort((end, start))
        return cls(start[order], end[order], Texts.joined([part.texts for part in parts]).take(order))

    def changes(self, text: bytes, start: int, end: int) -> bool:
        """Return whether a stretch of the text becomes another one by these edits, which are in text order."""
        low, high = np.searchsorted(self.start, [start, end]).tolist()
        old = (text[a:b] for a, b in zip(self.start[low:high].tolist(), self.end[low:high].tolist(), strict=True))
        return self.texts.take(np.arange(low, high)).each() != [*old]


def splice(text: bytes, edits: Edits) -> bytes:
    """Return the text with the edits applied, which are in text order."""
    count = len(edits.start)
    if not count:
        return text
    source = np.frombuffer(text, np.uint8)
    # Runs alternate: kept text, new text, kept text, ... ; both are gathered from one joined buffer.
    first, length = np.empty(2 * count + 1, np.int64), np.empty(2 * count + 1, np.int64)
    first[0], first[2::2] = 0, edits.end
    length[0:-1:2] = edits.start - first[0:-1:2]
    length[-1] = len(source) - first[-1]
    first[1::2] = len(source) + edits.texts.first
    length[1::2] = edits.texts.length
    both = np.concatenate((source, edits.texts.characters))
    spliced = np.empty(int(length.sum()), np.uint8)
    done = 0
    for run in range(0, len(first), _RUNS_AT_ONCE):
        runs = slice(run, run + _RUNS_AT_ONCE)
        at = flat_spans(first[runs], first[runs] + length[runs])
        # `take` with a mode that needs no error costs a fifth of indexing; every offset is in range by construction.
        both.take(at, mode="clip", out=spliced[done : done + len(at)])
        done += len(at)
    return spliced.tobytes()
