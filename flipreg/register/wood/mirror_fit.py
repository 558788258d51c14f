"""The fit of a mirror line to a surface: robust least squares near a line that is nearly right."""

import numpy as np
from numpy.typing import NDArray

from flipreg.register.wood.mirror_line import MirrorLine
from flipreg.register.wood.symmetry import FaceShape

__all__ = ["fitted"]

Floats = NDArray[np.float64]

_MOST_STEPS = 25
"""Steps of the least squares; it ends earlier, mostly (chosen)."""
_FEWEST_POINTS = 100
"""With fewer mirror images than this no line is fitted (chosen)."""
_STILL_MM, _STILL_RAD = 1e-5, 1e-7
"""A smaller step ends the fit (chosen): far below what a centre line is known to."""
_BLOCKS = 10
"""Parts of the face that are left out one at a time (chosen): enough for a spread, each still large."""


def fitted(shape: FaceShape, rows: NDArray[np.intp], line: MirrorLine) -> tuple[MirrorLine, Floats] | None:
    """Return the line that fits best, and the covariance of its offset and angle.

    Parameters
    ----------
    shape : FaceShape
        The surface.
    rows : intp array, shape (n,)
        Which of its points are held against their mirror images.
    line : MirrorLine
        Where to start.

    Returns
    -------
    MirrorLine and array of shape (2, 2), or None
        In mm², mm and radians², for the pivot of the line; None where too little has an image, or no line fits better
        than another one.
    """
    points, z = shape.xy_mm[rows], shape.z_mm[rows]
    terms, triangle = None, None
    for _ in range(_MOST_STEPS):
        height, gradient, triangle = shape.surface.beside(line.mirrored(points), triangle)
        known = np.isfinite(height)
        if int(known.sum()) < _FEWEST_POINTS:
            return None
        off = points[known] - np.array(line.pivot)
        across, along = off @ line.normal - line.offset, off @ line.along
        g_normal, g_along = gradient[known] @ line.normal, gradient[known] @ line.along
        residual = z[known] - height[known]
        columns = np.stack([2.0 * g_normal, -2.0 * (along * g_normal + across * g_along)], axis=1)
        scale = max(1.4826 * float(np.median(np.abs(residual))), 1e-4)
        # Tukey's biweight: what a lead-in or a tab leaves must not pull at all.
        weight = np.maximum(1.0 - (residual / (4.685 * scale)) ** 2, 0.0) ** 2
        normal = (columns * weight[:, np.newaxis]).T @ columns
        if not np.isfinite(np.linalg.cond(normal)) or np.linalg.cond(normal) > 1e12:
            return None
        step = np.linalg.solve(normal, (columns * weight[:, np.newaxis]).T @ residual)
        line = line.moved(float(step[0]), float(step[1]))
        terms = (columns, weight, residual, across, along)
        if abs(step[0]) < _STILL_MM and abs(step[1]) < _STILL_RAD:
            break
    assert terms is not None
    return line, _covariance(*terms)


def _covariance(columns: Floats, weight: Floats, residual: Floats, across: Floats, along: Floats) -> Floats:
    """Return the covariance of offset and angle, shape (2, 2).

    Neighbouring residuals are alike, so that their number says little. Leaving out one block of the face at a time
    shows what they are worth (the jackknife): blocks along the line for what changes along it, and blocks by the
    distance from the line for what a single pass does all along it. Both are added to what the fit itself leaves.

    References
    ----------
    B. Efron, The Jackknife, the Bootstrap and Other Resampling Plans, SIAM 1982, chapter 3.
    """
    normal = (columns * weight[:, np.newaxis]).T @ columns
    variance = float(weight @ residual**2 / max(weight.sum() - 2.0, 1.0))
    # Each pair of a point and its image counts twice.
    total = 2.0 * variance * np.linalg.inv(normal)
    for position in (along, np.abs(across)):
        block = np.searchsorted(np.quantile(position, np.arange(1, _BLOCKS) / _BLOCKS), position)
        lefts = []
        for number in range(_BLOCKS):
            kept = weight * (block != number)
            part = (columns * kept[:, np.newaxis]).T @ columns
            lefts.append(np.linalg.lstsq(part, (columns * kept[:, np.newaxis]).T @ residual, rcond=None)[0])
        off = np.array(lefts) - np.mean(lefts, axis=0)
        total += (_BLOCKS - 1) / _BLOCKS * off.T @ off
    return np.asarray(total)
