"""The nearest chord of a ring, for many points at once."""

import numpy as np
from numpy.typing import NDArray

from flipreg.register.faces.near import expanded

__all__ = ["NearestChord"]

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]

_ARCS = 12.0
"""A ring of n chords is parted in the root of so many times n stretches (chosen: more and fewer are slower)."""
_TOGETHER = 1 << 18
"""Distances between points and middles of stretches that are looked at together (chosen): a few megabytes."""
_ROOM = 1.0 + 1e-9
"""Room for rounding, as a factor."""


class NearestChord:
    """The chords of a ring, to be looked up again and again.

    The ring is parted in stretches of one length. A stretch lies all within half of that of its middle, which is a
    point of the ring; so only those can hold the nearest place whose middle is no further away than the nearest middle
    and half a stretch.

    Parameters
    ----------
    ring_mm : array, shape (n + 1, 2)
        Corners; the last one repeats the first.
    """

    def __init__(self, ring_mm: Floats) -> None:
        start, step = ring_mm[:-1], np.diff(ring_mm, axis=0)
        length = np.hypot(*step.T)
        self._chords = np.stack([*start.T, *step.T, np.maximum(length**2, 1e-24)])
        end, count = np.cumsum(length), max(1, int(np.sqrt(_ARCS * len(length))))
        cut = float(end[-1]) * np.arange(2 * count + 1) / (2 * count)
        chord = np.minimum(np.searchsorted(end, cut), len(length) - 1)
        self._first, self._last = chord[:-1:2], chord[2::2] + 1
        middle = chord[1::2]
        share = np.clip((cut[1::2] - end[middle]) / np.maximum(length[middle], 1e-12) + 1.0, 0.0, 1.0)
        self._middle = start[middle].T + share * step[middle].T
        self._reach_mm = _ROOM * float(end[-1]) / (2 * count)

    def of(self, points_mm: Floats) -> Rows:
        """Return the number of the chord nearest to each point, shape (n,)."""
        most = max(1, _TOGETHER // len(self._first))
        parts = [self._of_some(points_mm[begin : begin + most]) for begin in range(0, len(points_mm), most)]
        return np.concatenate([np.empty(0, np.intp), *parts])

    def _of_some(self, points_mm: Floats) -> Rows:
        x, y = points_mm.T
        square = np.subtract.outer(x, self._middle[0]) ** 2
        square += np.subtract.outer(y, self._middle[1]) ** 2
        limit = (_ROOM * np.sqrt(square.min(axis=1)) + self._reach_mm) ** 2
        row, stretch = np.nonzero(square <= limit[:, np.newaxis])
        which, chord = expanded(self._first[stretch], self._last[stretch])
        row = row.take(which)
        start_x, start_y, step_x, step_y, length_square = self._chords.take(chord, axis=1)
        gap_x, gap_y = x.take(row) - start_x, y.take(row) - start_y
        share = np.minimum(np.maximum((gap_x * step_x + gap_y * step_y) / length_square, 0.0), 1.0)
        away = (gap_x - share * step_x) ** 2 + (gap_y - share * step_y) ** 2
        least = np.minimum.reduceat(away, row.searchsorted(np.arange(len(points_mm))))
        found = np.empty(len(points_mm), np.intp)
        nearest = np.flatnonzero(away == least.take(row))
        found[row.take(nearest)] = chord.take(nearest)
        return found
