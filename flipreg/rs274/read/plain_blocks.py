"""Plain blocks to words, vectorised: what the scanner reads without the grammar.

Comments have been overwritten with digits. What is then not a digit - letters, signs, points, blanks, line
ends - is a short list of marks, and the grammar of a plain block is a table of which mark may follow which,
with or without digits between them. Whatever breaks a rule of the table makes its line irregular, and the grammar
has to read it.
"""

from dataclasses import dataclass, fields
from functools import cache

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.read.comments import Comments
from flipreg.rs274.read.number_columns import MAX_DIGITS, PADDING, Loads, mantissas

__all__ = ["Plain", "WordColumns", "labels_after_comments", "scan_plain"]

Index = NDArray[np.int64]
Bytes = NDArray[np.uint8]
Flags = NDArray[np.bool_]

_WORD, _LABEL, _MINUS, _PLUS, _POINT, _BLANK, _EOL, _OPEN, _CLOSE, _TAIL, _SLASH, _OTHER = range(12)
"""Kinds of marks. A LABEL is N or O, which only begin a block; TAIL is `;`, a comment to the line end."""

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


def scan_plain(padded: Bytes, lines: int) -> Plain:
    """Read the words of plain lines.

    Parameters
    ----------
    padded : uint8, shape (PADDING + n,)
        A text with comments masked, every line ended by one LF, and with padding in front.
    lines : int
        How many lines it has, one or more.
    """
    text = padded[PADDING:]
    marks = np.flatnonzero((text - np.uint8(48)) > 9)
    kind = _kinds().take(text.take(marks))
    line_marks = np.flatnonzero(kind == _EOL)
    irregular = _irregular_lines(marks, kind, line_marks, lines)

    # The last mark is a line end, so that every word has marks after it to look at.
    is_word = kind <= _LABEL
    row = np.flatnonzero(is_word)
    so_far = np.cumsum(is_word, dtype=np.int32).take(line_marks)
    block = np.repeat(np.arange(lines), np.diff(so_far, prepend=0))
    start = marks.take(row)
    after = kind.take(row + 1)
    signed = (after == _MINUS) | (after == _PLUS)
    whole = row + signed
    after_whole_number = whole + 1
    pointed = kind.take(after_whole_number) == _POINT
    point = marks.take(after_whole_number)
    end = marks.take(after_whole_number + pointed)
    decimals = np.where(pointed, end - point - 1, 0)
    digits = point - marks.take(whole) - 1 + decimals
    too_long = digits > MAX_DIGITS
    if too_long.any():
        irregular[block[too_long]] = True
        digits = np.where(too_long, 0, digits)
        decimals = np.where(too_long, 0, decimals)
    mantissa = mantissas(Loads(padded), end, decimals, digits, pointed)
    np.negative(mantissa, out=mantissa, where=after == _MINUS)

    letter = text.take(start) & np.uint8(0xDF)
    words = WordColumns(letter, mantissa, decimals.astype(np.uint8), start, start + 1, end, block)
    label = np.flatnonzero(kind[row] == _LABEL)
    if label.size:
        irregular[block[label[digits[label] > _MAX_LABEL_DIGITS]]] = True
        line_first = np.concatenate(([0], line_marks[:-1] + 1))[block[label]]
        irregular[block[label[_misplaced(words, label, row[label] - line_first, marks[line_first])]]] = True
    numbered = block[label[letter[label] == ord("O")]]
    slashed = np.searchsorted(line_marks, np.flatnonzero(kind == _SLASH))
    return Plain(words, irregular, slashed, numbered)


def _irregular_lines(marks: Index, kind: Bytes, line_marks: Index, lines: int) -> Flags:
    irregular = np.zeros(lines, np.bool_)
    code = np.empty(len(kind) + 1, np.uint8)
    # The text is read as if a line end stood in front of it.
    code[0] = 2 * _EOL + (marks[0] > 0)
    np.multiply(kind, 2, out=code[1:])
    code[1:-1] += np.diff(marks) > 1
    pair = np.ndarray((len(kind),), "<u2", code.data, 0, (1,))
    broken = np.flatnonzero(_forbidden().take(pair))
    irregular[np.searchsorted(line_marks, broken)] = True
    return irregular


def _misplaced(words: WordColumns, label: Index, marks_before: Index, line_first: Index) -> Flags:
    """Return which N and O words are not where they have to be.

    Only a slash and blanks may stand in front, each a mark of its own: as many marks as characters. A program
    number stands alone.

    Parameters
    ----------
    words : WordColumns
        All words.
    label : int64, shape (k,)
        Rows of the N and O words.
    marks_before : int64, shape (k,)
        Marks of the same line in front of each.
    line_first : int64, shape (k,)
        Offset of the line's first mark.
    """
    misplaced = words.start[label] - line_first != marks_before
    same = words.block[1:] == words.block[:-1]
    has_before, has_after = np.concatenate(([False], same)), np.concatenate((same, [False]))
    alone = ~has_after[label] | (words.letter[label] == ord("N"))
    result: Flags = misplaced | has_before[label] | ~alone
    return result


def labels_after_comments(words: WordColumns, comments: Comments, lines: int) -> Index:
    """Return the lines where a comment stands in front of a line number or program number."""
    if not len(comments.start):
        return comments.block
    first_comment = np.full(lines, np.iinfo(np.int64).max)
    first_comment[comments.block[::-1]] = comments.start[::-1]
    label = np.flatnonzero((words.letter == ord("N")) | (words.letter == ord("O")))
    block = words.block[label]
    after: Index = block[first_comment[block] < words.start[label]]
    return after


@cache
def _kinds() -> Bytes:
    kinds = np.full(256, _OTHER, np.uint8)
    for letters, kind in (
        ("ABCDFGHIJKLMPQRSTXYZ", _WORD),
        ("NO", _LABEL),
        ("-", _MINUS),
        ("+", _PLUS),
        (".", _POINT),
        (" \t", _BLANK),
        ("\n", _EOL),
        ("(", _OPEN),
        (")", _CLOSE),
        (";", _TAIL),
        ("/", _SLASH),
    ):
        for letter in letters + letters.lower():
            kinds[ord(letter)] = kind
    return kinds


@cache
def _forbidden() -> Flags:
    """Return which pairs of neighbouring marks break the grammar, by code + 256 * next code.

    A code is twice the kind, plus one if digits follow the mark.
    """
    forbidden = np.ones(65536, np.bool_)
    after_number = [2 * kind + d for kind in (_WORD, _LABEL, _BLANK, _EOL, _OPEN, _TAIL) for d in (0, 1)]
    signs = [2 * kind + d for kind in (_MINUS, _PLUS) for d in (0, 1)]
    point, point_with_digits = 2 * _POINT, 2 * _POINT + 1
    followers: dict[int, list[int]] = {
        2 * _WORD: [*signs, point_with_digits],
        2 * _WORD + 1: [*after_number, point, point_with_digits],
        2 * _LABEL + 1: after_number,
        point: after_number,
        point_with_digits: after_number,
        2 * _BLANK: after_number,
        2 * _EOL: [*after_number, 2 * _SLASH],
        2 * _CLOSE: after_number,
        2 * _SLASH: after_number,
    }
    for sign in (_MINUS, _PLUS):
        followers[2 * sign] = [point_with_digits]
        followers[2 * sign + 1] = [*after_number, point, point_with_digits]
    for digits in (0, 1):
        followers[2 * _OPEN + digits] = [2 * _CLOSE]
        followers[2 * _TAIL + digits] = [2 * _EOL]
    for code, allowed in followers.items():
        for follower in allowed:
            forbidden[code + 256 * follower] = False
    return forbidden
