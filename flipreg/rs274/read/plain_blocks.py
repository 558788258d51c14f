"""Plain blocks to words, vectorised: what the scanner reads without the grammar.

Comments have been overwritten. What is left is read by looking at every character and its neighbours: a word is a
letter with the characters of a number right after it, and between words stand blanks. A line with anything else in it
is irregular, and the grammar has to read it. So the letters and the ends of numbers that remain make pairs.

Whole texts are asked in bytes and truths, which costs an eighth of asking numbers.
"""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.read.comments import IN_COMMENT, Comments
from flipreg.rs274.read.number_columns import PADDING, Loads, read_numbers

__all__ = ["Plain", "WordColumns", "labels_after_comments", "scan_plain"]

Index = NDArray[np.int64]
Bytes = NDArray[np.uint8]
Flags = NDArray[np.bool_]

_ASCII = 0x7F
_UPPER_CASE = np.uint8(0x5F)
"""The bits in which a letter and its capital are alike."""

_BLANK, _TAB, _EOL, _PLUS, _COMMA, _MINUS, _SLASH, _NINE, _A, _Z, _E, _N, _O, _U, _W = b" \t\n+,-/9AZENOUW"

_MAX_LABEL_DIGITS = 8
"""Digits of a program number, one less than those of a line number; longer ones are for the grammar to judge."""


@dataclass(frozen=True, eq=False, slots=True)
class WordColumns:
    """Words as columns, see `Blocks`; `block` counts the lines of the text that was scanned."""

    letter: Bytes
    mantissa: Index
    decimals: Bytes
    start: Index
    number: Index
    end: Index
    block: Index

    def take(self, rows: Flags | Index) -> "WordColumns":
        """Return the named rows."""
        return WordColumns(*(getattr(self, column.name)[rows] for column in fields(self)))

    @classmethod
    def none(cls) -> "WordColumns":
        """Return no words."""
        empty, letters = np.empty(0, np.int64), np.empty(0, np.uint8)
        return cls(letters, empty, letters, empty, empty, empty, empty)

    @classmethod
    def joined(cls, parts: "list[WordColumns]") -> "WordColumns":
        """Return the rows of all parts, one part after the other."""
        return cls(*(np.concatenate([getattr(p, column.name) for p in parts]) for column in fields(cls)))


@dataclass(frozen=True, eq=False, slots=True)
class Plain:
    """Words of a text's plain lines.

    Attributes
    ----------
    words : WordColumns
        Rows of irregular lines are meaningless.
    irregular : bool, shape (b,)
        Lines that the grammar has to read.
    slashed : int64, shape (k,)
        Lines that begin with a block-delete slash.
    numbered : int64, shape (k,)
        Lines that are a program number.
    """

    words: WordColumns
    irregular: Flags
    slashed: Index
    numbered: Index


def scan_plain(padded: Bytes, line_end: Index) -> Plain:
    """Read the words of plain lines.

    Parameters
    ----------
    padded : uint8, shape (PADDING + n,)
        A text with comments masked, every line ended by one LF, and with padding in front.
    line_end : int64, shape (b,)
        Where its lines end, one or more.
    """
    text = padded[PADDING:]
    if text.max() > _ASCII:
        text = np.minimum(text, np.uint8(_ASCII))
    line_start = np.concatenate(([0], line_end[:-1] + 1))
    slashed = np.flatnonzero(text.take(line_start) == _SLASH)
    if slashed.size:
        text = text.copy()
        text[line_start[slashed]] = _BLANK
    folded = text & _UPPER_CASE
    is_letter = _is_between(folded, _A, _Z)
    # A comma and a slash lie between signs, point and digits; both are found below.
    is_number = _is_between(text, _PLUS, _NINE)
    irregular = np.zeros(len(line_end), np.bool_)
    broken = _broken(text, is_letter, is_number)
    if broken.any():
        irregular[np.searchsorted(line_end, np.flatnonzero(broken))] = True
        is_read = np.repeat(~irregular, line_end + 1 - line_start)
        is_letter &= is_read
        is_number &= is_read

    # A letter, the last character of its number, the next letter: they take turns.
    is_letter[:-1] |= is_number[:-1] > is_number[1:]
    letter_and_last = np.flatnonzero(is_letter).reshape(-1, 2)
    start, end = letter_and_last[:, 0].copy(), letter_and_last[:, 1] + 1
    block = np.repeat(np.arange(len(line_end)), np.diff(np.searchsorted(start, line_end), prepend=0))
    number = start + 1
    letter, first = folded.take(start), text.take(number)
    signed = (first == _PLUS) | (first == _MINUS)
    size = end - number
    size -= signed
    mantissa, decimals, pointed, wrong = read_numbers(Loads(padded), end, size)
    mantissa *= 1 - 2 * (first == _MINUS).astype(np.int64)
    wrong |= (first == _COMMA) | (first == _SLASH) | (letter == _E) | _is_between(letter, _U, _W)

    words = WordColumns(letter, mantissa, decimals, start, number, end, block)
    label = np.flatnonzero((letter == _N) | (letter == _O))
    if label.size:
        wrong[label] |= signed[label] | pointed[label] | (size[label] > _MAX_LABEL_DIGITS) | _misplaced(words, label)
    irregular[block[wrong]] = True
    return Plain(words, irregular, slashed, block[label[letter[label] == _O]])


def _is_between(characters: Bytes, first: int, last: int) -> Flags:
    between: Flags = characters - np.uint8(first) <= last - first
    return between


def _broken(text: Bytes, is_letter: Flags, is_number: Flags) -> Flags:
    """Return which characters stand where they have no place in a plain line."""
    in_word = is_letter | is_number
    # The line end and what comments were overwritten with come after the tab.
    broken: Flags = ~(in_word | (text == _BLANK) | _is_between(text, _TAB, IN_COMMENT))
    is_sign = _is_between(text, _PLUS, _MINUS) | (text == _SLASH)
    # Of truths, one is greater than another where the first holds and the other doesn't.
    broken[0] |= is_number[0]
    broken[1:] |= is_number[1:] > in_word[:-1]
    broken[1:] |= is_sign[1:] > is_letter[:-1]
    broken[:-1] |= is_letter[:-1] > is_number[1:]
    return broken


def _misplaced(words: WordColumns, label: Index) -> Flags:
    """Return which N and O words, by their rows, are not where they have to be.

    They come first on their line, and a program number stands alone.
    """
    same = words.block[1:] == words.block[:-1]
    has_before, has_after = np.concatenate(([False], same)), np.concatenate((same, [False]))
    misplaced: Flags = has_before[label] | (has_after[label] & (words.letter[label] == _O))
    return misplaced


def labels_after_comments(words: WordColumns, comments: Comments, lines: int) -> Index:
    """Return the lines where a comment stands in front of a line number or program number."""
    if not len(comments.start):
        return comments.block
    label = np.flatnonzero((words.letter == _N) | (words.letter == _O))
    if not label.size:
        return label
    first_comment = np.full(lines, np.iinfo(np.int64).max)
    first_comment[comments.block[::-1]] = comments.start[::-1]
    block = words.block[label]
    after: Index = block[first_comment[block] < words.start[label]]
    return after

