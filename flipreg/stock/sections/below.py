"""Which motions come below the face that is up, and which come near a place."""

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.surface import is_known
from flipreg.path import Path

__all__ = ["below_face", "fed_below", "near_box", "plan_box"]

Floats = NDArray[np.float64]

_UPRIGHT = 2
"""Arcs of any other normal stand upright, and may dip between their ends."""


def below_face(path: Path, top_mm: float = 0.0) -> NDArray[np.bool_]:
    """Return the motions that may come below z = 0, or another height, shape (n,).

    An upright arc counts if its whole circle does, for both its ends may lie above the face.
    """
    lowest = np.minimum(path.start[:, 2], path.end[:, 2])
    upright = np.flatnonzero(path.is_arc & (path.normal != _UPRIGHT))
    if len(upright):
        out = np.abs(path.start[upright] - path.centre[upright])
        out[np.arange(len(upright)), path.normal[upright]] = 0.0
        lowest[upright] = np.minimum(lowest[upright], path.centre[upright, 2] - np.hypot.reduce(out, axis=1))
    return np.less(lowest, top_mm)


def fed_below(path: Path) -> NDArray[np.bool_]:
    """Return the motions that are fed and may come below z = 0, shape (n,)."""
    return np.logical_and(path.is_cut, below_face(path))


def plan_box(path: Path) -> tuple[Floats, Floats] | None:
    """Return the lowest and the highest X and Y of the known motions that come below the face; None without any."""
    low, high = path.bounds_mm()
    below = is_known(path) & (low[:, 2] < 0.0)
    if not bool(below.any()):
        return None
    return low[below, :2].min(axis=0), high[below, :2].max(axis=0)


def near_box(path: Path, low: tuple[float, float], high: tuple[float, float], reach_mm: float) -> Path:
    """Return the motions that a cutter may bring near a box."""
    around = np.where(path.is_arc, 2.0 * np.hypot(*(path.start - path.centre)[:, :2].T), 0.0) + reach_mm
    least = np.minimum(path.start, path.end)[:, :2] - around[:, np.newaxis]
    most = np.maximum(path.start, path.end)[:, :2] + around[:, np.newaxis]
    rows = np.logical_and(least <= high, most >= low)
    return path.take(rows[:, 0] & rows[:, 1])
