"""Whether the wood inside a contour is cut away: then the contour is the wall of a pocket, and no profile."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from flipreg.register.faces.chords import Cut
from flipreg.register.faces.loop import Loop

__all__ = ["is_cleared"]

Floats = NDArray[np.float64]

_CELLS, _LEAST_MM = 24, 4.0
"""Cells along the longer side of a contour, and the least side of a cell in millimetres (chosen): wider than most
stepovers, so that the passes of a raster go through each of them."""
_MOST_LEFT = 0.5
"""So large a share of the wood inside may be left in a pocket, round posts and islands (chosen)."""


def is_cleared(loop: Loop, cuts: Sequence[Cut], as_deep_mm: float) -> bool:
    """Return whether most cells inside a contour are cut through as deep as the contour itself is.

    Parameters
    ----------
    loop : Loop
        The contour.
    cuts : sequence of Cut
        All that its face cuts.
    as_deep_mm : float
        Cuts that stay less than this above the contour's floor are as deep.
    """
    cell = max(loop.size_mm / _CELLS, _LEAST_MM)
    # The contour's own passes go through the cells beside it.
    inside = shapely.buffer(shapely.make_valid(shapely.Polygon(loop.points_mm)), -2.0 * cell)
    low, high = loop.box_mm[:2], loop.box_mm[2:]
    columns, rows = np.maximum(np.ceil((high - low) / cell), 1).astype(int).tolist()
    x, y = (low[0] + cell * (np.arange(columns) + 0.5)), (low[1] + cell * (np.arange(rows) + 0.5))
    wanted = shapely.contains_xy(inside, *np.meshgrid(x, y))
    if not wanted.any():
        return False
    cut_through = np.zeros((rows, columns), np.bool_)
    for cut in cuts:
        column, row = np.floor((_places(cut, loop, cell, as_deep_mm) - low) / cell).astype(int).T
        within = (column >= 0) & (column < columns) & (row >= 0) & (row < rows)
        cut_through[row[within], column[within]] = True
    return bool(np.mean(cut_through[wanted]) > 1.0 - _MOST_LEFT)


def _places(cut: Cut, loop: Loop, cell_mm: float, as_deep_mm: float) -> Floats:
    """Return places along the cuts that are as deep as a contour, no further apart than half a cell, shape (n, 2)."""
    deep = cut.xyz_mm[:, 2] <= loop.floor_mm + as_deep_mm
    to = np.flatnonzero(deep[1:] & deep[:-1] & (cut.run[1:] == cut.run[:-1]) & ~cut.gap[1:]) + 1
    a, b = cut.xyz_mm[to - 1, :2], cut.xyz_mm[to, :2]
    near = (np.maximum(a, b) >= loop.box_mm[:2]).all(axis=1) & (np.minimum(a, b) <= loop.box_mm[2:]).all(axis=1)
    a, b = a[near], b[near]
    steps = np.ceil(np.hypot(*(b - a).T) / (0.5 * cell_mm)).astype(int) + 1
    which = np.repeat(np.arange(len(a)), steps)
    part = (np.arange(len(which)) - np.repeat(np.cumsum(steps) - steps, steps)) / steps[which]
    return a[which] + part[:, np.newaxis] * (b - a)[which]
