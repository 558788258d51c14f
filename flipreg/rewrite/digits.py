"""Columns of exact decimals to text."""

import numpy as np
from numpy.typing import NDArray

from flipreg.rewrite.splice import Texts

__all__ = ["number_texts", "round_to_decimals"]

Index = NDArray[np.int64]

_TENS = 10 ** np.arange(19, dtype=np.int64)
_MINUS, _POINT, _ZERO = b"-.0"


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
    negative = mantissa < 0
    rest = np.abs(mantissa)
    digits = np.maximum(np.searchsorted(_TENS, rest, side="right"), decimals + 1)
    has_point = decimals > 0 if pointed is None else (decimals > 0) | pointed
    length = digits + negative + has_point
    ends = np.cumsum(length)
    characters = np.empty(int(ends[-1]) if len(ends) else 0, np.uint8)
    characters[(ends - length)[negative]] = _MINUS
    characters[(ends - decimals - 1)[has_point]] = _POINT
    place = ends - 1
    for written in range(int(digits.max()) if len(digits) else 0):
        place -= has_point & (decimals == written)
        rest, digit = _divide_by_ten(rest)
        more = digits > written
        if more.all():
            characters[place] = digit
        else:
            characters[place[more]] = digit[more]
        place -= 1
    return Texts(characters, length)


def _divide_by_ten(value: Index) -> tuple[Index, NDArray[np.uint8]]:
    quotient = value // 10
    return quotient, (value - quotient * 10 + _ZERO).astype(np.uint8)


def round_to_decimals(values: NDArray[np.float64], decimals: Index) -> Index:
    """Return the mantissas of the nearest decimals, half to even."""
    return np.rint(values * 10.0**decimals).astype(np.int64)
