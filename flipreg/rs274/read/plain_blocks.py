"""Plain blocks to words, vectorised: what the scanner reads without the grammar.

Comments have been overwritten. What is left is read by looking at every character and its neighbours: a word is a
letter with the characters of a number right after it, and between words stand blanks. A line with anything else in it
is irregular, and the grammar has to read it. So the letters and the ends of numbers that remain make pairs.

Whole texts are asked in bytes and truths, which costs an eighth of asking numbers.
"""

from typing import NamedTuple

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

_BLANK, _TAB, _PLUS, _COMMA, _MINUS, _POINT, _SLASH, _NINE, _A, _Z, _E, _N, _O, _U, _W = b" \t+,-./9AZENOUW"

_BITS = 64
_LOWER_BITS = 2 ** np.arange(_BITS, dtype=np.uint64) - 1
"""Masks of the bits lower than each bit of a word."""

_MAX_LABEL_DIGITS = 8
"""Digits of a program number, one less than those of a line number; longer ones are for the grammar to judge."""


class WordColumns(NamedTuple):
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
        return WordColumns._make(column[rows] for column in self)

    @classmethod
    def none(cls) -> "WordColumns":
        """Return no words."""
        empty, letters = np.empty(0, np.int64), np.empty(0, np.uint8)
        return cls(letters, empty, letters, empty, empty, empty, empty)

    @classmethod
    def joined(cls, parts: "list[WordColumns]") -> "WordColumns":
        """Return the rows of all parts, one part after the other."""
        return cls._make(map(np.concatenate, zip(*parts, strict=True)))


class Plain(NamedTuple):
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
        A text with comments masked, every line ended by one LF, and with padding in front. Whoever asks has to look
        for control bytes: here they are blanks.
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
    is_letter = _is_between(text & _UPPER_CASE, _A, _Z)
    # A comma and a slash lie between signs, point and digits; both are found below.
    is_number = _is_between(text, _PLUS, _NINE)
    irregular = np.zeros(len(line_end), np.bool_)
    found = _Marks.of(text, is_letter, is_number)
    is_all_words = _is_all_words(text, is_letter, is_number, found)
    if not is_all_words:
        broken = _broken(text, is_letter, is_number)
        irregular[np.searchsorted(line_end, np.flatnonzero(broken))] = True
        is_read = np.repeat(~irregular, line_end + 1 - line_start)
        found = _Marks.of(text, is_letter & is_read, is_number & is_read)

    start, end, letter, first = found.start, found.last + 1, found.letter, found.first
    block = np.repeat(np.arange(len(line_end)), np.diff(found.before(line_end) >> 1, prepend=0))
    number = start + 1
    negative = first == _MINUS
    signed = negative | (first == _PLUS)
    size = end - number
    size -= signed
    mantissa, decimals, pointed, wrong = read_numbers(Loads(padded), end, size)
    _negate(mantissa, negative)
    wrong |= (first == _COMMA) | (first == _SLASH) | (letter == _E) | _is_between(letter, _U, _W)

    words = WordColumns(letter, mantissa, decimals, start, number, end, block)
    label = np.flatnonzero((letter == _N) | (letter == _O))
    if label.size:
        wrong[label] |= signed[label] | pointed[label] | (size[label] > _MAX_LABEL_DIGITS) | _misplaced(words, label)
    is_wrong = bool(wrong.any())
    if is_wrong:
        irregular[block[wrong]] = True
    # To what reads numbers, a sign in the middle is a point: in right numbers, as many points as there are leave none.
    if is_wrong or not is_all_words or np.count_nonzero(text == _POINT) != np.count_nonzero(pointed):
        stray = np.flatnonzero(_stray_signs(text, is_letter)) + 1
        irregular[np.searchsorted(line_end, stray)] = True
    return Plain(words, irregular, slashed, block[label[letter[label] == _O]])


def _is_between(characters: Bytes, first: int, last: int) -> Flags:
    shifted = characters - np.uint8(first)
    # The answer takes the place of the question, byte by byte, where it is in the processor's cache.
    between: Flags = np.less_equal(shifted, last - first, out=shifted.view(np.bool_))
    return between


class _Marks(NamedTuple):
    """Places of letters and of the last characters of numbers, which take turns in plain lines.

    Attributes
    ----------
    start, last : int64, shape (n,)
        Every other place each, the first one in `start`.
    letter, first : uint8, shape (n,)
        The characters at `start`, as capitals, and right after it.
    total : int
        How many places there are.
    bits : uint64, shape (m,)
        A bit for each character of the text, the first lowest: whether it is one of the places.
    """

    start: Index
    last: Index
    letter: Bytes
    first: Bytes
    total: int
    bits: NDArray[np.uint64]

    @classmethod
    def of(cls, text: Bytes, is_letter: Flags, is_number: Flags) -> "_Marks":
        """Return the places in a text."""
        # Of truths, one is greater than another where the first holds and the other doesn't.
        size = len(text)
        marks = np.zeros(-(-size // _BITS) * _BITS, np.bool_)
        np.greater(is_number[:-1], is_number[1:], out=marks[: size - 1])
        marks[:size] |= is_letter
        places, bits = np.flatnonzero(marks), np.packbits(marks, bitorder="little").view("<u8")
        start = places[::2].copy()
        letter, first = text.take(start) & _UPPER_CASE, text[1:].take(start, mode="clip")
        return cls(start, places[1::2], letter, first, len(places), bits)

    def before(self, offset: Index) -> Index:
        """Return how many of the places are before each offset: counted, which takes half as long as searching."""
        count = np.bitwise_count(self.bits)
        before = np.cumsum(count, dtype=np.int64) - count
        word = offset // _BITS
        lower = self.bits.take(word) & _LOWER_BITS.take(offset & (_BITS - 1))
        ahead: Index = before.take(word) + np.bitwise_count(lower)
        return ahead


def _is_all_words(text: Bytes, is_letter: Flags, is_number: Flags, found: _Marks) -> bool:
    """Return whether `_broken` would find nothing: by counting, in half the time.

    Where as many numbers end as there are letters, every other mark is a letter and each letter has a number right
    after it, no number is left that could stand elsewhere.
    """
    letters, numbers, blanks = (int(np.count_nonzero(each)) for each in (is_letter, is_number, text <= _BLANK))
    if letters + numbers + blanks < len(text) or found.total != 2 * letters:
        return False
    return bool(_is_between(found.letter, _A, _Z).all() and _is_between(found.first, _PLUS, _NINE).all())


def _broken(text: Bytes, is_letter: Flags, is_number: Flags) -> Flags:
    """Return which characters stand where they have no place in a plain line."""
    in_word = is_letter | is_number
    # The line end and what comments were overwritten with come after the tab.
    broken: Flags = ~(in_word | (text == _BLANK) | _is_between(text, _TAB, IN_COMMENT))
    broken[0] |= is_number[0]
    broken[1:] |= is_number[1:] > in_word[:-1]
    broken[:-1] |= is_letter[:-1] > is_number[1:]
    return broken


def _stray_signs(text: Bytes, is_letter: Flags) -> Flags:
    """Return which characters but the first are signs, commas or slashes without a letter right before."""
    is_sign = _is_between(text, _PLUS, _MINUS) | (text == _SLASH)
    stray: Flags = is_sign[1:] > is_letter[:-1]
    return stray


def _negate(numbers: Index, where: Flags) -> None:
    """Turn the signs of some numbers: -n is ~n + 1, and n ^ -1 is ~n."""
    ones = np.negative(where.view(np.int8)).astype(np.int64)
    numbers ^= ones
    numbers -= ones


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

