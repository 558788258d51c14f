"""The feed in force on each line of a program, as its F word is written."""

from decimal import Decimal

import numpy as np

from flipreg.rs274.read.blocks import Blocks

__all__ = ["Feeds", "feed_value"]


class Feeds:
    """Knows the F word in force on each line.

    Parameters
    ----------
    blocks : Blocks
        The program, or a piece of it.
    before : bytes or None
        The F word in force before the first line.
    """

    def __init__(self, blocks: Blocks, before: bytes | None = None) -> None:
        rows = blocks.rows("F")
        spans = zip(blocks.start[rows].tolist(), blocks.end[rows].tolist(), strict=True)
        self._words = [before, *(blocks.text[start:end] for start, end in spans)]
        # How many F words stand up to each line; line 0 is before the first one.
        self._count: list[int] = np.searchsorted(blocks.block[rows], np.arange(len(blocks) + 1)).tolist()

    def on(self, line: int) -> bytes | None:
        """Return the F word in force on a line, from 1; None where none was named."""
        return self._words[self._count[line]]

    def named_between(self, first: int, last: int) -> bytes | None:
        """Return the last F word of some lines, both included; None where they name none."""
        return self.on(last) if first <= last and self._count[last] > self._count[first - 1] else None


def feed_value(word: bytes | None) -> Decimal:
    """Return the number of an F word; infinity for none."""
    return Decimal("Infinity") if word is None else Decimal(word[1:].replace(b" ", b"").decode())
