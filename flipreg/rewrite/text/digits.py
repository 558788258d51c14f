"""Columns of exact decimals to text."""

import numpy as np
from numpy.typing import NDArray

from flipreg.rewrite.text.splice import Texts

__all__ = ["number_texts", "round_to_decimals"]

Index = NDArray[np.int64]
Bytes = NDArray[np.uint8]
U64 = NDArray[np.uint64]

_TENS = 10 ** np.arange(19, dtype=np.int64)
_MINUS, _POINT = b"-."
_EIGHT_DIGITS = 10**8
_ALL_BITS = 2**64 - 1

def number_texts(mantissa: Index, decimals: Index, *, pointed: NDArray[np.bool_] | None = None) -> Texts:
    """Write numbers as RS-274 spells them: a sign only if negative, a point only with decimals after it.

    Parameters
    ----------
    mantissa, decimals : int64, shape (n,)
        The values are mantissa / 10**decimals; all decimals are written, trailing zeros too. A written zero
        has no sign.
    pointed : bool, shape (n,), optional
        Rows that get a point even with no decimals after it, as in `5.`: there are controllers that read 5
        as five of the smallest step.
    """
    if not len(mantissa):
        return Texts.of([])
    negative = mantissa < 0
    rest = np.abs(mantissa)
    digits = np.maximum(np.searchsorted(_TENS, rest, side="right"), decimals + 1)
    has_point = decimals > 0 if pointed is None else (decimals > 0) | pointed
    length = digits + negative + has_point
    words = _digits_of(rest, int(length.max()))
    for places in np.flatnonzero(np.bincount(decimals)).tolist():
        here = has_point & (decimals == places)
        _put_points(words, slice(None) if here.all() else np.flatnonzero(here), places)
    rows = words.view(np.uint8)
    first = np.arange(1, len(rows) + 1) * rows.shape[1] - length
    characters = rows.ravel()
    characters[first[negative]] = _MINUS
    return Texts(characters, first, length)


def _digits_of(value: Index, width: int) -> U64:
    """Return the digits of whole numbers, one row each: zeros in front, words enough for so many characters."""
    words = np.empty((len(value), -(-width // 8)), "<u8")
    words[:, 0] = _spelled(np.zeros(1, np.uint64))
    rest = value.astype(np.uint64)
    for column in range(words.shape[1] - 1, -1, -1):
        higher = rest // _EIGHT_DIGITS
        words[:, column] = _spelled(rest - higher * _EIGHT_DIGITS)
        if not higher.any():
            words[:, :column] = _spelled(np.zeros(1, np.uint64))
            break
        rest = higher
    return words


def _spelled(value: U64) -> U64:
    """Return the eight digits of numbers of up to eight digits as the characters of a word, the first lowest.

    The two halves of four digits are taken apart at once, then the four pairs, and then the eight digits.
    """
    high = value // 10_000
    word = high | (value - high * 10_000) << 32
    hundreds = (word * 10_486 >> 20) & 0x0000007F_0000007F
    word = hundreds | (word - hundreds * 100) << 16
    tens = (word * 103 >> 10) & 0x000F000F_000F000F
    eight = tens | (word - tens * 10) << 8 | 0x30303030_30303030
    return eight.astype(np.uint64, copy=False)


def _put_points(words: U64, here: Index | slice, places: int) -> None:
    """Put a point into rows of digits with so many digits after it; those in front of it move up.

    The first character of a word is its lowest byte, so that up is to the right.
    """
    word, byte = divmod(8 * words.shape[1] - 1 - places, 8)
    for column in range(word):
        words[here, column] = words[here, column] >> 8 | words[here, column + 1] << 56
    up_to_point = (1 << 8 * (byte + 1)) - 1
    before, after = words[here, word] & up_to_point, words[here, word] & (up_to_point ^ _ALL_BITS)
    words[here, word] = before >> 8 | after | _POINT << 8 * byte


def round_to_decimals(values: NDArray[np.float64], decimals: Index) -> Index:
    """Return the mantissas of the nearest decimals, half to even."""
    return np.rint(values * 10.0**decimals).astype(np.int64)
