"""Numbers of a program as exact decimals: an integer mantissa and a count of decimals.

The value is mantissa / 10**decimals. A mantissa of up to 18 digits fits an int64, so that columns of numbers stay
exact in numpy too.
"""

import re

__all__ = ["LONGEST_MANTISSA", "MOST_DECIMALS", "exact"]

LONGEST_MANTISSA = 18
"""Digits that are kept of a number; 10**18 still fits an int64. The report keeps about 17 (NISTIR 6556, 3.3.2.1)."""

MOST_DECIMALS = 18
"""Decimals that are kept of a number."""

_NUMBER = re.compile(r"([+-]?)([0-9]*)(?:\.([0-9]*))?")

_TOO_LONG = f"more than {LONGEST_MANTISSA} digits in front of the decimal point"


def exact(text: str) -> tuple[int, int]:
    """Return the value of a number as it is written.

    Up to 18 digits, not counting zeros in front, and up to 18 decimals are kept exactly, zeros at the end
    included. What is longer is rounded to the nearest number that fits, halves to the even last digit.

    Parameters
    ----------
    text : str
        A number of the language without blanks, such as `-.5` or `+007.50`.

    Returns
    -------
    tuple of int
        Mantissa and decimals; the value is mantissa / 10**decimals. A zero has no sign.

    Raises
    ------
    ValueError
        If `text` is not a number of the language, or has more than 18 digits in front of the point.

    Examples
    --------
    >>> exact("+007.50"), exact("-.5"), exact("5.")
    ((750, 2), (-5, 1), (5, 0))
    """
    match = _NUMBER.fullmatch(text)
    if match is None or not (match[2] or match[3]):
        raise ValueError(f"{text!r} is not a number")
    decimals = len(match[3] or "")
    digits = (match[2] + (match[3] or "")).lstrip("0")
    surplus = max(len(digits) - LONGEST_MANTISSA, decimals - MOST_DECIMALS)
    if surplus > 0:
        digits, decimals = _rounded(digits, decimals, surplus)
    mantissa = int(digits or "0")
    return (-mantissa if match[1] == "-" else mantissa), decimals


def _rounded(digits: str, decimals: int, surplus: int) -> tuple[str, int]:
    """Return digits and decimals with the last `surplus` digits rounded away, halves to even."""
    if surplus > decimals:
        raise ValueError(_TOO_LONG)
    digits = digits.rjust(surplus + 1, "0")
    kept, lost = int(digits[:-surplus]), digits[-surplus:]
    half = "5".ljust(surplus, "0")
    if lost > half or (lost == half and kept % 2):
        kept += 1
    decimals -= surplus
    if kept < 10**LONGEST_MANTISSA:
        return str(kept), decimals
    # The carry made a digit too many; the last one is a zero, which can go if it is a decimal.
    if not decimals:
        raise ValueError(_TOO_LONG)
    return str(kept // 10), decimals - 1
