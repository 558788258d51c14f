"""What a path leaves, from the definition: the cutter is put at points along the path and looked at from each cell.

Between two such points the tip is no farther from one of them than half their distance. So the true height lies between
what the cutter leaves at the points, and what it leaves there when it is that much wider and lower. For arcs the way
itself may be off by the chords' tolerance, which widens both sides.
"""

import math

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.tool import Cutter
from flipreg.path import Kind, Path

__all__ = ["bounds"]

Floats = NDArray[np.float64]

_APART_MM = 0.01
_AXES = {2: (0, 1), 1: (2, 0), 0: (1, 2)}
"""First and second axis of the planes, by their normal; NISTIR 6556 section 4.3.6.1."""


def bounds(path: Path, cutter: Cutter, grid: Grid, top_mm: float | Floats, *, off_mm: float) -> tuple[Floats, Floats]:
    """Return two maps, shape `grid.shape`, between which the heights lie; the path may be `off_mm` off the way."""
    x, y = (axis.ravel() for axis in np.meshgrid(grid.xs_mm, grid.ys_mm))
    low = np.broadcast_to(np.asarray(top_mm, dtype=np.float64), grid.shape).ravel().copy()
    high = low.copy()
    for row in range(len(path)):
        ends = np.concatenate([path.start[row], path.end[row]])
        if not np.isfinite(ends).all() or path.compensation[row] != 0:
            continue
        points, half = _points(path, row)
        for tip in np.array_split(points, len(points) // 256 + 1):
            away = np.hypot(x[:, np.newaxis] - tip[:, 0], y[:, np.newaxis] - tip[:, 1])
            wide = _profile(cutter, np.maximum(away - half - off_mm, 0.0))
            np.minimum(low, (tip[:, 2] + wide).min(axis=1) - half - off_mm, out=low)
            np.minimum(high, (tip[:, 2] + _profile(cutter, away + off_mm)).min(axis=1) + off_mm, out=high)
    return low.reshape(grid.shape), high.reshape(grid.shape)


def _points(path: Path, row: int) -> tuple[Floats, float]:
    """Return points along a motion, and half of how far apart they are at most."""
    start, end = path.start[row], path.end[row]
    if path.kind[row] != Kind.ARC:
        length = float(np.linalg.norm(end - start))
        share = np.linspace(0.0, 1.0, max(2, math.ceil(length / _APART_MM) + 1))[:, np.newaxis]
        return start + share * (end - start), length / (len(share) - 1) / 2
    normal = int(path.normal[row])
    first, second = _AXES[normal]
    from_centre = start - path.centre[row]
    turn = math.radians(path.sweep_deg[row])
    radius = math.hypot(from_centre[first], from_centre[second])
    length = math.hypot(radius * turn, end[normal] - start[normal])
    share = np.linspace(0.0, 1.0, max(2, math.ceil(length / _APART_MM) + 1))
    cos, sin = np.cos(share * turn), np.sin(share * turn)
    points = np.empty((len(share), 3))
    points[:, first] = path.centre[row, first] + from_centre[first] * cos - from_centre[second] * sin
    points[:, second] = path.centre[row, second] + from_centre[first] * sin + from_centre[second] * cos
    points[:, normal] = start[normal] + share * (end[normal] - start[normal])
    return points, length / (len(share) - 1) / 2


def _profile(cutter: Cutter, r: Floats) -> Floats:
    beyond = np.maximum(np.minimum(r, cutter.radius_mm) - cutter.tip_radius_mm, 0.0)
    corner = cutter.corner_radius_mm
    rise = corner - np.sqrt(np.maximum(corner**2 - beyond**2, 0.0)) + cutter.slope * beyond
    return np.where(r > cutter.radius_mm, np.inf, rise)
