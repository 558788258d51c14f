"""Lengths and points as people write them: `12.5`, `0.5in`, `25.4,0`."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from decimal import Decimal
from typing import NamedTuple

from flipreg.errors import UsageError

__all__ = [
    "INCH",
    "INCH_MM",
    "Length",
    "PartOfInchError",
    "Shown",
    "area_text",
    "length_text",
    "limit_text",
    "number_text",
    "parse_length_mm",
    "parse_lengths_mm",
    "place_text",
    "plain",
    "said_inch",
    "shown_in",
    "shown_now",
    "with_unit",
]


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


class Shown(NamedTuple):
    """The unit that lengths are shown in to people: millimetres, or inches with a decimal or two more.

    Attributes
    ----------
    inch : bool
        Whether it is inches.

    Examples
    --------
    >>> Shown(inch=False).length(12.7), Shown(inch=True).length(12.7)
    ('12.70 mm', '0.500 in')
    """

    inch: bool

    @property
    def name(self) -> str:
        """The unit's name."""
        return "in" if self.inch else "mm"

    def number(self, length_mm: float, decimals: int = 2) -> str:
        """Return a length without its unit; `decimals` are those of millimetres."""
        if self.inch:
            return f"{length_mm / INCH_MM:z.{max(decimals + 1, min(decimals + 2, 3))}f}"
        return f"{length_mm:z.{decimals}f}"

    def length(self, length_mm: float, decimals: int = 2) -> str:
        """Return a length with its unit; `decimals` are those of millimetres."""
        return f"{self.number(length_mm, decimals)} {self.name}"

    def signed(self, length_mm: float, decimals: int = 2) -> str:
        """Return a length with its sign, without its unit."""
        text = self.number(length_mm, decimals)
        return text if text.startswith("-") else f"+{text}"

    def bare(self, length_mm: float, decimals: int = 4) -> str:
        """Return a length that somebody said or may type again, without its unit: `12.5`, or in inches `0.49213`.

        With no more decimals than it needs, nor than `decimals` of millimetres and one more of inches: by default those
        of programs that are told to move by it.
        """
        return number_text(length_mm / INCH_MM, decimals + 1) if self.inch else number_text(length_mm, decimals)

    def plain(self, length_mm: float) -> str:
        """Return a length that somebody said, with its unit."""
        return f"{self.bare(length_mm)} {self.name}"

    def place(self, at_mm: tuple[float, float], decimals: int = 1) -> str:
        """Return a place without the unit: `X 1.0 Y 2.0`."""
        return f"X {self.number(at_mm[0], decimals)} Y {self.number(at_mm[1], decimals)}"

    def small_area(self, area_mm2: float) -> str:
        """Return the area of a hole or of a tab's section with its unit."""
        return f"{area_mm2 / INCH_MM**2:z.3f} in²" if self.inch else f"{area_mm2:z.0f} mm²"

    def area(self, area_mm2: float, decimals: int = 0) -> str:
        """Return the area of a piece with its unit; `decimals` are those of square centimetres."""
        return f"{area_mm2 / INCH_MM**2:z.1f} in²" if self.inch else f"{area_mm2 / 100:z.{decimals}f} cm²"

    def volume(self, volume_mm3: float) -> str:
        """Return the volume of chips with its unit."""
        return f"{volume_mm3 / INCH_MM**3:z.2f} in³" if self.inch else f"{volume_mm3 / 1000:z.1f} cm³"


def number_text(value: float, decimals: int = 4) -> str:
    """Return a number to a ten-thousandth, without the noise of floats, an exponent or a sign of zero."""
    return f"{round(value, decimals) + 0.0:.12g}"


_INCH: ContextVar[bool | None] = ContextVar("_INCH", default=None)
"""Whether sentences about lengths are written in inches now, while one job is worked on; None if nobody said."""


@contextmanager
def shown_in(*, inch: bool | None) -> Iterator[None]:
    """Let sentences be written in inches, or in millimetres, for as long as this lasts; None leaves that open.

    A finding's sentence is made where its reason is known, deep in a check, and is for people only: that is the one
    thing that depends on this. Numbers stay millimetres.
    """
    token = _INCH.set(inch)
    try:
        yield
    finally:
        _INCH.reset(token)


def shown_now() -> Shown:
    """Return the unit that sentences are written in now."""
    return Shown(bool(_INCH.get()))


def said_inch() -> bool | None:
    """Return whether it was said that sentences are written in inches; None if nothing was said."""
    return _INCH.get()


def length_text(length_mm: float, decimals: int = 2) -> str:
    """Return a measured length for a sentence: `12.70 mm` or `0.500 in`; `decimals` are those of millimetres."""
    return shown_now().length(length_mm, decimals)


def limit_text(length_mm: float) -> str:
    """Return a length that somebody said, for a sentence, with no more decimals than it needs: `12.7 mm`, `0.5 in`."""
    return shown_now().plain(length_mm)


def place_text(at_mm: tuple[float, float], decimals: int = 1) -> str:
    """Return a place for a sentence, without the unit: `X 1.0 Y 2.0`."""
    return shown_now().place(at_mm, decimals)


def area_text(area_mm2: float) -> str:
    """Return an area for a sentence: `12 mm²` or `0.019 in²`."""
    return shown_now().small_area(area_mm2)


_MM_PER = {"": Decimal(1), "mm": Decimal(1), "in": INCH}

_LENGTH = re.compile(r"([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)) ?(mm|in)?")
_PARTS = (2, 4, 8, 16, 32, 64)
_FRACTION = re.compile(r"([+-]?)(?:([0-9]+)[ -])?([0-9]+)/([0-9]+) ?in")
"""Parts of an inch, `3/8in` and `1 3/8in`."""


class PartOfInchError(UsageError):
    """A length in parts of an inch that no rule has, such as thirds."""


def parse_length_mm(text: str) -> Length:
    """Return a length in millimetres, exactly as written; millimetres unless it carries a unit.

    Raises
    ------
    UsageError
        If it is neither a decimal number with an optional `mm` or `in`, nor a part of an inch; a `PartOfInchError` if
        it is one in other parts than halves to 64ths.

    Examples
    --------
    >>> parse_length_mm("0.5in")
    Decimal('12.70')
    >>> parse_length_mm("3/8in")
    Decimal('9.5250')
    """
    found = _LENGTH.fullmatch(text.strip())
    if found is None:
        part = _FRACTION.fullmatch(text.strip())
        if part is None:
            raise UsageError(f"{text!r} is not a length; expected a number such as 12.5, 12.5mm, 0.5in or 3/8in")
        return _inches(text, *part.groups(default=""))
    number, unit = found.groups(default="")
    length = Length(Decimal(number) * _MM_PER[unit])
    length.unit = unit
    return length


def _inches(text: str, sign: str, whole: str, over: str, under: str) -> Length:
    """Return parts of an inch in millimetres; what has no end in decimals is refused."""
    if int(under) not in _PARTS:
        raise PartOfInchError(f"{text!r} is not a length; an inch has halves, quarters, 8ths, 16ths, 32nds and 64ths")
    inches = Decimal(whole or 0) + Decimal(over) / Decimal(under)
    length = Length((-inches if sign == "-" else inches) * INCH)
    length.unit = "in"
    return length


def with_unit(length: Length, *, inch: bool) -> Length:
    """Return a length as it is meant beside a job: in the job's unit if it was written without one."""
    if length.unit or not inch:
        return length
    meant = Length(length * INCH)
    meant.unit = "in"
    return meant


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
        has = "1 length" if len(parts) == 1 else f"{len(parts)} lengths"
        raise UsageError(f"{text!r} has {has}; expected {wanted}, separated by commas")
    return tuple(parse_length_mm(part) for part in parts)


def plain(value: Decimal) -> str:
    """Return a number as people write it: no zeros at its end, no exponent, no negative zero.

    Examples
    --------
    >>> plain(Decimal("12.50")), plain(Decimal("1E+2")), plain(Decimal("-0.0"))
    ('12.5', '100', '0')
    """
    return f"{value.normalize() + 0:f}"
