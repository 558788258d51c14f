"""Points near one another: pairs of two sets, and those of one set that share a place."""

import numpy as np
from numpy.typing import NDArray

__all__ = ["clusters", "expanded", "near_pairs"]

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]


def near_pairs(ours_mm: Floats, theirs_mm: Floats, reach_mm: float) -> tuple[Rows, Rows, Floats]:
    """Return all pairs that are no further apart than `reach_mm`.

    Points are sorted by the cell of a grid, so that the time grows with the points and the pairs found, not with the
    product of both sets.

    Parameters
    ----------
    ours_mm, theirs_mm : array, shape (n, 2) and (m, 2)
        Positions in millimetres in one frame.
    reach_mm : float
        Over 0.

    Returns
    -------
    ours, theirs : int arrays, shape (k,)
        Rows of the points of each pair.
    distance_mm : array, shape (k,)
        How far apart they are.
    """
    if len(ours_mm) == 0 or len(theirs_mm) == 0:
        none = np.empty(0, np.intp)
        return none, none, np.empty(0)
    low = np.minimum(ours_mm.min(axis=0), theirs_mm.min(axis=0)) - 2 * reach_mm
    ours = np.floor((ours_mm - low) / reach_mm).astype(np.int64)
    theirs = np.floor((theirs_mm - low) / reach_mm).astype(np.int64)
    width = int(max(ours[:, 1].max(), theirs[:, 1].max())) + 2
    key = ours[:, 0] * width + ours[:, 1]
    order = np.argsort(key, kind="stable")
    key = key[order]
    found: list[tuple[Rows, Rows]] = []
    for column in (-1, 0, 1):
        # The three cells of a column are neighbours in the sorted keys.
        middle = (theirs[:, 0] + column) * width + theirs[:, 1]
        first = np.searchsorted(key, middle - 1, side="left")
        last = np.searchsorted(key, middle + 1, side="right")
        their_row, at = expanded(first, last)
        found.append((order[at], their_row))
    our_row = np.concatenate([rows for rows, _ in found])
    their_row = np.concatenate([rows for _, rows in found])
    distance = np.hypot(*(ours_mm[our_row] - theirs_mm[their_row]).T)
    near = distance <= reach_mm
    return our_row[near], their_row[near], distance[near]


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


def clusters(points: Floats, radius_mm: float) -> NDArray[np.int64]:
    """Return the number of the place of each point; points share one if they share a grid cell.

    Two grids, half a cell apart, keep a place on the edge of one cell together.
    """
    if len(points) == 0:
        return np.empty(0, np.int64)
    cell = 4 * radius_mm
    names: list[NDArray[np.int64]] = []
    for offset in (0.0, 0.5):
        _, name = np.unique(np.floor(points / cell + offset), axis=0, return_inverse=True)
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
