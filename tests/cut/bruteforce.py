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

_THIRDS = 56


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

    The height along the motion is convex wherever the cutter is over the point, so thirds are cut off the stretch in
    which it is until nothing is left of it.
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
    for _ in range(_THIRDS):
        third = (high - low) / 3.0
        one, two = low + third, high - third
        is_left = height(one) < height(two)
        high = np.where(is_left, two, high)
        low = np.where(is_left, low, one)
    out[met] = np.minimum(best, height(0.5 * (low + high)))
    return out
