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
    """Return the lowest and the highest X and Y of what is known to come below the face, or may, as all arcs.

    None where nothing does. No arc leaves the circle it is of.
    """
    low = np.flatnonzero(is_known(path) & ((np.minimum(path.start[:, 2], path.end[:, 2]) < 0.0) | path.is_arc))
    if not low.size:
        return None
    ends = np.concatenate([path.start[low, :2], path.end[low, :2]])
    least, most = ends.min(axis=0), ends.max(axis=0)
    arcs = low[path.is_arc[low]]
    if arcs.size:
        around = np.linalg.norm(path.start[arcs] - path.centre[arcs], axis=1)[:, np.newaxis]
        least = np.minimum(least, (path.centre[arcs, :2] - around).min(axis=0))
        most = np.maximum(most, (path.centre[arcs, :2] + around).max(axis=0))
    return least, most


def near_box(path: Path, low: tuple[float, float], high: tuple[float, float], reach_mm: float) -> Path:
    """Return the motions that a cutter may bring near a box."""
    around = np.where(path.is_arc, 2.0 * np.hypot(*(path.start - path.centre)[:, :2].T), 0.0) + reach_mm
    least = np.minimum(path.start, path.end)[:, :2] - around[:, np.newaxis]
    most = np.maximum(path.start, path.end)[:, :2] + around[:, np.newaxis]
    rows = np.logical_and(least <= high, most >= low)
    return path.take(rows[:, 0] & rows[:, 1])
