"""The rotation and shift that best carry planned points onto measured points.

Least squares with nothing but a rigid motion: no scale, and never a mirror, because a blank on the table can
only be pushed and turned. Where a mirror would have fitted, the fit says so. Millimetres and degrees,
counter-clockwise positive.
"""

from dataclasses import dataclass
from decimal import Decimal
from math import cos, sin

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.isometry import Isometry

__all__ = ["RigidFit", "fit_rigid"]

Floats = NDArray[np.float64]

_NOISE_MM = 1e-6
"""Spreads and residuals below this are rounding, not shape (chosen): far below any measurement of wood."""

_MUCH_BETTER = 3.0
"""A mirror must leave this many times less than the rigid fit to be named (chosen): marks nearly on one line fit about
as well mirrored, and then measurement noise must not name a blunder."""


@dataclass(frozen=True, slots=True)
class RigidFit:
    """A least-squares rigid motion and how well it fits.

    Attributes
    ----------
    isometry : Isometry
        Maps planned points to where they were measured; determinant +1, no Z shift.
    centroid_mm : (float, float)
        Weighted mean of the planned points, in millimetres, in the planned frame.
    shift_mm : (float, float)
        How far the centroid moved, measured less planned, in millimetres. Unlike the isometry's offset it
        does not depend on where the origin is.
    rotation_determined : bool
        False where the points say nothing about rotation: one point, points that coincide, or measured points
        that favour no direction. The rotation is then 0.
    rms_mm, worst_mm : float
        Weighted root mean square and largest distance from image to measured point, in millimetres.
    worst_row : int
        The row of the largest distance.
    scale : float
        How many times larger the measured figure is than the planned one, by least squares; the fit itself
        never scales. 1 where the rotation is not determined. Inches read as millimetres show here.
    mirror_rms_mm : float
        What the best fit with a mirror would leave, in millimetres.
    """

    isometry: Isometry
    centroid_mm: tuple[float, float]
    shift_mm: tuple[float, float]
    rotation_determined: bool
    rms_mm: float
    worst_mm: float
    worst_row: int
    scale: float
    mirror_rms_mm: float

    @property
    def turn_deg(self) -> float:
        """The rotation from planned to measured, -180 to 180 degrees."""
        return self.isometry.turn_deg

    @property
    def mirrored(self) -> bool:
        """Whether the measured points are a mirror image: a mirror would fit much better.

        Never so for marks on one line, which look the same in a mirror.
        """
        return self.rms_mm > _NOISE_MM and self.mirror_rms_mm * _MUCH_BETTER < self.rms_mm

    def residuals_mm(self, planned_mm: Floats, measured_mm: Floats) -> Floats:
        """Return measured less fitted positions in millimetres, shape (n, 2)."""
        return measured_mm - self.isometry.apply(planned_mm)


def fit_rigid(planned_mm: Floats, measured_mm: Floats, *, weights: Floats | None = None) -> RigidFit:
    """Fit the rotation and shift that carry planned points onto measured points.

    Parameters
    ----------
    planned_mm, measured_mm : array, shape (n, 2)
        The same points, row by row, in millimetres; each in its own frame.
    weights : array, shape (n,), optional
        How much each row counts, 0 or more; all alike where not given.

    Returns
    -------
    RigidFit
        One point, or points that coincide, give a shift without rotation.

    Raises
    ------
    ValueError
        If there are no points, shapes differ, a number is not finite, a weight is negative or all are 0.

    References
    ----------
    S. Umeyama, IEEE PAMI 13(4), 1991, 376-380: the least-squares rotation under the guard that it is one. In
    the plane it has the closed form used here.
    """
    share = _shares(planned_mm, measured_mm, weights)
    planned_centroid, measured_centroid = share @ planned_mm, share @ measured_mm
    # Centred first: sums of products of raw coordinates lose the digits that matter far from the origin.
    planned, measured = planned_mm - planned_centroid, measured_mm - measured_centroid
    angle, grip = _best_angle(share, planned, measured)
    mirror = np.array([-1.0, 1.0])
    mirror_angle, _ = _best_angle(share, planned * mirror, measured)
    off = measured - _turned(planned, angle)
    distance = np.hypot(off[:, 0], off[:, 1])
    mirror_off = measured - _turned(planned * mirror, mirror_angle)
    counted = np.where(share > 0, distance, -1.0)
    spread = float(share @ (planned**2).sum(axis=1))
    determined = grip > 0
    return RigidFit(
        isometry=_isometry(angle, planned_centroid, measured_centroid),
        centroid_mm=_pair(planned_centroid),
        shift_mm=_pair(measured_centroid - planned_centroid),
        rotation_determined=determined,
        rms_mm=float(np.sqrt(share @ distance**2)),
        worst_mm=float(counted.max()),
        worst_row=int(counted.argmax()),
        scale=grip / spread if determined else 1.0,
        mirror_rms_mm=float(np.sqrt(share @ (mirror_off**2).sum(axis=1))),
    )


def _shares(planned_mm: Floats, measured_mm: Floats, weights: Floats | None) -> Floats:
    """Return weights that sum to 1, after the checks every fit needs."""
    expected = (len(planned_mm), 2)
    if planned_mm.shape != expected or measured_mm.shape != expected:
        raise ValueError(
            f"a fit needs two arrays of shape (n, 2) with equal n, got {planned_mm.shape} and {measured_mm.shape}"
        )
    if len(planned_mm) == 0:
        raise ValueError("a fit needs at least one point, got none")
    if not (np.isfinite(planned_mm).all() and np.isfinite(measured_mm).all()):
        raise ValueError("a fit needs finite coordinates, got NaN or infinity")
    counts = np.ones(len(planned_mm)) if weights is None else weights
    if counts.shape != (len(planned_mm),):
        raise ValueError(f"a fit needs one weight a point, shape {(len(planned_mm),)}, got {counts.shape}")
    if not (np.isfinite(counts).all() and (counts >= 0).all() and (counts > 0).any()):
        raise ValueError(f"weights are finite, not negative and not all 0, got {counts.tolist()}")
    return np.asarray(counts / counts.sum(), dtype=np.float64)


def _best_angle(share: Floats, planned: Floats, measured: Floats) -> tuple[float, float]:
    """Return the best rotation of centred points in radians, and how firmly they ask for it, in mm².

    Both are 0 where no angle is better than another.
    """
    along = float(share @ (planned * measured).sum(axis=1))
    across = float(share @ (planned[:, 0] * measured[:, 1] - planned[:, 1] * measured[:, 0]))
    grip = float(np.hypot(along, across))
    sizes = np.sqrt(share @ (planned**2).sum(axis=1)), np.sqrt(share @ (measured**2).sum(axis=1))
    if min(sizes) <= _NOISE_MM or grip <= 1e-12 * float(sizes[0] * sizes[1]):
        return 0.0, 0.0
    return float(np.arctan2(across, along)), grip


def _isometry(angle: float, planned_centroid: Floats, measured_centroid: Floats) -> Isometry:
    offset = measured_centroid - _turned(planned_centroid[np.newaxis], angle)[0]
    dx_mm, dy_mm = (Decimal(repr(value)) for value in offset.tolist())
    return Isometry(cos(angle), -sin(angle), sin(angle), cos(angle), dx_mm, dy_mm)


def _turned(points: Floats, angle: float) -> Floats:
    matrix = np.array([[cos(angle), -sin(angle)], [sin(angle), cos(angle)]])
    return np.asarray(points @ matrix.T, dtype=np.float64)


def _pair(vector: Floats) -> tuple[float, float]:
    return float(vector[0]), float(vector[1])
