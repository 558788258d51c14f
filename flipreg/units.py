"""Lengths and points as people write them: `12.5`, `0.5in`, `25.4,0`."""

import re
from decimal import Decimal

from flipreg.errors import UsageError

__all__ = ["INCH", "INCH_MM", "Length", "parse_length_mm", "parse_lengths_mm", "plain"]


INCH = Decimal("25.4")
"""The inch in millimetres, exactly, by definition."""

INCH_MM = float(INCH)
"""The inch in millimetres, for what is binary floating point anyway."""


class Length(Decimal):
    """A length in millimetres that remembers the unit it was written with; what is calculated from it does not.

    Attributes
    ----------
    unit : str
        'mm', 'in', or '' where none was written.
    """

    unit: str = ""


_MM_PER = {"": Decimal(1), "mm": Decimal(1), "in": INCH}

_LENGTH = re.compile(r"([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)) ?(mm|in)?")


def parse_length_mm(text: str) -> Length:
    """Return a length in millimetres, exactly as written; millimetres unless it carries a unit.

    Raises
    ------
    UsageError
        If it is not a decimal number with an optional `mm` or `in`.

    Examples
    --------
    >>> parse_length_mm("0.5in")
    Decimal('12.70')
    """
    found = _LENGTH.fullmatch(text.strip())
    if found is None:
        raise UsageError(f"{text!r} is not a length; expected a number such as 12.5, 12.5mm or 0.5in")
    number, unit = found.groups(default="")
    length = Length(Decimal(number) * _MM_PER[unit])
    length.unit = unit
    return length


def parse_lengths_mm(text: str, *, counts: tuple[int, ...]) -> tuple[Length, ...]:
    """Return lengths separated by commas, as many as one of `counts`, in millimetres.

    Raises
    ------
    UsageError
        If there are more or fewer, or one is not a length.
    """
    parts = text.split(",")
    if len(parts) not in counts:
        wanted = " or ".join(("X,Y", "X,Y,Z")[count - 2] for count in counts)
        raise UsageError(f"{text!r} has {len(parts)} lengths; expected {wanted}, separated by commas")
    return tuple(parse_length_mm(part) for part in parts)


def plain(value: Decimal) -> str:
    """Return a number as people write it: no zeros at its end, no exponent, no negative zero.

    Examples
    --------
    >>> plain(Decimal("12.50")), plain(Decimal("1E+2")), plain(Decimal("-0.0"))
    ('12.5', '100', '0')
    """
    return f"{value.normalize() + 0:f}"
