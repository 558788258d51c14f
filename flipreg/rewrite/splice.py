"""Edits of a text as columns of spans and new texts, applied in one go.

Everything between the edits is copied: comments, spacing, case, block numbers and order stay as they are by
construction.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.read.comments import flat_spans

__all__ = ["Edits", "Texts", "splice"]

Index = NDArray[np.int64]
Bytes = NDArray[np.uint8]


@dataclass(frozen=True, eq=False, slots=True)
class Texts:
    """Many short texts one after the other.

    Attributes
    ----------
    characters : uint8, shape (sum of length,)
    length : int64, shape (n,)
    """

    characters: Bytes
    length: Index

    @classmethod
    def of(cls, texts: list[bytes]) -> "Texts":
        """Return the given texts as columns."""
        characters = np.frombuffer(b"".join(texts), np.uint8)
        return cls(characters, np.array([len(text) for text in texts], np.int64))

    def each(self) -> list[bytes]:
        """Return the texts one by one."""
        joined, ends = self.characters.tobytes(), np.cumsum(self.length).tolist()
        return [joined[end - size : end] for end, size in zip(ends, self.length.tolist(), strict=True)]


@dataclass(frozen=True, eq=False, slots=True)
class Edits:
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
        length = np.concatenate([part.texts.length for part in parts])
        characters = np.concatenate([part.texts.characters for part in parts])
        # An insertion goes in front of what is replaced at the same place.
        order = np.lexsort((end, start))
        first = np.cumsum(length) - length
        return cls(start[order], end[order], Texts(_gather(characters, first[order], length[order]), length[order]))

    def changes(self, text: bytes, start: int, end: int) -> bool:
        """Return whether a stretch of the text becomes another one by these edits, which are in text order."""
        low, high = np.searchsorted(self.start, [start, end]).tolist()
        first = int(self.texts.length[:low].sum())
        for row in range(low, high):
            stop = first + int(self.texts.length[row])
            if self.texts.characters[first:stop].tobytes() != text[int(self.start[row]) : int(self.end[row])]:
                return True
            first = stop
        return False


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
    new_length = edits.texts.length
    first[1::2] = len(source) + np.cumsum(new_length) - new_length
    length[1::2] = new_length
    return _gather(np.concatenate((source, edits.texts.characters)), first, length).tobytes()


def _gather(characters: Bytes, first: Index, length: Index) -> Bytes:
    """Return the named runs of characters one after the other."""
    # `take` with a mode that needs no error costs a fifth of indexing; every offset is in range by construction.
    return characters.take(flat_spans(first, first + length), mode="clip")
