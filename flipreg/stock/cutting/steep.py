"""Which feeds go down too steeply for a cutter that does not cut at its centre.

A straight feed or a turn of a helix is as steep as its drop over its way in XY. But a helix or a way to and fro that is
narrower than half the cutter never gets the middle of the cutter off the wood below it, however gentle its slope: a
descent that stays within so little is as steep as its whole drop over its extent.
"""

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path

__all__ = ["DEFAULT_RAMP_DEG", "steep_descents"]

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]

DEFAULT_RAMP_DEG = 15.0
"""Steepest descent of a cutter that cannot plunge where its own is not told, in degrees; common practice, no source:
makers name 2 to 10 for cutters without teeth at the centre."""

_NARROW = 0.5
"""A descent narrower than this part of the cutter's diameter does not clear its middle (chosen)."""
_UP = 2
"""Normal of arcs in the XY plane."""
_FALLS_MM = 1e-6
"""A motion that falls by less is level; millimetres (chosen)."""


def steep_descents(path: Path, *, diameter_mm: float, ramp_deg: float) -> Bools:
    """Return the feeds that go down more steeply than an angle, shape (n,).

    Parameters
    ----------
    path : Path
        Motions of one tool, in order.
    diameter_mm : float
        Of the tool.
    ramp_deg : float
        The angle from the level, in degrees.
    """
    drop = path.start[:, 2] - path.end[:, 2]
    falls = path.is_cut & (drop > _FALLS_MM)
    rows = np.flatnonzero(falls)
    out = np.zeros(len(path), np.bool_)
    if not rows.size:
        return out
    slope = np.tan(np.radians(min(ramp_deg, 89.999)))
    some = path.take(rows)
    fall, low, high = drop[rows], *_extents(some)
    out[rows] = fall > slope * _way(some)
    # Descents: falling motions one after the other.
    begins = np.flatnonzero(np.concatenate([[True], np.diff(rows) > 1]))
    whole = np.add.reduceat(fall, begins)
    size = (np.maximum.reduceat(high, begins) - np.minimum.reduceat(low, begins)).max(axis=1)
    narrow = (size < _NARROW * diameter_mm) & (whole > slope * size)
    out[rows] |= np.repeat(narrow, np.diff(np.append(begins, len(rows))))
    return out


def _way(path: Path) -> Floats:
    """Return the way of each motion seen from above, in millimetres; along arcs of other planes, between their ends."""
    way = np.hypot(*(path.end[:, :2] - path.start[:, :2]).T)
    flat = np.flatnonzero(path.is_arc & (path.normal == _UP))
    radius = np.hypot(*(path.start[flat, :2] - path.centre[flat, :2]).T)
    way[flat] = radius * np.radians(np.abs(path.sweep_deg[flat]))
    return np.asarray(way, dtype=np.float64)


def _extents(path: Path) -> tuple[Floats, Floats]:
    """Return the lowest and highest X and Y of each motion, shape (n, 2) each; NaN where an end is not known."""
    low, high = (side[:, :2] for side in path.bounds_mm())
    low[np.isnan(path.start[:, :2]) | np.isnan(path.end[:, :2])] = np.nan
    return low, high
