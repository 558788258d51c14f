"""Lengths and points as people write them: `12.5`, `0.5in`, `25.4,0`."""

import re
from dataclasses import dataclass
from decimal import Decimal

from flipreg.errors import UsageError

__all__ = ["INCH", "INCH_MM", "Length", "Shown", "parse_length_mm", "parse_lengths_mm"]


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


@dataclass(frozen=True, slots=True)
class Shown:
    """The unit that lengths are shown in to people: millimetres, or inches with one decimal more.

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
            return f"{length_mm / INCH_MM:z.{decimals + 1}f}"
        return f"{length_mm:z.{decimals}f}"

    def length(self, length_mm: float, decimals: int = 2) -> str:
        """Return a length with its unit; `decimals` are those of millimetres."""
        return f"{self.number(length_mm, decimals)} {self.name}"

    def plain(self, length_mm: float) -> str:
        """Return a length that somebody said, with its unit and no more decimals than it needs."""
        return f"{length_mm / (INCH_MM if self.inch else 1.0):.6g} {self.name}"

    def place(self, at_mm: tuple[float, float], decimals: int = 1) -> str:
        """Return a place without the unit: `X 1.0 Y 2.0`."""
        return f"X {self.number(at_mm[0], decimals)} Y {self.number(at_mm[1], decimals)}"

    def section(self, area_mm2: float) -> str:
        """Return the area of a small cross-section with its unit."""
        return f"{area_mm2 / INCH_MM**2:z.3f} in²" if self.inch else f"{area_mm2:z.0f} mm²"

    def area(self, area_mm2: float) -> str:
        """Return the area of a piece with its unit."""
        return f"{area_mm2 / INCH_MM**2:z.1f} in²" if self.inch else f"{area_mm2 / 100:z.0f} cm²"

    def volume(self, volume_mm3: float) -> str:
        """Return the volume of chips with its unit."""
        return f"{volume_mm3 / INCH_MM**3:z.2f} in³" if self.inch else f"{volume_mm3 / 1000:z.1f} cm³"


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
