"""The unit of a drafted job: lengths as its file can write them, and usual sizes."""

from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor

from flipreg.units import INCH_MM, Shown

__all__ = ["Unit"]

_FINEST = 64
"""The finest part of an inch that sizes are called by; common practice, no source."""
_SAME = 1e-6
"""Noise of the arithmetic, in such parts."""


@dataclass(frozen=True, slots=True)
class Unit:
    """Millimetres or inches.

    Attributes
    ----------
    inch : bool
        Whether the job's lengths are inches.
    """

    inch: bool

    @property
    def mm(self) -> float:
        """Millimetres in one of it."""
        return INCH_MM if self.inch else 1.0

    def of(self, size_mm: float, size_inch: float) -> float:
        """Return a usual size, given for either unit in that unit, in millimetres."""
        return size_inch * INCH_MM if self.inch else size_mm

    def written(self, length_mm: float) -> float:
        """Return a length in millimetres as it is once its number was written with four decimals and read again.

        Parts of an inch that have a name keep all decimals that they need, six at most.
        """
        parts = length_mm / INCH_MM * _FINEST
        decimals = 6 if abs(parts - round(parts)) < _SAME else 4
        return (round(length_mm / self.mm, decimals) + 0.0) * self.mm

    def up(self, length_mm: float, *, step_mm: float) -> float:
        """Return the next multiple of a step, in millimetres; what is over by less than rounding stays."""
        return self.written(ceil(round(length_mm / step_mm, 6)) * step_mm)

    def down(self, length_mm: float, *, step_mm: float) -> float:
        """Return the multiple of a step below, in millimetres; what is under by less than rounding stays."""
        return self.written(floor(round(length_mm / step_mm, 6)) * step_mm)

    def size(self, length_mm: float) -> str:
        """Return a size without its unit, as cutters are called by it: `6`, `1/4`."""
        length = self.written(length_mm) / self.mm
        part = Fraction(round(length * _FINEST), _FINEST)
        if not self.inch or part.denominator == 1 or float(part) != round(length, 6):
            return f"{length:.4g}"
        whole, over = divmod(part.numerator, part.denominator)
        return f"{whole} {over}/{part.denominator}" if whole else f"{part}"

    def text(self, length_mm: float) -> str:
        """Return a length with its unit."""
        return Shown(self.inch).plain(self.written(length_mm))
