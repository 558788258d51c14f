"""Whether the wood just inside a contour is cut away: then the contour is the wall of a pocket, and no profile."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from flipreg.register.faces.chords import Cut
from flipreg.register.faces.loop import Loop

__all__ = ["is_cleared"]

Floats = NDArray[np.float64]

_MOST_LEFT = 0.1
"""So large a share of the wood along the wall of a pocket may be left, at posts and steps (chosen): rows of holes along
an edge leave more."""


def is_cleared(loop: Loop, cuts: Sequence[Cut], as_deep_mm: float, next_pass_mm: float) -> bool:
    """Return whether a face cuts along the inside of a contour, besides the contour, and neither higher nor deeper.

    A hollow inside a profile may be as deep as the profile is, but leaves a rim; a carving goes over the rim, at any
    depth.

    Parameters
    ----------
    loop : Loop
        The contour.
    cuts : sequence of Cut
        All that its face cuts.
    as_deep_mm : float
        Cuts no farther than this from the contour's floor are as deep.
    next_pass_mm : float
        Two passes of one clearing are no further apart.
    """
    # The cell of a place so far inside is not reached by the contour itself, and by each clearing.
    rings = shapely.buffer(shapely.make_valid(shapely.Polygon(loop.points_mm)), -1.5 * next_pass_mm)
    asked = shapely.get_coordinates(shapely.segmentize(rings, next_pass_mm))
    if len(asked) == 0:
        return False
    columns, rows = (np.floor(np.ptp(loop.box_mm.reshape(2, 2), axis=0) / next_pass_mm).astype(int) + 1).tolist()
    cut_through = np.zeros((columns, rows), np.bool_)
    for cut in cuts:
        cell = _cells(_places(cut, loop, next_pass_mm, as_deep_mm), loop, next_pass_mm)
        cell = cell[((cell >= 0) & (cell < (columns, rows))).all(axis=1)]
        cut_through[tuple(cell.T)] = True
    return bool(cut_through[tuple(_cells(asked, loop, next_pass_mm).T)].mean() > 1.0 - _MOST_LEFT)


def _cells(places_mm: Floats, loop: Loop, side_mm: float) -> NDArray[np.intp]:
    """Return column and row of square cells over a contour, shape (n, 2)."""
    return np.floor((places_mm - loop.box_mm[:2]) / side_mm).astype(np.intp)


def _places(cut: Cut, loop: Loop, cell_mm: float, as_deep_mm: float) -> Floats:
    """Return places along the cuts that are as deep as a contour, no further apart than half a cell, shape (n, 2)."""
    deep = np.abs(cut.xyz_mm[:, 2] - loop.floor_mm) <= as_deep_mm
    to = np.flatnonzero(deep[1:] & deep[:-1] & (cut.run[1:] == cut.run[:-1]) & ~cut.gap[1:]) + 1
    a, b = cut.xyz_mm[to - 1, :2], cut.xyz_mm[to, :2]
    near = (np.maximum(a, b) >= loop.box_mm[:2]).all(axis=1) & (np.minimum(a, b) <= loop.box_mm[2:]).all(axis=1)
    a, b = a[near], b[near]
    steps = np.ceil(np.hypot(*(b - a).T) / (0.5 * cell_mm)).astype(np.intp) + 1
    which = np.repeat(np.arange(len(a)), steps)
    part = (np.arange(len(which)) - np.repeat(np.cumsum(steps) - steps, steps)) / steps[which]
    return np.asarray(a[which] + part[:, np.newaxis] * (b - a)[which])
