"""Connected regions of a map: cells that hang together along their sides.

Cells that touch at a corner only are not joined: no wood holds at a point.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.bands import bands
from flipreg.cut.grid import Grid

__all__ = ["Region", "cells_of", "label", "named", "regions_of", "widened"]

Bools = NDArray[np.bool_]
Labels = NDArray[np.int32]


@dataclass(frozen=True, slots=True)
class Region:
    """One connected region, positions in the frame of the grid.

    Attributes
    ----------
    number : int
        Its label.
    cells : int
        How many cells it has.
    area_mm2 : float
        Their area.
    centre_mm : (x, y)
        Mean of their centres; it may lie outside a bent region.
    box_mm : (xmin, ymin, xmax, ymax)
        Extent of its cells, their sides included.
    least_mm, at_mm : float, (x, y)
        The smallest value in it and the centre of the cell that has it.
    most_mm, most_at_mm : float, (x, y)
        The largest.
    volume_mm3 : float
        Sum of value times area.
    touches_edge : bool
        Whether it reaches the edge of the grid.
    """

    number: int
    cells: int
    area_mm2: float
    centre_mm: tuple[float, float]
    box_mm: tuple[float, float, float, float]
    least_mm: float
    at_mm: tuple[float, float]
    most_mm: float
    most_at_mm: tuple[float, float]
    volume_mm3: float
    touches_edge: bool


def label(cells: Bools, *, joined_x: Bools | None = None, joined_y: Bools | None = None) -> tuple[Labels, int]:
    """Find the connected regions and give them numbers.

    Parameters
    ----------
    cells : bool array, shape (rows, columns)
        The cells that count.
    joined_x : bool array, shape (rows, columns - 1), optional
        Whether cells side by side in a row hang together, if both count; all do by default.
    joined_y : bool array, shape (rows - 1, columns), optional
        The same for cells side by side in a column.

    Returns
    -------
    labels : int32 array, shape (rows, columns)
        0 for cells that do not count, else the number of the region from 1, in order of first cells.
    count : int
        How many regions there are.
    """
    begins = cells.copy()
    goes_on = cells[:, :-1] if joined_x is None else cells[:, :-1] & joined_x
    begins[:, 1:] &= ~goes_on
    # Runs of cells within rows are nodes; every contact between runs of neighbouring rows is an edge.
    first_cells = np.flatnonzero(begins)
    contact = cells[:-1] & cells[1:]
    if joined_y is not None:
        contact &= joined_y
    # Where both runs go on, the contact of the cells before tells the same.
    is_new = ~contact[:, :-1] | begins[:-1, 1:] | begins[1:, 1:]
    contact[:, 1:] &= is_new
    at = np.flatnonzero(contact)
    upper, lower = (
        (np.searchsorted(first_cells, cell, side="right") - 1).astype(np.int32) for cell in (at, at + cells.shape[1])
    )
    if len(upper):
        is_other = np.concatenate([[True], (upper[1:] != upper[:-1]) | (lower[1:] != lower[:-1])])
        upper, lower = upper[is_other], lower[is_other]
    root = _components(len(first_cells), upper, lower)
    first, number = np.unique(root, return_inverse=True)
    # Each run's number up to the next run, then nothing where no cell is.
    numbers = np.concatenate([[0], number + 1]).astype(np.int32)
    labels = np.repeat(numbers, np.diff(first_cells, prepend=0, append=cells.size)).reshape(cells.shape)
    labels *= cells
    return labels, len(first)


def cells_of(labels: Labels, count: int) -> NDArray[np.intp]:
    """Return how many cells each number up to `count` has, shape (count + 1,)."""
    cells = np.zeros(count + 1, np.intp)
    for band in bands(labels.shape):
        cells += np.bincount(labels[band].ravel(), minlength=count + 1)
    return cells


def named(labels: Labels, count: int, numbers: Labels | NDArray[np.intp] | Sequence[int]) -> Bools:
    """Return the cells that have one of some numbers up to `count`."""
    is_named = np.zeros(count + 1, np.bool_)
    is_named[np.asarray(numbers, np.intp)] = True
    return is_named[labels]


def widened(cells: Bools, count: int) -> Bools:
    """Return cells with all that are no more than some cells away from them along rows and columns."""
    out = cells.copy()
    rows, columns = (np.flatnonzero(cells.any(axis=axis)) for axis in (1, 0))
    if not len(rows):
        return out
    around = (slice(max(0, int(at[0]) - count), int(at[-1]) + count + 1) for at in (rows, columns))
    part = out[tuple(around)]
    for lines in (part, part.T):
        reach = 0
        while reach < count:
            # Copies side by side leave no gap, also at the rim, where one of the three is cut off.
            shift = min(reach + 1, count - reach)
            # As they lie in memory: a copy that turns columns into rows takes several times as long.
            before = lines.copy(order="K")
            lines[shift:] |= before[:-shift]
            lines[:-shift] |= before[shift:]
            reach += shift
    return out


def regions_of(labels: Labels, count: int, values_mm: NDArray[np.floating], grid: Grid) -> tuple[Region, ...]:
    """Describe labelled regions.

    Parameters
    ----------
    labels : int32 array, shape `grid.shape`
        From `label`.
    count : int
        How many regions there are.
    values_mm : array, shape `grid.shape`
        What is asked about the regions: heights or thicknesses.
    grid : Grid
        Where the cells lie.

    Returns
    -------
    tuple of Region
        In the order of their numbers.
    """
    rows, columns = np.nonzero(labels)
    number = labels[rows, columns].astype(np.intp)
    value = values_mm[rows, columns].astype(np.float64)
    # By region, then by value: the first of a region has its least, the last its most.
    order = np.lexsort((value, number))
    rows, columns, number, value = rows[order], columns[order], number[order], value[order]
    ends = np.searchsorted(number, np.arange(1, count + 2))
    xy = grid.centres_mm(rows, columns)
    out = []
    for region in range(count):
        members = slice(int(ends[region]), int(ends[region + 1]))
        places, mine = xy[members], value[members]
        row, column = rows[members], columns[members]
        half = grid.step_mm / 2
        low, high = places.min(axis=0) - half, places.max(axis=0) + half
        edges = (row.min() == 0, column.min() == 0, row.max() == grid.shape[0] - 1, column.max() == grid.shape[1] - 1)
        out.append(
            Region(
                number=region + 1,
                cells=len(mine),
                area_mm2=len(mine) * grid.cell_mm2,
                centre_mm=_pair(places.mean(axis=0)),
                box_mm=(*_pair(low), *_pair(high)),
                least_mm=float(mine[0]),
                at_mm=_pair(places[0]),
                most_mm=float(mine[-1]),
                most_at_mm=_pair(places[-1]),
                volume_mm3=float(mine.sum()) * grid.cell_mm2,
                touches_edge=any(map(bool, edges)),
            )
        )
    return tuple(out)


def _components(count: int, one: NDArray[np.int32], other: NDArray[np.int32]) -> NDArray[np.int32]:
    """Return, for each node, the smallest node it is connected with.

    Every round hangs the larger root of each edge under the smaller one, then shortens all ways to the root: a
    union-find that works on whole arrays. The number of rounds grows with the logarithm of the longest way in
    practice.
    """
    root = np.arange(count, dtype=np.int32)
    while len(one):
        a, b = root[one], root[other]
        apart = a != b
        one, other, a, b = one[apart], other[apart], a[apart], b[apart]
        np.minimum.at(root, np.maximum(a, b), np.minimum(a, b))
        while True:
            shorter = root[root]
            if np.array_equal(shorter, root):
                break
            root = shorter
    return root


def _pair(xy: NDArray[np.float64]) -> tuple[float, float]:
    return float(xy[0]), float(xy[1])
