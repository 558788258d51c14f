"""The words of a chunk by letter, each letter once a block."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.read.blocks import Blocks
from flipreg.rs274.read.habit import Habit, Notices

__all__ = ["Letter", "Words"]

Index = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False, slots=True)
class Letter:
    """The words with one letter, in file order; blocks ascend strictly.

    Attributes
    ----------
    row, block : int64, shape (k,)
        The word's row in the chunk, and its block.
    value : float64, shape (k,)
        Its value as written, without units.
    """

    row: Index
    block: Index
    value: Floats

    def __len__(self) -> int:
        return len(self.row)

    def dense(self, size: int) -> Floats:
        """Return one value a block, NaN where the block has no such word, shape (size,)."""
        column = np.full(size, np.nan)
        column[self.block] = self.value
        return column

    def named(self, size: int) -> NDArray[np.bool_]:
        """Return for each block whether it has such a word, shape (size,)."""
        column = np.zeros(size, np.bool_)
        column[self.block] = True
        return column

    def row_in(self, block: int) -> int:
        """Return the row of the block's word, or -1."""
        at = int(np.searchsorted(self.block, block))
        return int(self.row[at]) if at < len(self.block) and self.block[at] == block else -1


_MOTIONS = frozenset({0.0, 1.0, 2.0, 3.0, *map(float, range(80, 90))})


class Words:
    """The first `stop` words of a chunk, found by letter.

    Parameters
    ----------
    blocks : Blocks
        The chunk.
    values : array, shape (n,)
        The value of each word.
    stop : int
        How many words count: those up to the end of the program.
    notices : Notices
        Is told of words that are said twice.
    """

    def __init__(self, blocks: Blocks, values: Floats, stop: int, notices: Notices) -> None:
        self._notices = notices
        self._blocks = blocks
        self._values = values
        self._letter = blocks.letter[:stop]
        self._found: dict[str, Letter] = {}

    def rows(self, letter: str) -> Index:
        """Return the rows of all words with a letter, repeats in a block included."""
        rows = self._blocks.rows(letter)
        return rows if len(self._letter) == len(self._blocks.letter) else rows[rows < len(self._letter)]

    def __getitem__(self, letter: str) -> Letter:
        """Return the words with a letter.

        Raises
        ------
        ProgramError
            At the second word with this letter in a block, unless it has the same value.
        """
        if letter not in self._found:
            self._found[letter] = self._once_a_block(self.rows(letter))
        return self._found[letter]

    def keep(self, letter: str, wanted: NDArray[np.bool_]) -> Letter:
        """Leave out words with a letter, and return the others."""
        found = self[letter]
        self._found[letter] = Letter(found.row[wanted], found.block[wanted], found.value[wanted])
        return self._found[letter]

    def first_row(self, block: int, letters: str) -> int:
        """Return the row of a block's word that a message should point at.

        Letters are tried in order; `G` finds the word that names the motion. Without any of them it is the
        block's first word.
        """
        first, after = np.searchsorted(self._blocks.block, [block, block + 1]).tolist()
        for letter in letters:
            for row in range(first, after):
                if self._letter[row] == ord(letter) and (letter != "G" or self._values[row] in _MOTIONS):
                    return row
        return int(first)

    def _once_a_block(self, row: Index) -> Letter:
        if not row.size:
            return _NO_WORDS
        block, value = self._blocks.block.take(row), self._values.take(row)
        again = block[1:] == block[:-1]
        if again.any():
            differs = np.flatnonzero(again & (value[1:] != value[:-1]))
            if differs.size:
                second = int(row[differs[0] + 1])
                first = self._blocks.spelling(int(row[differs[0]]))
                message = f"a second {chr(self._letter[second])} word in one block, beside {first}; leave one out"
                raise self._blocks.error(message, row=second)
            self._notices.add(Habit.SAID_TWICE, block[1:][again], self._blocks.start[row[1:][again]])
            keep = np.flatnonzero(np.concatenate([[True], ~again]))
            row, block, value = row[keep], block[keep], value[keep]
        return Letter(row, block, value)


_NONE = np.empty(0, np.int64)
_NO_WORDS = Letter(_NONE, _NONE, np.empty(0))
