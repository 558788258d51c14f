"""Cells of a map that hang together along their sides, as runs within rows with the number of their region.

Cells that touch at a corner only are not joined: no wood holds at a point. A map has millions of cells and thousands of
runs, so that what can be asked of runs is not asked of cells.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.bands import bands

__all__ = ["Labelled", "Look", "label", "labelled"]

Bools = NDArray[np.bool_]
Ints = NDArray[np.intp]
Labels = NDArray[np.int32]
Value = TypeVar("Value", bound=np.generic)

Look = Callable[[slice], tuple[Bools, Bools | None, Bools | None]]
"""What is asked of a band of rows: its cells that count; which neighbours in a row hang together if both count, shape
(rows, columns - 1), None for all; and which cells do not hang together with those in the row after although both count,
the row after the band included, None for none."""


@dataclass(frozen=True, slots=True, eq=False)
class Labelled:
    """The connected regions of a map.

    Attributes
    ----------
    shape : two ints
        Rows and columns of the map.
    first, stop : int array, shape (runs,)
        The first cell of each run of cells within a row, and the first after it, counted row after row.
    number : int32 array, shape (runs,)
        The number of its region from 1, in order of first cells; 0 where it is of none.
    count : int
        The largest number.
    """

    shape: tuple[int, int]
    first: Ints
    stop: Ints
    number: Labels
    count: int

    @property
    def cells(self) -> Ints:
        """How many cells each region has, shape (count + 1,); of 0, how many are of none."""
        cells = np.bincount(self.number, weights=self.stop - self.first, minlength=self.count + 1).astype(np.intp)
        cells[0] = self.shape[0] * self.shape[1] - int(cells[1:].sum())
        return cells

    @property
    def labels(self) -> Labels:
        """The number of every cell's region, 0 where it is of none; a new map."""
        return self._painted(self.number)

    def named(self, numbers: NDArray[np.integer] | Sequence[int]) -> Bools:
        """Return the cells of some regions."""
        return self._painted(self._has(numbers)[self.number])

    def renumbered(self, numbers: NDArray[np.integer]) -> "Labelled":
        """Return the same runs with the number that stands, in shape (count + 1,), at each one's own."""
        number = numbers[self.number].astype(np.int32)
        return Labelled(self.shape, self.first, self.stop, number, int(number.max(initial=0)))

    def at(self, cells: Ints) -> Labels:
        """Return the numbers of the regions that cells, counted row after row, are of."""
        if not len(self.first):
            return np.zeros(np.shape(cells), np.int32)
        run = np.searchsorted(self.first, cells, side="right") - 1
        return np.where((run >= 0) & (cells < self.stop[run]), self.number[run], 0).astype(np.int32)

    def under(self, cells: Bools) -> Labels:
        """Return the numbers of the regions that have one of some cells, in order, 0 where one of these is of none."""
        return np.unique(self.at(np.flatnonzero(cells)))

    def sides(self) -> tuple[Labels, Labels, Labels, Labels]:
        """Return the numbers of the cells in the first and in the last column, in the first and in the last row."""
        rows, columns = self.shape
        begins, along = np.arange(rows) * columns, np.arange(columns)
        return self.at(begins), self.at(begins + columns - 1), self.at(along), self.at(begins[-1] + along)

    def where(self) -> tuple[Ints, Labels]:
        """Return the cells of all regions, counted row after row, and their numbers."""
        runs = self.number > 0
        first, length = self.first[runs], (self.stop - self.first)[runs]
        ahead = np.cumsum(length) - length
        cells = np.arange(int(length.sum())) + np.repeat(first - ahead, length)
        return cells, np.repeat(self.number[runs], length)

    def _has(self, numbers: NDArray[np.integer] | Sequence[int]) -> Bools:
        has = np.zeros(self.count + 1, np.bool_)
        has[np.asarray(numbers, np.intp)] = True
        has[0] = False
        return has

    def _painted(self, values: NDArray[Value]) -> NDArray[Value]:
        """Return a map with a value for each run, and 0 between them."""
        # Gap, run, gap, run and so on.
        ends = np.empty(2 * len(self.first) + 2, np.intp)
        ends[0], ends[1:-1:2], ends[2:-1:2], ends[-1] = 0, self.first, self.stop, self.shape[0] * self.shape[1]
        each = np.zeros(len(ends) - 1, values.dtype)
        each[1::2] = values
        return np.repeat(each, np.diff(ends)).reshape(self.shape)


def label(cells: Bools) -> Labelled:
    """Find the connected regions of some cells, shape (rows, columns)."""
    return labelled(cells.shape, lambda rows: (cells[rows], None, None))


def labelled(shape: tuple[int, ...], look: Look) -> Labelled:
    """Find the connected regions of a map that is looked at in bands of rows.

    Parameters
    ----------
    shape : two ints
        Rows and columns of the map.
    look : callable
        Is asked for one band after the other.
    """
    rows, columns = shape
    begun, ended, parted = [], [], []
    for band in bands(shape):
        cells, joined, apart = look(band)
        goes_on = cells[:, :-1] & cells[:, 1:]
        if joined is not None:
            goes_on &= joined
        begins, ends = cells.copy(), cells.copy()
        begins[:, 1:] &= ~goes_on
        ends[:, :-1] &= ~goes_on
        begun.append(np.flatnonzero(begins) + band.start * columns)
        ended.append(np.flatnonzero(ends) + band.start * columns + 1)
        if apart is not None:
            parted.append(np.flatnonzero(apart) + band.start * columns)
    first, stop = np.concatenate(begun), np.concatenate(ended)
    root = _components(len(first), *_contacts(first, stop, columns, np.concatenate(parted) if parted else None))
    # The root is the smallest of its runs, so that numbers go in order of first cells.
    is_root = root == np.arange(len(root))
    number = np.cumsum(is_root).astype(np.int32)[root]
    return Labelled((rows, columns), first, stop, number, int(is_root.sum()))


def _contacts(first: Ints, stop: Ints, columns: int, parted: Ints | None) -> tuple[Labels, Labels]:
    """Return pairs of runs in rows one after the other that hang together, the upper one and the lower one.

    `parted` are the cells that do not hang together with the one in the row after.
    """
    begin = np.searchsorted(stop, first + columns, side="right")
    many = np.searchsorted(first, stop + columns, side="left") - begin
    upper = np.repeat(np.arange(len(first), dtype=np.int32), many)
    ahead = np.cumsum(many) - many
    lower = (np.arange(len(upper)) + np.repeat(begin - ahead, many)).astype(np.int32)
    if parted is None or not len(parted):
        return upper, lower
    low = np.maximum(first[upper], first[lower] - columns)
    high = np.minimum(stop[upper], stop[lower] - columns)
    held = np.searchsorted(parted, high) - np.searchsorted(parted, low) < high - low
    return upper[held], lower[held]


def _components(count: int, one: Labels, other: Labels) -> Labels:
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
