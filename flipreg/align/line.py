"""The straight line that points lie closest to, by perpendicular distance.

A centre line runs along Y in one setup and along X in another; distances across the line mean the same in
both, where a fit of y over x would not. Millimetres and degrees.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["LineFit", "fit_line"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class LineFit:
    """A straight line and how far the points are from it.

    Attributes
    ----------
    centroid_mm : (float, float)
        The mean of the points, which lies on the line.
    direction : (float, float)
        Along the line, of length 1, from the first point towards the last.
    rms_mm : float
        Root mean square distance across the line.
    worst_mm : float
        Largest distance across the line.
    worst_row : int
        The row of the largest distance.
    """

    centroid_mm: tuple[float, float]
    direction: tuple[float, float]
    rms_mm: float
    worst_mm: float
    worst_row: int


def fit_line(points_mm: Floats) -> LineFit:
    """Fit a straight line to points by the least squares of the distances across it.

    Parameters
    ----------
    points_mm : array, shape (n, 2)
        At least two points that do not coincide, in millimetres.

    Raises
    ------
    ValueError
        If there are fewer than two different points, or a number is not finite.

    References
    ----------
    K. Pearson, Philosophical Magazine 2, 1901, 559-572: the line of closest fit.

    Examples
    --------
    >>> fit_line(np.array([[0.0, 0.0], [0.0, 500.0], [0.3, 250.0]])).worst_row
    2
    """
    if points_mm.ndim != 2 or points_mm.shape[1] != 2 or not np.isfinite(points_mm).all():
        raise ValueError(f"a line needs finite points of shape (n, 2), got shape {points_mm.shape}")
    if len(points_mm) < 2 or (points_mm == points_mm[0]).all():
        raise ValueError("a line needs two different points")
    centroid = points_mm.mean(axis=0)
    centred = points_mm - centroid
    _, _, axes = np.linalg.svd(centred, full_matrices=False)
    direction = axes[0] if axes[0] @ (points_mm[-1] - points_mm[0]) >= 0 else -axes[0]
    across = np.abs(centred @ np.array([-direction[1], direction[0]]))
    return LineFit(
        centroid_mm=(float(centroid[0]), float(centroid[1])),
        direction=(float(direction[0]), float(direction[1])),
        rms_mm=float(np.sqrt((across**2).mean())),
        worst_mm=float(across.max()),
        worst_row=int(across.argmax()),
    )
