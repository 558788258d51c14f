"""How deep a program has cut so far, place by place: the ground that the middle of the cutter meets next.

Only where the cutter's middle went is known to be cut, because a program doesn't say how wide its cutter is. The plane
is laid out in square cells; a place counts as cut if the cutter's middle went through its cell or one beside it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.chords import flatten
from flipreg.path import Path

__all__ = ["Bites", "Ground", "Samples", "sample", "strokes"]

_CELL_MM = 0.25
"""Size of a cell, so that cuts less than half a millimetre apart are at one place (chosen): no cutter is thinner."""
_MOST_CELLS = 2000
_MOST_SAMPLES = 3_000_000
"""Cells along each axis, and samples along all motions; a program that is larger or longer gets larger cells (chosen),
for memory."""
_CHORD_MM = 0.01
_SAME_MM = 1e-6

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False, slots=True)
class Samples:
    """Places along motions, near enough to each other that no cell between two of them is skipped.

    Attributes
    ----------
    points_mm : array, shape (n, 3)
        In the order of the motions, the start and the end of each among them.
    row : int array, shape (n,)
        The motion each place belongs to, ascending. Motions from, to or round an unknown place have none.
    """

    points_mm: Floats
    row: NDArray[np.intp]

    def between(self, first: int, stop: int) -> slice:
        """Return which samples belong to motions from `first` on, up to but without `stop`."""
        low, high = np.searchsorted(self.row, [first, stop]).tolist()
        return slice(low, high)


def _cell_mm(path: Path) -> float:
    points = np.concatenate((path.start[:, :2], path.end[:, :2]))
    points = points[~np.isnan(points).any(axis=1)]
    extent = float(np.ptp(points, axis=0).max()) if len(points) else 0.0
    # Arcs are taken by their chords: this is a size, not a measure.
    length = float(np.nansum(np.hypot(*(path.end - path.start)[:, :2].T)))
    return max(_CELL_MM, extent / _MOST_CELLS, length / _MOST_SAMPLES)


def sample(path: Path) -> Samples:
    """Return places along all motions of a program."""
    unknown = (np.isnan(path.start) | np.isnan(path.end)).any(axis=1)
    known = np.flatnonzero(~unknown & ~(path.is_arc & np.isnan(path.centre).any(axis=1)))
    own = path.take(known)
    if not len(own):
        return Samples(np.empty((0, 3)), np.empty(0, np.intp))
    corners, row = flatten(own.start, own.end, own.centre, own.normal, own.sweep_deg, own.is_arc, _CHORD_MM)
    here = np.concatenate((own.start[:1], corners[:-1]))
    begins = np.flatnonzero(np.r_[True, row[1:] != row[:-1]])
    here[begins] = own.start[row[begins]]
    steps = np.ceil(np.hypot(*(corners - here)[:, :2].T) / _cell_mm(path)).astype(np.intp)
    count = np.maximum(steps, 1) + 1
    segment = np.repeat(np.arange(len(row)), count)
    number = np.arange(len(segment)) - np.repeat(np.cumsum(count) - count, count)
    share = (number / (count[segment] - 1))[:, None]
    # An end is the end as given, not one that was worked out.
    points = np.where(share == 1.0, corners[segment], here[segment] + share * (corners - here)[segment])
    return Samples(points, known[row[segment]])


class Ground:
    """The ground under one program's motions.

    Parameters
    ----------
    path : Path
        All its motions; nothing is cut yet.
    top_mm : float
        Height of the wood's surface.
    """

    def __init__(self, path: Path, top_mm: float) -> None:
        points = np.concatenate((path.start[:, :2], path.end[:, :2], sample(path).points_mm[:, :2]))
        points = points[~np.isnan(points).any(axis=1)]
        self._cell_mm, self._top_mm = _cell_mm(path), top_mm
        low, high = (points.min(axis=0), points.max(axis=0)) if len(points) else (np.zeros(2), np.zeros(2))
        # Three cells around it: places outside are taken to the middle one, beside which nothing is cut.
        self._low = low - 3 * self._cell_mm
        self._size = ((high - self._low) // self._cell_mm).astype(np.intp) + 4
        self._heights = np.full(int(np.prod(self._size)), top_mm)

    def cut(self, points_mm: Floats) -> None:
        """Lower the ground to places, shape (n, 3), that the cutter went through."""
        np.minimum.at(self._heights, self._cells(points_mm), points_mm[:, 2])

    def heights(self, points_mm: Floats) -> Floats:
        """Return the ground at places, shape (n, 2) or (n, 3): the lowest of their cells and those beside them."""
        cells, width = self._cells(points_mm), int(self._size[1])
        lowest = np.full(len(cells), self._top_mm)
        for along in (-width, 0, width):
            for across in (-1, 0, 1):
                np.minimum(lowest, self._heights[cells + along + across], out=lowest)
        return lowest

    def are_near(self, place_mm: Floats, points_mm: Floats) -> bool:
        """Return whether any of some places is in the cell of one place, shape (1, 2) or (1, 3), or beside it."""
        beside = [along + across for along in (-int(self._size[1]), 0, int(self._size[1])) for across in (-1, 0, 1)]
        return bool(np.isin(self._cells(points_mm), self._cells(place_mm) + beside).any())

    def deepest(self, points_mm: Floats, depths_mm: Floats) -> Floats:
        """Return, for each cell, the largest of the depths at the places in it; 0 where there is none."""
        largest = np.zeros(len(self._heights))
        np.maximum.at(largest, self._cells(points_mm), depths_mm)
        return largest

    def at(self, cells: Floats, points_mm: Floats) -> Floats:
        """Return what a column of one number a cell has at places: in their own cells, not in those beside them."""
        return np.asarray(cells[self._cells(points_mm)])

    def _cells(self, points_mm: Floats) -> NDArray[np.intp]:
        at = (points_mm[:, :2] - self._low) // self._cell_mm
        # A place that is not known is outside, where nothing is cut.
        at = np.where(np.isnan(at), 0.0, at).astype(np.intp)
        at = np.clip(at, 1, self._size - 2)
        return np.asarray(at[:, 0] * self._size[1] + at[:, 1])


def strokes(path: Path) -> list[tuple[int, int]]:
    """Return the stretches of a path that meet one ground: the first motion, and the one after the last.

    One begins with the traverses after a cut, and where a cut is lower than all before it in its stretch: there the
    cutter comes back to what it left.
    """
    z0, z1 = path.start[:, 2].tolist(), path.end[:, 2].tolist()
    across = ((np.abs(path.end[:, :2] - path.start[:, :2]) > _SAME_MM).any(axis=1) | path.is_arc).tolist()
    cut = path.is_cut.tolist()
    begins = [0] if cut else []
    lowest, descent = np.inf, -1
    for row, is_cut in enumerate(cut):
        if not is_cut:
            if row and cut[row - 1]:
                begins.append(row)
                lowest = np.inf
            descent = -1
        elif across[row] and abs(z1[row] - z0[row]) <= _SAME_MM:
            if z1[row] < lowest - _SAME_MM:
                if lowest < np.inf:
                    begins.append(descent if descent >= 0 else row)
                lowest = z1[row]
            descent = -1
        elif z1[row] < z0[row]:
            descent = row if descent < 0 else descent
        else:
            descent = -1
    return list(zip(begins, [*begins[1:], len(cut)][: len(begins)], strict=True))


class Bites:
    """How deep a program bites at once, at each place: the largest step of its level cuts over the ground they meet.

    Parameters
    ----------
    path : Path
        All its motions.
    top_mm : float
        Height of the wood's surface.
    """

    def __init__(self, path: Path, top_mm: float) -> None:
        self._ground = Ground(path, top_mm)
        samples = sample(path)
        across = (np.abs(path.end[:, :2] - path.start[:, :2]) > _SAME_MM).any(axis=1) | path.is_arc
        flat = path.is_cut & across & (np.abs(path.end[:, 2] - path.start[:, 2]) <= _SAME_MM)
        points, depths = [np.empty((0, 3))], [np.empty(0)]
        for first, stop in strokes(path):
            inside = samples.between(first, stop)
            place, row = samples.points_mm[inside], samples.row[inside]
            cut = path.is_cut[row]
            # Motions that only plunge are measured where they are deepest.
            lowest = place[cut, 2].min(initial=np.inf)
            wanted = flat[row] if flat[first:stop].any() else cut & (place[:, 2] <= lowest)
            points.append(place[wanted])
            depths.append(self._ground.heights(place[wanted]) - place[wanted, 2])
            self._ground.cut(place[cut])
        self._largest = self._ground.deepest(np.concatenate(points), np.concatenate(depths))

    def largest_mm(self, points_mm: Floats) -> Floats:
        """Return the largest bite at places, shape (n,); 0 where nothing was ever bitten."""
        return self._ground.at(self._largest, points_mm)
