"""Rigid motions in space: what turns a blank over, tilts it and lays it on the table.

A pose keeps distances and handedness: rotation matrix and offset, determinant +1. It cannot mirror; what mirrors
a program is `flipreg.geometry.isometry.Isometry`, another type. A pose is active and is named so that
neighbours cancel: `blank_from_program` maps coordinates in the program frame to coordinates in the blank frame, and
`blank_from_table @ table_from_program` is `blank_from_program`. Millimetres, degrees, right-handed frames, angles
counter-clockwise positive seen from the positive end of their axis.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, isfinite
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.isometry import cos_sin

__all__ = ["Pose"]

Floats = NDArray[np.float64]

Row = tuple[float, float, float]

_ROTATION = 1e-9
"""How far from a rotation a matrix may be, dimensionless (chosen): 1 nm over a metre."""


@dataclass(frozen=True, slots=True)
class Pose:
    """A rotation followed by an offset: `p' = rows · p + offset_mm`.

    Attributes
    ----------
    rows : three rows of three floats
        The rotation matrix; exactly 0 and ±1 for turns by multiples of 90 degrees.
    offset_mm : three floats
        Where the origin of the frame mapped from lies in the frame mapped to, in millimetres.

    Raises
    ------
    ValueError
        If the matrix is no rotation (not orthogonal, or it mirrors), or a number is not finite.

    Examples
    --------
    >>> over = Pose.rotation("y", 180.0)
    >>> over.apply(np.array([[10.0, 5.0, 2.0]])).tolist()
    [[-10.0, 5.0, -2.0]]
    """

    rows: tuple[Row, Row, Row] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    offset_mm: Row = (0.0, 0.0, 0.0)

    def __post_init__(self) -> None:
        numbers = (*self.rows[0], *self.rows[1], *self.rows[2], *self.offset_mm)
        if not all(map(isfinite, numbers)):
            raise ValueError(f"a pose needs finite numbers, got {self}")
        matrix = self.matrix
        if float(np.abs(matrix @ matrix.T - np.eye(3)).max()) > _ROTATION:
            raise ValueError(f"a pose needs an orthogonal matrix, got {self.rows}")
        if float(np.linalg.det(matrix)) < 0.0:
            raise ValueError(f"a pose cannot mirror, got determinant -1: {self.rows}")

    @classmethod
    def translation(cls, x_mm: float, y_mm: float, z_mm: float = 0.0) -> "Pose":
        """Return the shift by the given millimetres."""
        return cls(offset_mm=(x_mm, y_mm, z_mm))

    @classmethod
    def rotation(
        cls, axis: Literal["x", "y", "z"], turn_deg: float, *, about_mm: Sequence[float] = (0.0, 0.0, 0.0)
    ) -> "Pose":
        """Return the rotation by an angle about a line parallel to an axis, through a point.

        Multiples of 90 degrees are exact. An angle that is not finite is a ValueError.
        """
        c, s = cos_sin(turn_deg)
        first = "xyz".index(axis)
        second, third = (first + 1) % 3, (first + 2) % 3
        matrix = np.zeros((3, 3))
        matrix[first, first] = 1.0
        matrix[second, second], matrix[second, third] = c, -s
        matrix[third, second], matrix[third, third] = s, c
        centre = np.array([*about_mm], dtype=np.float64)
        return cls.of(matrix, centre - matrix @ centre)

    @classmethod
    def of(cls, matrix: Floats, offset_mm: Floats) -> "Pose":
        """Return the pose of a rotation matrix, shape (3, 3), and an offset in millimetres, shape (3,)."""
        # Adding 0 turns -0.0 into 0.0, so that equal poses print alike.
        first, second, third = ((row[0] + 0.0, row[1] + 0.0, row[2] + 0.0) for row in matrix.tolist())
        x, y, z = offset_mm.tolist()
        return cls((first, second, third), (x + 0.0, y + 0.0, z + 0.0))

    @property
    def matrix(self) -> Floats:
        """The rotation matrix, shape (3, 3); its columns are the images of the unit vectors."""
        return np.array(self.rows)

    @property
    def turn_deg(self) -> float:
        """Angle of the rotation about whatever axis it has, 0 to 180 degrees."""
        m = self.matrix
        # From sine and cosine: the arc cosine of the trace alone loses half the digits near 0 and 180 degrees.
        axis = np.array([m[2, 1] - m[1, 2], m[0, 2] - m[2, 0], m[1, 0] - m[0, 1]])
        return float(np.degrees(np.arctan2(hypot(*axis.tolist()), np.trace(m) - 1.0)))

    def apply(self, points_mm: Floats) -> Floats:
        """Return the images of points.

        Parameters
        ----------
        points_mm : array, shape (n, 3)
            Positions in millimetres, in the frame this maps from.

        Returns
        -------
        array, shape (n, 3)
            Positions in the frame this maps to.
        """
        return np.asarray(points_mm @ self.matrix.T + np.array(self.offset_mm), dtype=np.float64)

    def turn(self, directions: Floats) -> Floats:
        """Return the images of directions, shape (n, 3): the rotation without the offset."""
        return np.asarray(directions @ self.matrix.T, dtype=np.float64)

    def __matmul__(self, other: "Pose") -> "Pose":
        """Return the pose that applies `other` first and then this one."""
        return Pose.of(self.matrix @ other.matrix, self.matrix @ np.array(other.offset_mm) + np.array(self.offset_mm))

    def __invert__(self) -> "Pose":
        """Return the pose that undoes this one."""
        back = self.matrix.T
        return Pose.of(back, -back @ np.array(self.offset_mm))

    def differs_by(self, other: "Pose") -> tuple[float, float]:
        """Return how far another pose is from this one: distance of the origins in mm, angle in degrees."""
        between = ~self @ other
        return hypot(*between.offset_mm), between.turn_deg
