"""Points near one another: pairs of two sets, and those of one set that share a place; and the middles of groups."""

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

__all__ = ["SortedPoints", "apart", "clusters", "expanded", "middles", "near_pairs", "thinned"]

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]
Scalar = TypeVar("Scalar", bound=np.generic)

_TOGETHER = 4096
"""Points whose neighbours are looked up together (chosen): some tens of megabytes where they lie densely."""


class SortedPoints:
    """Points sorted by the cell that they lie in, to be looked up again and again."""

    __slots__ = ("_key", "_low", "_order", "_width", "points_mm", "reach_mm")

    def __init__(self, points_mm: Floats, reach_mm: float) -> None:
        self.points_mm, self.reach_mm = points_mm, reach_mm
        self._low = points_mm.min(axis=0, initial=np.inf) - 2 * reach_mm
        cell = np.floor((points_mm - self._low) / reach_mm).astype(np.int64)
        self._width = int(cell[:, 1].max(initial=0)) + 4
        key = cell[:, 0] * self._width + cell[:, 1]
        self._order = np.argsort(key, kind="stable")
        self._key = key[self._order]

    def pairs(self, theirs_mm: Floats) -> tuple[Rows, Rows, Floats]:
        """Return all pairs of a point of the grid and one of `theirs_mm` that are no further apart than its reach.

        Parameters
        ----------
        theirs_mm : array, shape (m, 2)
            Positions in millimetres, in the frame of the grid's points.

        Returns
        -------
        ours, theirs : int arrays, shape (k,)
            Rows of the points of each pair.
        distance_mm : array, shape (k,)
            How far apart they are.
        """
        theirs = np.floor((theirs_mm - self._low) / self.reach_mm) if len(self.points_mm) else np.empty((0, 2))
        # What lies beyond the grid is no neighbour of any cell, and must not get the number of one.
        rows = np.flatnonzero(((theirs >= 0) & (theirs[:, 1:] < self._width - 1)).all(axis=1))
        cell = theirs[rows].astype(np.int64)
        # The three cells of a column are neighbours in the sorted keys.
        middle = ((cell[:, 0] + np.array([[-1], [0], [1]])) * self._width + cell[:, 1]).ravel()
        first = np.searchsorted(self._key, middle - 1, side="left")
        which, at = expanded(first, np.searchsorted(self._key, middle + 1, side="right"))
        our_row, their_row = self._order[at], rows[which % max(1, len(rows))]
        distance = np.hypot(*(self.points_mm[our_row] - theirs_mm[their_row]).T)
        near = distance <= self.reach_mm
        return our_row[near], their_row[near], distance[near]

    def nearest(self, theirs_mm: Floats) -> Rows:
        """Return the row of the nearest point of the grid within its reach, shape (m,); -1 where there is none."""
        found = np.full(len(theirs_mm), -1, np.intp)
        for begin in range(0, len(theirs_mm), _TOGETHER):
            ours, theirs, distance = self.pairs(theirs_mm[begin : begin + _TOGETHER])
            least = np.full(min(_TOGETHER, len(theirs_mm) - begin), np.inf)
            np.minimum.at(least, theirs, distance)
            is_least = distance == least[theirs]
            found[begin + theirs[is_least]] = ours[is_least]
        return found


def near_pairs(ours_mm: Floats, theirs_mm: Floats, reach_mm: float) -> tuple[Rows, Rows, Floats]:
    """Return all pairs of two sets that are no further apart than `reach_mm`, as `SortedPoints.pairs` does.

    The time grows with the points and the pairs found, not with the product of both sets.
    """
    return SortedPoints(ours_mm, reach_mm).pairs(theirs_mm)


def expanded(first: Rows, last: Rows) -> tuple[Rows, Rows]:
    """Return the numbers of ranges, and every member of each.

    Parameters
    ----------
    first, last : int arrays, shape (n,)
        Range `i` has the members `first[i]` to `last[i] - 1`.

    Returns
    -------
    which, member : int arrays, shape (k,)
        Which range, and a member of it.
    """
    count = np.maximum(last - first, 0)
    which = np.repeat(np.arange(len(first)), count)
    before = np.cumsum(count) - count
    return which, np.arange(len(which)) - np.repeat(before - first, count)


def apart(points: Floats, reach_mm: float) -> list[int]:
    """Return the rows of points, shape (n, 2), without those within reach, along X and Y, of one taken before.

    All are compared with all: for some hundreds at most.
    """
    close = np.abs(points[:, np.newaxis] - points).max(axis=2, initial=0.0) <= reach_mm
    kept: list[int] = []
    for row in range(len(points)):
        if not close[row, kept].any():
            kept.append(row)
    return kept


def middles(points: Floats, group: Rows) -> tuple[Rows, Floats]:
    """Return the numbers of groups of points, ascending, and the median of each group, shape (m, 2)."""
    found = []
    for values in points.T:
        order = np.lexsort((values, group))
        begin = np.flatnonzero(np.diff(group[order], prepend=-1))
        count = np.diff(begin, append=len(group))
        found.append((values[order[begin + (count - 1) // 2]] + values[order[begin + count // 2]]) / 2.0)
    return group[order[begin]], np.stack(found, axis=1)


def thinned(points: NDArray[Scalar], most: int) -> NDArray[Scalar]:
    """Return at most about `most` of the points, evenly picked."""
    return points[:: max(1, len(points) // most)]


def clusters(points: Floats, radius_mm: float) -> NDArray[np.int64]:
    """Return the number of the place of each point; points share one if they share a grid cell.

    Two grids, half a cell apart, keep a place on the edge of one cell together.
    """
    if len(points) == 0:
        return np.empty(0, np.int64)
    cell = 4 * radius_mm
    names: list[NDArray[np.int64]] = []
    for offset in (0.0, 0.5):
        grid = np.floor(points / cell + offset).astype(np.int64)
        grid -= grid.min(axis=0)
        _, name = np.unique(grid[:, 0] * (int(grid[:, 1].max()) + 1) + grid[:, 1], return_inverse=True)
        names.append(name.ravel().astype(np.int64))
    merged = names[0].copy()
    # Two rounds of taking the least number of either cell joins what both grids hold together.
    for _ in range(2):
        for name in (names[1], names[0]):
            least = np.full(int(name.max()) + 1, np.iinfo(np.int64).max)
            np.minimum.at(least, name, merged)
            merged = least[name]
    _, numbers = np.unique(merged, return_inverse=True)
    return numbers.ravel().astype(np.int64)
