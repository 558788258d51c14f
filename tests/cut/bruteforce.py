"""What a path leaves, the slow and plain way: every motion looked at from every cell, the least height searched for.

It shares nothing with the strips but the cutter's profile, which has tests of its own.
"""

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.tool import Cutter
from flipreg.path import Kind, Path

__all__ = ["brute_height", "brute_map", "polyline"]

Floats = NDArray[np.float64]

_GOLDEN = (5.0**0.5 - 1.0) / 2.0
_NARROW_MM = 1e-6
"""Where the least height is known so closely, it is known to a hundred-thousandth in the steepest vee."""


def polyline(corners_mm: Floats, *, kind: Kind = Kind.LINE, feed_mm_per_min: float = 1000.0) -> Path:
    """Return straight motions from corner to corner, shape (n + 1, 3)."""
    n = len(corners_mm) - 1
    return Path(
        kind=np.full(n, kind, np.uint8),
        start=corners_mm[:-1].copy(),
        end=corners_mm[1:].copy(),
        centre=np.full((n, 3), np.nan),
        normal=np.full(n, 2, np.uint8),
        sweep_deg=np.zeros(n),
        feed_mm_per_min=np.full(n, feed_mm_per_min),
        spindle_rpm=np.zeros(n),
        tool=np.zeros(n, np.int32),
        compensation=np.zeros(n, np.int8),
        work_offset=np.ones(n, np.uint8),
        cycle=np.zeros(n, np.uint8),
        line=np.arange(1, n + 1),
    )


def brute_map(path: Path, cutter: Cutter, grid: Grid, top_mm: float) -> Floats:
    """Return the heights that straight motions leave, shape `grid.shape`."""
    x, y = (axis.ravel() for axis in np.meshgrid(grid.xs_mm, grid.ys_mm))
    heights = np.full(x.shape, top_mm)
    for start, end in zip(path.start, path.end, strict=True):
        np.minimum(heights, brute_height(x, y, start, end, cutter), out=heights)
    return heights.reshape(grid.shape)


def brute_height(x: Floats, y: Floats, start: Floats, end: Floats, cutter: Cutter) -> Floats:
    """Return the least height of the cutter over points while it goes straight from start to end.

    The height along the motion is convex wherever the cutter is over the point, so the stretch where it is so is cut at
    the golden section until nothing is left of it.
    """
    run, rise = end[:2] - start[:2], end[2] - start[2]
    length = float(np.hypot(*run))
    out = np.full(x.shape, np.inf)
    if length == 0.0:
        tip = min(float(start[2]), float(end[2]))
        return np.asarray(tip + cutter.profile(np.hypot(x - start[0], y - start[1])), dtype=np.float64)
    along = ((x - start[0]) * run[0] + (y - start[1]) * run[1]) / length
    across = ((y - start[1]) * run[0] - (x - start[0]) * run[1]) / length
    half = np.sqrt(np.maximum(cutter.radius_mm**2 - across**2, 0.0))
    low, high = np.clip(along - half, 0.0, length), np.clip(along + half, 0.0, length)
    met = (np.abs(across) <= cutter.radius_mm) & (along - half <= length) & (along + half >= 0.0)
    along, across, low, high = along[met], across[met], low[met], high[met]

    def height(t: Floats) -> Floats:
        away = np.minimum(np.hypot(across, along - t), cutter.radius_mm)
        return np.asarray(start[2] + rise * t / length + cutter.profile(away), dtype=np.float64)

    best = np.minimum(height(low), height(high))
    one, two = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
    at_one, at_two = height(one), height(two)
    while float((high - low).max(initial=0.0)) > _NARROW_MM:
        is_left = at_one < at_two
        low, high = np.where(is_left, low, one), np.where(is_left, two, high)
        new = np.where(is_left, high - _GOLDEN * (high - low), low + _GOLDEN * (high - low))
        at_new = height(new)
        one, two = np.where(is_left, new, two), np.where(is_left, one, new)
        at_one, at_two = np.where(is_left, at_new, at_two), np.where(is_left, at_one, at_new)
    out[met] = np.minimum(best, height(0.5 * (low + high)))
    return out
