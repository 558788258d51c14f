"""Stamping pieces into a map: batches of strips, one numpy call for thousands of cells.

A strip is cut into runs: the cells of one row of the grid (of one column, for motions along Y) that lie in it.
Cells are reached as "run, k-th cell of it", so that a batch of pieces is a few passes over arrays of shape (cells of a
run, rows, pieces), small enough for the processor's cache. Which cells a strip covers only has to be enough, never
exact: the height of a piece is right at any point, so a cell too many does no harm.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.canvas import Canvas
from flipreg.cut.kernel import Runs, SingleKernel, exactly, is_single_enough, lowest
from flipreg.cut.pieces import Pieces
from flipreg.cut.strip import row_range, run_ends
from flipreg.cut.tool import Cutter

__all__ = ["stamp"]

Floats = NDArray[np.float64]

_CELLS = 65_536
"""Runs of a batch (chosen, measured): fewer than 32,768 cost more in calls than they gain in the cache."""
_AT_ONCE = 16_384
"""Cells of a batch that are computed at once, several of each run where the batch is small (chosen, measured)."""
_BATCH_CELLS = 30_000.0
"""Cells that take as long as the calls of a batch (chosen, measured)."""
_RISING = 1.5
"""How much longer a cell takes where the motion rises (chosen), for the way that the tip lags after."""
_ANGLE_BINS = 8.0
"""Classes of slant from along an axis to half a right angle (chosen)."""
_SLACK_CELLS = np.float32(1e-3)
"""By how much runs are made longer at both ends, for single precision (chosen)."""


def stamp(canvas: Canvas, pieces: Pieces, cutter: Cutter) -> None:
    """Lower the map to what the pieces leave; all they cut has to lie inside the canvas."""
    with np.errstate(invalid="ignore"):
        for members, is_along_x, is_single in _batches(canvas.step_mm, pieces, cutter):
            _stamp_batch(canvas, pieces.take(members), cutter, is_along_x=is_along_x, is_single=is_single)


def _batches(step: float, pieces: Pieces, cutter: Cutter) -> Iterator[tuple[NDArray[np.intp], bool, bool]]:
    """Yield batches of pieces alike: members, whether they go along X, whether single precision will do."""
    along_x = np.abs(pieces.dx) >= np.abs(pieces.dy)
    along = np.where(along_x, np.abs(pieces.dx), np.abs(pieces.dy))
    across = np.where(along_x, np.abs(pieces.dy), np.abs(pieces.dx))
    # Classes of run length grow by a fifth; short ones are exact counts of cells.
    cells = np.floor((pieces.length + pieces.before + pieces.after) / (along * step)) + 1.0
    size = np.where(cells < 8.0, cells, np.floor(np.log(cells) / np.log(1.2)))
    rows = np.floor((2.0 * cutter.radius_mm * along + pieces.length * across) / step) + 2.0
    single, rises = is_single_enough(pieces.slope, cutter), pieces.slope > 0.0
    slant = np.rint(_ANGLE_BINS * across / along)
    key = (((along_x * 2 + single) * 256.0 + size) * 2 + rises) * 16.0 + slant
    order = np.argsort(key, kind="stable")
    first = np.concatenate([[0], np.flatnonzero(np.diff(key[order])) + 1])
    kinds = [(bool(along_x[row]), bool(single[row])) for row in order[first].tolist()]
    costs = [
        _Cost(count, *most)
        for count, *most in zip(
            np.diff(np.append(first, len(order))).tolist(),
            *(np.maximum.reduceat(each[order], first).tolist() for each in (cells, rows, rises)),
            strict=True,
        )
    ]
    begin = 0
    while begin < len(costs):
        # What is not alike is computed together where that takes less than another batch.
        cost, end = costs[begin], begin + 1
        while end < len(costs) and kinds[end] == kinds[begin]:
            both = cost.together(costs[end])
            if both.cells > cost.cells + costs[end].cells + _BATCH_CELLS:
                break
            cost, end = both, end + 1
        group = order[first[begin] : first[end] if end < len(first) else len(order)]
        at_once = max(1, int(_CELLS / cost.rows))
        for start in range(0, len(group), at_once):
            yield group[start : start + at_once], *kinds[begin]
        begin = end


@dataclass(frozen=True, slots=True)
class _Cost:
    """What a batch takes: how many pieces it has, the longest run and the most rows of them, whether any rises."""

    pieces: int
    longest: float
    rows: float
    rises: bool

    @property
    def cells(self) -> float:
        """Cells to compute, as many as take as long as those of level pieces."""
        return self.pieces * self.longest * self.rows * (_RISING if self.rises else 1.0)

    def together(self, other: "_Cost") -> "_Cost":
        """Return what both take in one batch."""
        return _Cost(
            self.pieces + other.pieces,
            max(self.longest, other.longest),
            max(self.rows, other.rows),
            self.rises or other.rises,
        )


def _stamp_batch(canvas: Canvas, pieces: Pieces, cutter: Cutter, *, is_along_x: bool, is_single: bool) -> None:
    step = canvas.step_mm
    # `a` runs along the motion, `b` across it: cells counted from the one at the lower end, rests in millimetres.
    at_a, at_b, da, db = pieces.x - canvas.x_mm, pieces.y - canvas.y_mm, pieces.dx, pieces.dy
    stride_a, stride_b = 1, canvas.columns
    if not is_along_x:
        at_a, at_b, da, db = at_b, at_a, db, da
        stride_a, stride_b = stride_b, stride_a
    cell_a, cell_b = np.floor(at_a / step), np.floor(at_b / step)
    rest_a, rest_b = at_a - cell_a * step, at_b - cell_b * step
    low_b, high_b = row_range(pieces, da, db, cutter)
    slack = float(_SLACK_CELLS)
    first_row = np.ceil((rest_b + low_b) / step - slack)
    rows = int((np.floor((rest_b + high_b) / step + slack) - first_row).max()) + 1
    if rows < 1:
        return
    number = np.arange(rows)[:, np.newaxis]
    b = (first_row * step - rest_b) + number * step
    first, last = run_ends(b.astype(np.float32), da, db, pieces, cutter)
    rest, per_mm = (rest_a / step).astype(np.float32), np.float32(1.0 / step)
    first *= per_mm
    first += rest - _SLACK_CELLS
    np.ceil(first, out=first)
    last *= per_mm
    last += rest + _SLACK_CELLS
    np.floor(last, out=last)
    last -= first
    cells_after = last.max(axis=1)
    base = first.astype(np.intp)
    if stride_a != 1:
        base *= stride_a
    base += ((cell_b + first_row) * stride_b + cell_a * stride_a).astype(np.intp)
    base += number * stride_b
    a = np.multiply(first, step, dtype=np.float64) - rest_a
    runs = Runs(a, b, da, db, step, pieces)
    lowest_base, highest_base = int(base.min()), int(base.max())
    k, end = 0, int(cells_after.max()) + 1
    most = max(base.size, min(_AT_ONCE, base.size * end))
    single = SingleKernel(runs, cutter, most) if is_single else None
    close = _Close()
    while k < end:
        which = np.flatnonzero(cells_after >= k)
        if len(which) < len(base):
            base, cells_after, runs = base[which], cells_after[which], runs.rows(which)
            if single is not None:
                single.keep(which)
        steps = np.arange(min(end - k, max(1, most // base.size)))
        along_mm = np.multiply(k + steps, step, dtype=np.float64)[:, np.newaxis, np.newaxis]
        heights = lowest(runs, along_mm, cutter) if single is None else single.lowest(along_mm)
        if single is not None and len(single.close):
            close.add(single.close, heights.shape, base + k * stride_a, stride_a, runs, along_mm)
        # Cells after a shorter run of the batch are no harm: heights are right at any cell.
        target, to = canvas.flat[k * stride_a :], base + (steps * stride_a)[:, np.newaxis, np.newaxis]
        if lowest_base < 0 or highest_base + (len(steps) - 1) * stride_a >= len(target):
            # A run may begin or end outside the canvas. Nothing is cut out there, so any cell will do for it.
            target, to = canvas.flat, np.clip(to + k * stride_a, 0, len(canvas.flat) - 1)
        np.minimum.at(target, to.reshape(-1), heights.reshape(-1))
        k += len(steps)
    close.stamp(canvas, runs, cutter)


class _Close:
    """The cells of a batch close to the rim: few, and computed together in double precision."""

    def __init__(self) -> None:
        self._found: list[tuple[NDArray[np.intp], NDArray[np.intp], Floats, Floats]] = []

    def add(
        self,
        close: NDArray[np.intp],
        shape: tuple[int, ...],
        base: NDArray[np.intp],
        stride: int,
        runs: Runs,
        along_mm: Floats,
    ) -> None:
        """Take down cells in flat order of the shape (steps, rows, pieces): the first step's are `base`."""
        step, row, piece = np.unravel_index(close, shape)
        a_mm = runs.a[row, piece] + along_mm[step, 0, 0]
        self._found.append((base[row, piece] + step * stride, piece, a_mm, runs.b[row, piece]))

    def stamp(self, canvas: Canvas, runs: Runs, cutter: Cutter) -> None:
        """Lower the map to their heights."""
        if not self._found:
            return
        to, piece, a_mm, b_mm = (np.concatenate(column) for column in zip(*self._found, strict=True))
        heights = exactly(a_mm, b_mm, runs.da[piece], runs.db[piece], runs.pieces.take(piece), cutter)
        # Cells outside the canvas are not cut.
        np.minimum.at(canvas.flat, np.clip(to, 0, len(canvas.flat) - 1), heights)
