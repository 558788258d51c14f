"""Stamping pieces into a map: batches of strips, one numpy call for thousands of cells.

A strip is cut into runs of cells within a row of the grid, or within a column, for motions along Y.
Cells are reached as "run, k-th cell of it", so that a batch of runs is a few passes over arrays of shape (cells of a
run, runs), small enough for the processor's cache. Which cells a strip covers only has to be enough, never
exact: the height of a piece is right at any point, so a cell too many does no harm.

Nor does a cell too few where the map is lower already. A program comes over most places several times, so what cuts
deepest there is stamped first: the lowest pieces of a flat cutter, and of any other the middle of each strip. After
that, runs over what is lower than all they could leave are skipped.
"""

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.ceiling import Ceiling
from flipreg.cut.grid import Grid
from flipreg.cut.kernel import DoubleKernel, SingleKernel, exactly, is_single_enough
from flipreg.cut.pieces import Pieces
from flipreg.cut.runs import Batch, Runs
from flipreg.cut.tool import Cutter

__all__ = ["stamp"]

Singles = NDArray[np.float32]
Ints = NDArray[np.intp]

_AT_ONCE = 32_768
"""Cells that are computed at once, several of each run where there are few (chosen, measured)."""
_MANY_RUNS = 40_000.0
"""Runs from which on it pays to see which can be skipped (chosen, measured)."""
_GROUPS = 3
"""Groups into which the pieces of a flat cutter fall by height (chosen, measured)."""
_MIDDLE = 0.3
"""Half the width of a strip's middle, as a share of the cutter's radius (chosen, measured)."""
_FAR = np.float32(np.inf)


def stamp(heights_mm: Singles, grid: Grid, pieces: Pieces, cutter: Cutter) -> None:
    """Lower a map, shape `grid.shape` and contiguous, to what the pieces leave."""
    with np.errstate(invalid="ignore"):
        if len(pieces) * 2.0 * cutter.radius_mm / grid.step_mm < _MANY_RUNS:
            _stamp_rows(heights_mm, grid, pieces, cutter)
        elif cutter.is_flat:
            ceiling = None
            for group in np.array_split(np.argsort(pieces.z, kind="stable"), _GROUPS):
                _stamp_rows(heights_mm, grid, pieces.take(group), cutter, ceiling)
                ceiling = Ceiling(heights_mm)
        else:
            middle_mm = _MIDDLE * cutter.radius_mm
            _stamp_rows(heights_mm, grid, pieces, cutter, across_mm=(0.0, middle_mm))
            _stamp_rows(heights_mm, grid, pieces, cutter, Ceiling(heights_mm), across_mm=(middle_mm, np.inf))


def _stamp_rows(
    heights_mm: Singles,
    grid: Grid,
    pieces: Pieces,
    cutter: Cutter,
    ceiling: Ceiling | None = None,
    across_mm: tuple[float, float] = (0.0, np.inf),
) -> None:
    """Lower a map to what the rows of strips leave that lie between two distances from the middle."""
    along_x, single = np.abs(pieces.dx) >= np.abs(pieces.dy), is_single_enough(pieces.slope, cutter)
    # Next to each other comes what is alike: along an axis or not, rising or not, and about as long.
    is_straight = (pieces.dx == 0.0) | (pieces.dy == 0.0)
    long = np.log2((pieces.length + pieces.before + pieces.after) / grid.step_mm + 1.0)
    alike = np.lexsort((np.rint(2.0 * long), pieces.slope > 0.0, is_straight))
    for is_along_x, is_single in ((False, False), (False, True), (True, False), (True, True)):
        members = alike[((along_x == is_along_x) & (single == is_single))[alike]]
        if len(members):
            batch = Batch(grid, pieces.take(members), cutter, is_along_x=is_along_x)
            for runs in batch.runs(ceiling, *across_mm):
                _stamp_runs(heights_mm.reshape(-1), runs, cutter, is_single=is_single)


def _stamp_runs(flat_mm: Singles, runs: Runs, cutter: Cutter, *, is_single: bool) -> None:
    end = int(runs.after[0]) + 1
    # How many runs have a k-th cell.
    many = (len(runs.after) - np.cumsum(np.concatenate([[0], np.bincount(runs.after)]))).tolist()
    most = max(len(runs.first), min(_AT_ONCE, len(runs.first) * end))
    kernel = SingleKernel(runs, cutter, most) if is_single else DoubleKernel(runs, cutter)
    close: list[tuple[Ints, Ints]] = []
    k = 0
    while k < end:
        count = many[k]
        number = np.arange(k, min(end, k + max(1, most // count)))[:, np.newaxis]
        heights = kernel.lowest(number * runs.step_mm, count)
        to = runs.first[:count] + number * runs.stride
        if many[int(number[-1, 0])] < count:
            # Shorter runs have no cell there.
            late = number > runs.after[:count]
            np.copyto(to, 0, where=late)
            np.copyto(heights, _FAR, where=late)
        np.minimum.at(flat_mm, to.reshape(-1), heights.reshape(-1))
        if len(kernel.close):
            step, run = np.divmod(kernel.close, count)
            close.append((run, step + k))
        k += len(number)
    if close:
        _stamp_close(flat_mm, runs, cutter, close)


def _stamp_close(flat_mm: Singles, runs: Runs, cutter: Cutter, close: list[tuple[Ints, Ints]]) -> None:
    """Stamp the cells of runs that are close to the rim: few, and computed together in double precision."""
    run, number = (np.concatenate(column) for column in zip(*close, strict=True))
    inside = number <= runs.after[run]
    run, number = run[inside], number[inside]
    heights = exactly(runs, run, number * runs.step_mm, cutter)
    np.minimum.at(flat_mm, runs.first[run] + number * runs.stride, heights)
