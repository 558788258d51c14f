"""Isometries of the machining plane: what flips and shifts a program.

An isometry keeps every distance. In the plane it is a rotation (determinant +1) or a mirror (determinant -1),
then an offset; along Z, which stays upright, it is an offset only. It maps points, directions and arcs of
one program frame to another. It is not a pose: turning a blank over is a rigid motion in space and another
type. Millimetres, degrees, counter-clockwise positive seen from +Z.

Offsets are exact decimals, so that a mirror or a shift of a written number is the number a person would
write: with `x' = 2*12.7 - x`, 0.1 becomes 25.3.
"""

from dataclasses import dataclass
from decimal import Decimal
from math import cos, hypot, isfinite, radians, sin

import numpy as np
from numpy.typing import NDArray

__all__ = ["Isometry", "cos_sin"]

Floats = NDArray[np.float64]

_ORTHOGONALITY = 1e-9
"""How far from orthogonal a matrix may be, dimensionless (chosen): 1 nm over a metre."""


@dataclass(frozen=True, slots=True)
class Isometry:
    """A rotation or mirror of the plane followed by an offset: `p' = [[xx, xy], [yx, yy]] p + d`.

    Attributes
    ----------
    xx, xy, yx, yy : float
        Rows of the orthogonal matrix, dimensionless; exactly 0 and ±1 for right angles.
    dx_mm, dy_mm, dz_mm : Decimal
        The offset, in millimetres, in the frame mapped to.

    Raises
    ------
    ValueError
        If the matrix is not orthogonal, or a number is not finite.
    """

    xx: float = 1.0
    xy: float = 0.0
    yx: float = 0.0
    yy: float = 1.0
    dx_mm: Decimal = Decimal(0)
    dy_mm: Decimal = Decimal(0)
    dz_mm: Decimal = Decimal(0)

    def __post_init__(self) -> None:
        entries = (self.xx, self.xy, self.yx, self.yy)
        numbers = (*entries, float(self.dx_mm), float(self.dy_mm), float(self.dz_mm))
        if not all(map(isfinite, numbers)):
            raise ValueError(f"an isometry needs finite numbers, got {self}")
        columns_dot = self.xx * self.xy + self.yx * self.yy
        lengths = (hypot(self.xx, self.yx), hypot(self.xy, self.yy))
        if abs(columns_dot) > _ORTHOGONALITY or any(abs(size - 1) > _ORTHOGONALITY for size in lengths):
            raise ValueError(f"an isometry needs an orthogonal matrix, got {entries}")

    @classmethod
    def translation(cls, dx_mm: Decimal, dy_mm: Decimal, dz_mm: Decimal = Decimal(0)) -> "Isometry":
        """Return the shift by the given millimetres."""
        return cls(dx_mm=dx_mm, dy_mm=dy_mm, dz_mm=dz_mm)

    @classmethod
    def rotation(cls, turn_deg: float, *, about_mm: tuple[Decimal, Decimal] = (Decimal(0), Decimal(0))) -> "Isometry":
        """Return the rotation by an angle, counter-clockwise positive, about a point.

        Multiples of 90 degrees are exact. An angle that is not finite is a ValueError.
        """
        cosine, sine = cos_sin(turn_deg)
        return cls(cosine, -sine, sine, cosine)._about(about_mm)

    @classmethod
    def mirror_x(cls, *, datum_mm: tuple[Decimal, Decimal]) -> "Isometry":
        """Return `(X - x, y - Y)` for the datum (X, Y): the flip about Y, like turning a page."""
        return cls(xx=-1.0, dx_mm=datum_mm[0], dy_mm=-datum_mm[1])

    @classmethod
    def mirror_y(cls, *, datum_mm: tuple[Decimal, Decimal]) -> "Isometry":
        """Return `(x - X, Y - y)` for the datum (X, Y): the flip about X, end over end."""
        return cls(yy=-1.0, dx_mm=-datum_mm[0], dy_mm=datum_mm[1])

    @property
    def matrix(self) -> Floats:
        """The orthogonal matrix, shape (2, 2), columns are the images of the unit vectors."""
        return np.array([[self.xx, self.xy], [self.yx, self.yy]])

    @property
    def offset_mm(self) -> Floats:
        """The offset, shape (3,), in millimetres."""
        return np.array([float(self.dx_mm), float(self.dy_mm), float(self.dz_mm)])

    @property
    def determinant(self) -> int:
        """+1 for a rotation, -1 for a mirror."""
        return 1 if self.xx * self.yy - self.xy * self.yx > 0 else -1

    @property
    def turn_deg(self) -> float:
        """Angle of the image of +X, -180 to 180 degrees."""
        return float(np.degrees(np.arctan2(self.yx, self.xx)))

    @property
    def is_axis_aligned(self) -> bool:
        """Whether axes go to axes: mirrors in X or Y, quarter turns, and what they make together."""
        return all(abs(entry) in (0.0, 1.0) for entry in (self.xx, self.xy, self.yx, self.yy))

    @property
    def keeps_axes(self) -> bool:
        """Whether X stays along X and Y along Y, either way round."""
        return self.is_axis_aligned and self.xy == 0.0

    def apply(self, points_mm: Floats) -> Floats:
        """Return the images of points.

        Parameters
        ----------
        points_mm : array, shape (n, 2) or (n, 3)
            Positions in millimetres, in the frame this maps from. NaN stays NaN, coordinate by coordinate
            where the axes are kept.

        Returns
        -------
        array, same shape
            Positions in the frame this maps to.
        """
        return self._map(points_mm, self.offset_mm)

    def turn(self, vectors: Floats) -> Floats:
        """Return the images of directions or increments, shape (n, 2) or (n, 3): the linear part only."""
        return self._map(vectors, np.zeros(3))

    def __matmul__(self, other: "Isometry") -> "Isometry":
        """Return the isometry that applies `other` first and then this one."""
        ours, theirs = self, other
        dx_mm, dy_mm = ours._turn_exactly(theirs.dx_mm, theirs.dy_mm)
        return Isometry(
            ours.xx * theirs.xx + ours.xy * theirs.yx,
            ours.xx * theirs.xy + ours.xy * theirs.yy,
            ours.yx * theirs.xx + ours.yy * theirs.yx,
            ours.yx * theirs.xy + ours.yy * theirs.yy,
            dx_mm + ours.dx_mm,
            dy_mm + ours.dy_mm,
            theirs.dz_mm + ours.dz_mm,
        )

    def __invert__(self) -> "Isometry":
        """Return the isometry that undoes this one."""
        linear = Isometry(self.xx, self.yx, self.xy, self.yy)
        dx_mm, dy_mm = linear._turn_exactly(self.dx_mm, self.dy_mm)
        return Isometry(linear.xx, linear.xy, linear.yx, linear.yy, -dx_mm, -dy_mm, -self.dz_mm)

    def _about(self, point_mm: tuple[Decimal, Decimal]) -> "Isometry":
        there = Isometry.translation(*point_mm)
        return there @ self @ ~there

    def _turn_exactly(self, x_mm: Decimal, y_mm: Decimal) -> tuple[Decimal, Decimal]:
        xx, xy, yx, yy = map(Decimal, (self.xx, self.xy, self.yx, self.yy))
        return xx * x_mm + xy * y_mm, yx * x_mm + yy * y_mm

    def _map(self, points: Floats, offset: Floats) -> Floats:
        out = np.empty((points.shape[1], points.shape[0])).T
        x, y = points[:, 0], points[:, 1]
        # Where the axes are kept, 0 * NaN would spread one unknown coordinate to the other.
        if self.keeps_axes:
            out[:, 0], out[:, 1] = self.xx * x, self.yy * y
        elif self.is_axis_aligned:
            out[:, 0], out[:, 1] = self.xy * y, self.yx * x
        else:
            out[:, 0] = self.xx * x + self.xy * y
            out[:, 1] = self.yx * x + self.yy * y
        out[:, 0] += offset[0]
        out[:, 1] += offset[1]
        if points.shape[1] == 3:
            out[:, 2] = points[:, 2] + offset[2]
        return out


def cos_sin(turn_deg: float) -> tuple[float, float]:
    """Return cosine and sine, exact for multiples of 90 degrees, so that nobody sees 6e-17."""
    if not isfinite(turn_deg):
        raise ValueError(f"a rotation needs a finite angle in degrees, got {turn_deg}")
    quarters, rest = divmod(turn_deg, 90.0)
    if rest == 0.0:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarters) % 4]
    return cos(radians(turn_deg)), sin(radians(turn_deg))
