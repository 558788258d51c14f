"""Blocks of a program as columns: words, comments and lines of one bounded chunk of text.

One line of the file is one block, blank lines included, so that a block's place is its line. Nothing here
holds an object a word: a program of a million blocks has millions of words.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import IntFlag
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.read.location import Location, ProgramError, RefusedError

if TYPE_CHECKING:
    from flipreg.rs274.read.expression import Expression, Setting
    from flipreg.rs274.read.habit import Noticed

__all__ = ["EXPRESSION", "POWERS_OF_TEN", "BlockFlag", "Blocks"]

Index = NDArray[np.int64]

EXPRESSION = 255
"""The `decimals` of a word whose value is not a literal number; see `Blocks.expressions`."""

POWERS_OF_TEN = 10.0 ** np.arange(19)
"""Divisors from mantissa to value; exact in doubles, so that the quotient is the nearest double."""


class BlockFlag(IntFlag):
    """What a whole line is, besides its words."""

    DELETE = 1
    """Starts with `/`: executed only while the block-delete switch is off."""
    PERCENT = 2
    """A lone `%`."""
    PROGRAM_NUMBER = 4
    """An `O1234` line, or an `OTRAY` line, which has no word."""
    AFTER_END = 8
    """After the closing `%`: kept as it is, never read."""


@dataclass(frozen=True, eq=False, slots=True)
class Blocks:
    """Consecutive blocks of a program with their words, as columns in file order.

    All offsets are in bytes from the start of `text`.

    Attributes
    ----------
    source : str
        The name the program was read under.
    text : bytes
        The whole lines of this chunk, line ends included.
    first_line : int
        Line in the file of block 0, from 1.
    line_start, line_end : int64, shape (b,)
        Where each block begins, and where its line-end character begins (or the text ends).
    flags : uint8, shape (b,)
        `BlockFlag` bits.
    letter : uint8, shape (n,)
        The word's letter, upper case ASCII; `N` words (line numbers) are rows too, and so is the `O` of a
        program number.
    mantissa : int64, shape (n,)
    decimals : uint8, shape (n,)
        The literal value is mantissa / 10**decimals, exactly, up to 18 significant digits; `decimals` is
        `EXPRESSION` and `mantissa` 0 where the value is a parameter or an expression.
    start, number, end : int64, shape (n,)
        Offsets of the letter, of the first character of its value (sign, digit, point, `#`, `[` or function),
        and after the last character of the value. `X - 1 . 5`: number is at `-`.
    block : int64, shape (n,)
        The block the word is in, from 0.
    comment_start, comment_end, comment_block : int64, shape (c,)
        Comments with their brackets, or from `;` to the line end.
    expressions : mapping from row to Expression
        The values that are not literal numbers.
    settings : tuple of Setting
        Parameter settings, in file order.
    habits : tuple of Noticed
        What the lines have that the report does not, where it can be seen in the lines themselves.
    """

    source: str
    text: bytes
    first_line: int
    line_start: Index
    line_end: Index
    flags: NDArray[np.uint8]
    letter: NDArray[np.uint8]
    mantissa: Index
    decimals: NDArray[np.uint8]
    start: Index
    number: Index
    end: Index
    block: Index
    comment_start: Index
    comment_end: Index
    comment_block: Index
    expressions: Mapping[int, "Expression"] = field(default_factory=dict)
    settings: tuple["Setting", ...] = ()
    habits: tuple["Noticed", ...] = ()
    _by_letter: Index = field(init=False, repr=False)
    _letter_end: Index = field(init=False, repr=False)

    def __post_init__(self) -> None:
        # One radix sort a chunk: every reader of the columns asks for rows by letter, again and again.
        by_letter = np.argsort(self.letter, kind="stable")
        object.__setattr__(self, "_by_letter", by_letter)
        ends = np.searchsorted(self.letter, np.arange(128, dtype=np.uint8), side="right", sorter=by_letter)
        object.__setattr__(self, "_letter_end", ends)

    def __len__(self) -> int:
        return len(self.line_start)

    def rows(self, letter: str) -> Index:
        """Return the rows of all words with a letter, in file order."""
        code = ord(letter)
        return self._by_letter[self._letter_end[code - 1] : self._letter_end[code]]

    def location(self, block: int, start: int, end: int) -> Location:
        """Return the place of the characters from `start` to `end`, which lie in the named block."""
        column = start - int(self.line_start[block]) + 1
        return Location(self.source, self.first_line + block, column, column + max(1, end - start))

    def line(self, block: int) -> str:
        """Return a block's text without its line end, one character a byte."""
        return self.text[self.line_start[block] : self.line_end[block]].decode("latin-1")

    def error(self, message: str, *, row: int) -> ProgramError:
        """Return the error that points at a word."""
        block = int(self.block[row])
        location = self.location(block, int(self.start[row]), int(self.end[row]))
        return ProgramError(message, location, self.line(block))

    def refusal(self, message: str, *, row: int) -> RefusedError:
        """Return the refusal that points at a word."""
        error = self.error(message, row=row)
        return RefusedError(error.message, error.location, error.excerpt)

    def block_error(self, message: str, *, block: int) -> ProgramError:
        """Return the error that points at a whole block."""
        start, end = int(self.line_start[block]), int(self.line_end[block])
        return ProgramError(message, self.location(block, start, end), self.line(block))

    def spelling(self, row: int) -> str:
        """Return a word as it is written."""
        return self.text[self.start[row] : self.end[row]].decode("latin-1")
