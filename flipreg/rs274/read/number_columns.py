"""Decimal numbers in text to columns of integers, eight digits at a time.

A number is an integer mantissa and a count of decimals, so that mirrors and shifts stay exact. Eight
characters are one unaligned 64-bit load; the digits are then added up pairwise inside the word.
"""

import numpy as np
from numpy.typing import NDArray

__all__ = ["MAX_DIGITS", "PADDING", "Loads", "mantissas"]

Index = NDArray[np.int64]
U64 = NDArray[np.uint64]

MAX_DIGITS = 18
"""Most digits that always fit an int64."""

PADDING = 8
"""Bytes in front of a text, so that the eight characters in front of any offset can be read."""


def _top_bytes(count: int) -> int:
    """Return the mask of the last `count` of eight characters: the most significant bytes."""
    return (2**64 - 1) ^ ((1 << 8 * (8 - count)) - 1)


_TOP = np.array([_top_bytes(min(count, 8)) for count in range(MAX_DIGITS + 1)], np.uint64)
_NIBBLES = _TOP & np.uint64(0x0F0F0F0F0F0F0F0F)
_PAIRS, _FOURS = np.uint64(0x00FF00FF00FF00FF), np.uint64(0x0000FFFF0000FFFF)
_TIMES_10, _TIMES_100, _TIMES_10000 = np.uint64((10 << 8) + 1), np.uint64((100 << 16) + 1), np.uint64((10000 << 32) + 1)
_EIGHT, _SIXTEEN, _THIRTY_TWO = np.uint64(8), np.uint64(16), np.uint64(32)
_TENS = 10 ** np.arange(19, dtype=np.int64)


class Loads:
    """A text with every eight characters of it readable as one 64-bit word, by where they end."""

    def __init__(self, padded: NDArray[np.uint8]) -> None:
        """Take a text with `PADDING` bytes in front of it."""
        self._words: U64 = np.ndarray((len(padded) - 7,), "<u8", padded.data, 0, (1,))

    def ending_at(self, offset: Index) -> U64:
        """Return the eight characters in front of each offset of the text, the last most significant."""
        # PADDING is eight, so the characters in front of offset k of the text start at byte k of the whole.
        return self._words[offset]


def mantissas(loads: Loads, end: Index, decimals: Index, digits: Index, pointed: NDArray[np.bool_]) -> Index:
    """Return the value of each number's digits with the point left out, without sign.

    Parameters
    ----------
    loads : Loads
        The text.
    end : int64, shape (n,)
        Offset after each number.
    decimals, digits : int64, shape (n,)
        Digits after the point, and all digits; at most `MAX_DIGITS`.
    pointed : bool, shape (n,)
        Whether a point is written.
    """
    value = loads.ending_at(end)
    # With the point inside: characters after it stay, those before it move up by one place over the point.
    fraction = _TOP.take(np.where(pointed, decimals, 8))
    value = (value & fraction) | ((value << _EIGHT) & ~fraction)
    out = _add_up(value, digits)
    long = np.flatnonzero(digits + pointed > 8)
    if long.size:
        out[long] = _long(loads, end[long], decimals[long], digits[long], pointed[long])
    return out


def _add_up(value: U64, count: Index) -> Index:
    """Return the number that the last `count` characters, at most eight, of each word spell."""
    value &= _NIBBLES.take(count)
    value *= _TIMES_10
    value >>= _EIGHT
    value &= _PAIRS
    value *= _TIMES_100
    value >>= _SIXTEEN
    value &= _FOURS
    value *= _TIMES_10000
    value >>= _THIRTY_TWO
    return value.view(np.int64)


def _long(loads: Loads, end: Index, decimals: Index, digits: Index, pointed: NDArray[np.bool_]) -> Index:
    whole = _run(loads, end - decimals - pointed, digits - decimals)
    return whole * _TENS[decimals] + _run(loads, end, decimals)


def _run(loads: Loads, end: Index, count: Index) -> Index:
    """Return the value of up to 18 digits in a row in front of each offset."""
    total = np.zeros(len(end), np.int64)
    for place in (0, 8, 16):
        part = np.clip(count - place, 0, 8)
        total += _add_up(loads.ending_at(np.maximum(end - place, 0)), part) * _TENS[place]
    return total
