"""The lowest and highest of what a program names, gathered part by part."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path

__all__ = ["Extent", "ExtentSoFar", "RangeSoFar", "triple"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Extent:
    """Lowest and highest X, Y and Z, in millimetres; NaN where a coordinate was never named."""

    low_mm: tuple[float, float, float]
    high_mm: tuple[float, float, float]


class ExtentSoFar:
    """The extent of points and motions that come in parts."""

    def __init__(self) -> None:
        self._low = np.full(3, np.nan)
        self._high = np.full(3, np.nan)
        self._used = False

    def include(self, points: Floats) -> None:
        """Include points, shape (n, 3), in millimetres; NaN where a coordinate is not known."""
        if len(points):
            self._used = True
            self._low = np.fmin(self._low, np.fmin.reduce(points, axis=0))
            self._high = np.fmax(self._high, np.fmax.reduce(points, axis=0))

    def include_all(self, path: Path) -> None:
        """Include the motions, and what arcs reach beyond their ends."""
        if len(path):
            self.include(np.stack(path.extents_mm()))

    def extent(self) -> Extent | None:
        """Return the extent, None where nothing was included."""
        return Extent(triple(self._low), triple(self._high)) if self._used else None


class RangeSoFar:
    """The lowest and the highest of numbers that come in parts."""

    def __init__(self) -> None:
        self._low, self._high = np.inf, -np.inf

    def include(self, values: Floats) -> None:
        """Include numbers, shape (n,); NaN counts for nothing."""
        known = values[~np.isnan(values)]
        if known.size:
            self._low, self._high = min(self._low, float(known.min())), max(self._high, float(known.max()))

    def pair(self) -> tuple[float, float] | None:
        """Return the lowest and the highest, None where no number was known."""
        return (self._low, self._high) if self._low <= self._high else None


def triple(point: Floats) -> tuple[float, float, float]:
    """Return a point as three numbers, rounded to nine decimals, below which is noise of floats."""
    x, y, z = np.round(point, 9).tolist()
    return x, y, z
