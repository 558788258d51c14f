"""The runs of a batch of strips: the cells of one row of the grid, or of one column, that lie in a strip.

Motions nearer to X get runs along X, the others runs along Y. Here `a` is the axis along the runs and `b` the one
across them; cells are counted from those at the piece's lower end and rests are millimetres, so that single precision
keeps its digits. What lies beyond the grid is left out.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.ceiling import Ceiling
from flipreg.cut.grid import Grid
from flipreg.cut.pieces import Pieces
from flipreg.cut.strip import Ends, Strips
from flipreg.cut.sweep import rise
from flipreg.cut.tool import Cutter

__all__ = ["Batch", "Runs"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Bools = NDArray[np.bool_]
Ints = NDArray[np.intp]

_RUNS = 32_768
"""Runs that are worked on at a time (chosen, measured)."""
_SLACK_CELLS = np.float32(1e-3)
"""By how much runs are made longer at both ends, for single precision (chosen)."""
_SURE_MM = 1e-4
"""What is lower by this than the least that a run could leave is not lowered by it (chosen): heights are off by
less."""
_NEARER = np.float32(1e-5)
"""By how much a run is taken to come nearer to its piece's line, in millimetres and as a share (chosen): near the rim
little is much."""


@dataclass(frozen=True, slots=True, eq=False)
class Runs:
    """Runs, the longest first.

    Attributes
    ----------
    a, b : float64, shape (runs,)
        The centre of the first cell from the piece's lower end, along the runs and across them, in millimetres.
    piece : int array, shape (runs,)
        The piece of each run.
    first : int array, shape (runs,)
        The first cell, counted row after row of the grid.
    after : int array, shape (runs,)
        How many more cells there are.
    da, db : float64, shape (pieces,)
        Unit directions of the pieces along the runs and across them.
    pieces : Pieces
        The pieces.
    step_mm : float
        Distance of the cells of a run.
    stride : int
        How many cells further the next one of a run is counted.
    """

    a: Floats
    b: Floats
    piece: Ints
    first: Ints
    after: NDArray[np.integer]
    da: Floats
    db: Floats
    pieces: Pieces
    step_mm: float
    stride: int


class Batch:
    """Pieces that get runs along the same axis.

    Parameters
    ----------
    grid : Grid
        Where the cells lie.
    pieces : Pieces
        The pieces.
    cutter : Cutter
        What is swept.
    is_along_x : bool
        Whether runs lie along X.
    """

    def __init__(self, grid: Grid, pieces: Pieces, cutter: Cutter, *, is_along_x: bool) -> None:
        self._step, self._pieces, self._cutter, self._is_along_x = grid.step_mm, pieces, cutter, is_along_x
        at_a, at_b, self._da, self._db = pieces.x - grid.x_mm, pieces.y - grid.y_mm, pieces.dx, pieces.dy
        self._rows, self._columns = grid.shape
        if not is_along_x:
            at_a, at_b, self._da, self._db = at_b, at_a, self._db, self._da
            self._rows, self._columns = self._columns, self._rows
        self._stride, self._row_stride = (1, grid.shape[1]) if is_along_x else (grid.shape[1], 1)
        cell_a, cell_b = np.floor(at_a / grid.step_mm), np.floor(at_b / grid.step_mm)
        self._rest_a, self._rest_b = at_a - cell_a * grid.step_mm, at_b - cell_b * grid.step_mm
        self._cell_a, self._cell_b = cell_a.astype(np.intp), cell_b.astype(np.intp)
        self._strips = Strips(pieces, self._da, self._db, cutter)
        self._backwards = self._da < 0.0

    def runs(self, ceiling: Ceiling | None, from_mm: float, to_mm: float) -> Iterator[Runs]:
        """Yield runs, some thousand at a time, and never none.

        Parameters
        ----------
        ceiling : Ceiling, optional
            Of the map; runs that would not lower it are left out.
        from_mm, to_mm : float
            Only rows between these distances from the piece are run, as far as its own rows tell them apart.
        """
        first, stop = self._row_range(min(to_mm, self._cutter.radius_mm))
        inner, outer = self._row_range(from_mm) if from_mm > 0.0 else (stop, stop)
        inner, outer = np.clip(inner, first, stop), np.clip(outer, first, stop)
        before, left_out = inner - first, outer - inner
        count = np.maximum(stop - first - left_out, 0)
        ends = np.cumsum(count)
        begin = 0
        while begin < len(count):
            done = int(ends[begin]) - int(count[begin])
            end = max(begin + 1, int(np.searchsorted(ends, done + _RUNS, side="right")))
            piece = np.repeat(np.arange(begin, end), count[begin:end])
            begin = end
            if len(piece):
                number = np.arange(done, done + len(piece)) - (ends - count)[piece]
                number += np.where(number >= before[piece], left_out[piece], 0)
                runs = self._of_rows(piece, first[piece] + number, ceiling)
                if len(runs.first):
                    yield runs

    def _row_range(self, across_mm: float) -> tuple[Ints, Ints]:
        """Return the first row of the grid that each strip meets, and the first after it."""
        low, high = self._strips.row_range(across_mm)
        slack = float(_SLACK_CELLS)
        first = np.ceil((self._rest_b + low) / self._step - slack).astype(np.intp) + self._cell_b
        last = np.floor((self._rest_b + high) / self._step + slack).astype(np.intp) + self._cell_b
        return np.clip(first, 0, self._rows), np.clip(last + 1, 0, self._rows)

    def _of_rows(self, piece: Ints, row: Ints, ceiling: Ceiling | None) -> Runs:
        b = (row - self._cell_b[piece]) * self._step - self._rest_b[piece]
        ends = self._strips.level_ends(piece, b.astype(np.float32))
        if ceiling is not None:
            some = np.flatnonzero(self._may_lower(ceiling, piece, row, b.astype(np.float32), ends))
            piece, row, b, ends = piece[some], row[some], b[some], (ends[0][some], ends[1][some])
        if bool((self._pieces.slope[piece] > 0.0).any()):
            ends = self._strips.rising_ends(piece, b.astype(np.float32), ends)
        first, last = self._cells(piece, ends)
        after = last - first
        some = np.flatnonzero(after >= 0)
        longest = int(after.max(initial=0))
        # Sorting small whole numbers takes no comparisons.
        some = some[np.argsort((longest - after[some]).astype(np.min_scalar_type(longest)), kind="stable")]
        piece, first = piece[some], first[some]
        return Runs(
            a=(first - self._cell_a[piece]) * self._step - self._rest_a[piece],
            b=b[some],
            piece=piece,
            first=row[some] * self._row_stride + first * self._stride,
            after=after[some],
            da=self._da,
            db=self._db,
            pieces=self._pieces,
            step_mm=self._step,
            stride=self._stride,
        )

    def _cells(self, piece: Ints, ends: Ends) -> tuple[Ints, Ints]:
        """Return the first and the last cell of runs, in the row of the grid; the last before the first without any."""
        start, stop = ends
        if bool(self._backwards.any()):
            backwards = self._backwards[piece]
            start, stop = np.where(backwards, -stop, start), np.where(backwards, -start, stop)
        rest, per_mm = (self._rest_a / self._step).astype(np.float32)[piece], np.float32(1.0 / self._step)
        cell = self._cell_a[piece]
        first = np.ceil(start * per_mm + (rest - _SLACK_CELLS)).astype(np.intp) + cell
        last = np.floor(stop * per_mm + (rest + _SLACK_CELLS)).astype(np.intp) + cell
        return np.maximum(first, 0), np.minimum(last, self._columns - 1)

    def _may_lower(self, ceiling: Ceiling, piece: Ints, row: Ints, b_mm: Singles, ends: Ends) -> Bools:
        """Return which runs may leave less than the map has, by the least that each of them could leave."""
        least = self._pieces.z.astype(np.float32)[piece]
        cutter = self._cutter
        if not cutter.is_flat:
            nearest, _ = self._strips.across(piece, b_mm, ends)
            nearest = np.maximum(nearest * (1 - _NEARER) - _NEARER, 0.0)
            square = nearest * nearest
            room = np.maximum(np.float32(cutter.radius_mm**2) - square, 0.0)
            least += rise(room, square, cutter)
            least -= np.float32(_SURE_MM)
        first, last = self._cells(piece, ends)
        longest = int((last - first).max(initial=0)) + 1
        highest = ceiling.over(row, np.minimum(first, self._columns - 1), longest, is_along_x=self._is_along_x)
        return np.greater(highest, least)
