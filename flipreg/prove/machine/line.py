"""The words of one block, as exact numbers."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.read.blocks import EXPRESSION, BlockFlag, Blocks

__all__ = ["Line", "Lines"]


@dataclass(frozen=True, slots=True)
class Line:
    """One block.

    Attributes
    ----------
    number : int
        Its line in the file.
    g, m : tuple of int
        Ten times each G code, and each M code, in the order written.
    words : mapping from letter to Decimal
        The other words, as written, without units; line numbers and program numbers are not among them.
    may_be_skipped, has_comment : bool
        It begins with `/`; it holds a comment.
    """

    number: int
    g: tuple[int, ...]
    m: tuple[int, ...]
    words: Mapping[str, Decimal]
    may_be_skipped: bool
    has_comment: bool


class Lines:
    """The blocks of one chunk, each taken apart when it is asked for.

    Parameters
    ----------
    blocks : Blocks
        The chunk.
    values : array, shape (n,)
        The value of each word, as written.
    """

    def __init__(self, blocks: Blocks, values: NDArray[np.float64]) -> None:
        self.blocks = blocks
        self.values = values
        self._commented = set(blocks.comment_block.tolist())

    def __len__(self) -> int:
        return len(self.blocks)

    def line(self, block: int) -> Line:
        """Return one block."""
        blocks = self.blocks
        low, high = np.searchsorted(blocks.block, [block, block + 1]).tolist()
        g: list[int] = []
        m: list[int] = []
        words: dict[str, Decimal] = {}
        for row in range(low, high):
            letter = chr(blocks.letter[row])
            if letter == "G":
                g.append(round(float(self.values[row]) * 10))
            elif letter == "M":
                m.append(round(float(self.values[row])))
            elif letter not in "NO":
                words[letter] = self.value(row)
        skipped = bool(blocks.flags[block] & BlockFlag.DELETE)
        return Line(blocks.first_line + block, tuple(g), tuple(m), words, skipped, block in self._commented)

    def value(self, row: int) -> Decimal:
        """Return the value of a word, exact where it is a number."""
        places = int(self.blocks.decimals[row])
        if places == EXPRESSION:
            return Decimal(repr(float(self.values[row])))
        return Decimal(int(self.blocks.mantissa[row])).scaleb(-places)
