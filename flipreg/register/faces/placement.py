"""Where a back program lies in the front program's frame, in floats: what searching moves about."""

from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.isometry import Isometry

__all__ = ["Placement"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Placement:
    """Maps points of the back program's frame to the front program's frame: `front = matrix · back + offset`.

    Attributes
    ----------
    matrix : float64, shape (2, 2)
        Orthogonal; determinant -1 where the back is mirrored, as it should be.
    offset_mm : float64, shape (2,)
        Where the back's zero lies in the front's frame: the datum.
    """

    matrix: Floats
    offset_mm: Floats

    @classmethod
    def of(cls, isometry: Isometry) -> "Placement":
        """Return the placement of an isometry of the plane."""
        return cls(isometry.matrix, isometry.offset_mm[:2])

    @property
    def isometry(self) -> Isometry:
        """The same map as an Isometry, its offset rounded to 1e-9 mm."""
        (xx, xy), (yx, yy) = self.matrix.tolist()
        dx_mm, dy_mm = (Decimal(repr(round(value, 9))) + 0 for value in self.offset_mm.tolist())
        return Isometry(xx, xy, yx, yy, dx_mm, dy_mm)

    def apply(self, points_mm: Floats) -> Floats:
        """Return points of the back, shape (n, 2), in the front's frame."""
        return np.asarray(points_mm @ self.matrix.T + self.offset_mm)

    def undo(self, points_mm: Floats) -> Floats:
        """Return points of the front, shape (n, 2), in the back's frame."""
        return np.asarray((points_mm - self.offset_mm) @ self.matrix)

    def moved(self, turn_rad: float, about_mm: Floats, shift_mm: Floats) -> "Placement":
        """Return this placement, then turned about a point of the front's frame and shifted."""
        cosine, sine = np.cos(turn_rad), np.sin(turn_rad)
        turn = np.array([[cosine, -sine], [sine, cosine]])
        offset = turn @ (self.offset_mm - about_mm) + about_mm + shift_mm
        return Placement(turn @ self.matrix, offset)

    def shifted(self, shift_mm: Floats) -> "Placement":
        """Return this placement, then shifted in the front's frame."""
        return Placement(self.matrix, self.offset_mm + shift_mm)
