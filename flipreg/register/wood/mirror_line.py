"""A line to mirror in, as it is searched for: moved along its normal, and turned about a point that stays."""

from dataclasses import dataclass
from math import atan2, cos, degrees, sin

import numpy as np
from numpy.typing import NDArray

__all__ = ["MirrorLine"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class MirrorLine:
    """The line of the points p with normal · (p - pivot) = offset; the normal is at `angle` radians."""

    pivot: tuple[float, float]
    angle: float
    offset: float

    @property
    def normal(self) -> Floats:
        """Unit vector across the line, shape (2,)."""
        return np.array([cos(self.angle), sin(self.angle)])

    @property
    def along(self) -> Floats:
        """Unit vector along the line, a quarter turn from the normal, shape (2,)."""
        return np.array([-sin(self.angle), cos(self.angle)])

    def mirrored(self, points: Floats) -> Floats:
        """Return the mirror images of points, shape (n, 2)."""
        off = (points - np.array(self.pivot)) @ self.normal - self.offset
        return np.asarray(points - 2.0 * off[:, np.newaxis] * self.normal)

    def moved(self, offset: float, angle: float = 0.0) -> "MirrorLine":
        """Return the line moved along its normal and turned about its pivot, in millimetres and radians."""
        return MirrorLine(self.pivot, self.angle + angle, self.offset + offset)

    @property
    def point_mm(self) -> Floats:
        """The point of the line that is nearest to the pivot, shape (2,)."""
        return np.asarray(np.array(self.pivot) + self.offset * self.normal)

    @property
    def words(self) -> str:
        """How it runs, as a person would say it."""
        turn = degrees(atan2(self.along[1], self.along[0])) % 180.0
        if min(turn, 180.0 - turn) < 1.0:
            return "along X"
        return "along Y" if abs(turn - 90.0) < 1.0 else f"at {turn:z.1f} degrees"
