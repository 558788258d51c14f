"""Decimal numbers in text to columns of integers, eight characters at a time.

A number is an integer mantissa and a count of decimals, so that mirrors and shifts stay exact. Eight
characters are one unaligned 64-bit load. The point is found and closed up inside the word, and the digits are then
added up pairwise there.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = ["MAX_DIGITS", "PADDING", "Loads", "Numbers", "read_numbers"]

Index = NDArray[np.int64]
Bytes = NDArray[np.uint8]
U64 = NDArray[np.uint64]

MAX_DIGITS = 18
"""Most digits that always fit an int64."""

PADDING = 8
"""Bytes in front of a text, so that the eight characters in front of any offset can be read."""

_TOP_BYTES = np.array([(2**64 - 1) ^ ((1 << 8 * (8 - count)) - 1) for count in range(9)], np.uint64)
"""The last `count` of eight characters: the most significant bytes."""
_NIBBLES, _IN_DIGITS = np.uint64(0x0F0F0F0F0F0F0F0F), np.uint64(0x1010101010101010)
_PAIRS, _FOURS = np.uint64(0x00FF00FF00FF00FF), np.uint64(0x0000FFFF0000FFFF)
_TIMES_10, _TIMES_100, _TIMES_10000 = np.uint64((10 << 8) + 1), np.uint64((100 << 16) + 1), np.uint64((10000 << 32) + 1)
_ONE, _FOUR, _EIGHT, _SIXTEEN, _THIRTY_TWO = (np.uint64(2**power) for power in (0, 2, 3, 4, 5))
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


class Numbers(NamedTuple):
    """Numbers as columns.

    Attributes
    ----------
    mantissa : int64, shape (n,)
        The value of the digits with the point left out.
    decimals : uint8, shape (n,)
        The digits after the point.
    pointed : bool, shape (n,)
        Whether a point is written.
    wrong : bool, shape (n,)
        Numbers without a digit, with two points, or with more than `MAX_DIGITS`; their other columns mean nothing.
    """

    mantissa: Index
    decimals: Bytes
    pointed: NDArray[np.bool_]
    wrong: NDArray[np.bool_]


def read_numbers(loads: Loads, end: Index, size: Index) -> Numbers:
    """Return numbers without signs.

    Parameters
    ----------
    loads : Loads
        The text.
    end, size : int64, shape (n,)
        Offset after each number, and its characters: digits and points, nothing else.
    """
    value = loads.ending_at(end)
    value &= _TOP_BYTES.take(size, mode="clip")
    point, bits = _points(value)
    tail = bits >> 3
    pointed = tail > 0
    # Characters after the point stay, those before it move up by one place over the point.
    moved = value << _EIGHT
    moved ^= value
    point <<= _FOUR
    point -= pointed
    moved &= point
    value ^= moved
    value &= _NIBBLES
    one = pointed.view(np.uint8)
    mantissa, decimals = _add_up(value), (tail - one).astype(np.uint8, copy=False)
    wrong = (bits & 7 != 0) | (size.astype(np.uint8) <= one)
    long = np.flatnonzero(size > 8)
    if long.size:
        mantissa[long], decimals[long], pointed[long], wrong[long] = _long(loads, end[long], size[long])
    return Numbers(mantissa, decimals, pointed, wrong)


def _points(value: U64) -> tuple[U64, Bytes]:
    """Return a bit at the point in each word, and eight for each character from the point on; 0 where there is none.

    Of a word with two points the second number is no multiple of eight.
    """
    # Of these characters a digit has both bits 4 and 5, a point has bit 5, and what is no part of the number has none.
    point = value >> _ONE
    point ^= value
    point &= _IN_DIGITS
    return point, np.bitwise_count(np.negative(point >> _FOUR))


def _add_up(value: U64) -> Index:
    """Return the number that the eight digits of each word spell."""
    value *= _TIMES_10
    value >>= _EIGHT
    value &= _PAIRS
    value *= _TIMES_100
    value >>= _SIXTEEN
    value &= _FOURS
    value *= _TIMES_10000
    value >>= _THIRTY_TWO
    return value.view(np.int64)


def _long(loads: Loads, end: Index, size: Index) -> Numbers:
    tail, points = np.zeros(len(end), np.int64), np.zeros(len(end), np.int64)
    for place in (0, 8, 16):
        point, bits = _points(loads.ending_at(np.maximum(end - place, 0)) & _TOP_BYTES[np.clip(size - place, 0, 8)])
        tail = np.where(bits > 0, place + (bits >> 3), tail)
        points += np.bitwise_count(point)
    pointed = points > 0
    wrong = (points > 1) | (size - pointed > MAX_DIGITS)
    decimals = np.where(wrong, 0, tail - pointed)
    mantissa = _run(loads, end - tail, size - tail) * _TENS[decimals] + _run(loads, end, decimals)
    return Numbers(mantissa, decimals.astype(np.uint8), pointed, wrong)


def _run(loads: Loads, end: Index, count: Index) -> Index:
    """Return the value of up to 18 digits in a row in front of each offset."""
    total = np.zeros(len(end), np.int64)
    for place in (0, 8, 16):
        digits = loads.ending_at(np.maximum(end - place, 0)) & _TOP_BYTES[np.clip(count - place, 0, 8)]
        total += _add_up(digits & _NIBBLES) * _TENS[place]
    return total
