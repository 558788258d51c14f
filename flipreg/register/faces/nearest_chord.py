"""The nearest chord of a ring, for many points: most lie next to the ring, for outlines of one part nearly coincide."""

from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import STRtree

from flipreg.register.faces.near import Grid

__all__ = ["NearestChord"]

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]

_PIECES = 1000
"""A ring is cut into pieces no longer than so little of its length (chosen; measured: fewer and more are slower)."""
_REACH = 1.5
"""Points within so many pieces' length of the ring are looked up in a grid (chosen), others in a tree."""


class NearestChord:
    """The chords of a ring, to be looked up again and again.

    Parameters
    ----------
    ring_mm : array, shape (n + 1, 2)
        Corners; the last one repeats the first.
    """

    def __init__(self, ring_mm: Floats) -> None:
        self._ring_mm = ring_mm
        self._step = np.diff(ring_mm, axis=0)
        length = np.hypot(*self._step.T)
        self._square = np.maximum(length**2, 1e-24)
        piece = max(float(length.sum()) / _PIECES, 1e-9)
        count = np.maximum(np.ceil(length / piece).astype(np.intp), 1)
        self._chord = np.repeat(np.arange(len(length)), count)
        number = np.arange(len(self._chord)) - np.repeat(np.cumsum(count) - count, count)
        share = ((number + 0.5) / count[self._chord])[:, np.newaxis]
        self._grid = Grid(ring_mm[self._chord] + share * self._step[self._chord], _REACH * piece)
        # A piece whose middle is out of reach is no nearer than this.
        self._sure_mm = (_REACH - 0.5) * piece

    def of(self, points_mm: Floats) -> Rows:
        """Return the number of the chord nearest to each point, shape (n,)."""
        piece, row, _ = self._grid.pairs(points_mm)
        chord = self._chord[piece]
        gap = points_mm[row] - self._ring_mm[chord]
        share = np.clip((gap * self._step[chord]).sum(axis=1) / self._square[chord], 0.0, 1.0)
        away = np.hypot(*(gap - share[:, np.newaxis] * self._step[chord]).T)
        least = np.full(len(points_mm), np.inf)
        np.minimum.at(least, row, away)
        found = np.zeros(len(points_mm), np.intp)
        is_least = away == least[row]
        found[row[is_least]] = chord[is_least]
        far = np.flatnonzero(least > self._sure_mm)
        if len(far):
            found[far] = self._tree.query_nearest(shapely.points(points_mm[far]), all_matches=False)[1]
        return found

    @cached_property
    def _tree(self) -> STRtree:
        chords = np.stack([self._ring_mm[:-1], self._ring_mm[1:]], axis=1)
        return STRtree(np.asarray(shapely.linestrings(chords)).tolist())
