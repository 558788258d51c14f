"""Level motions of flat cutters: what they leave is a floor, so its cells are filled and not computed.

A level motion clears the stadium that the cutter's end sweeps, all of it to one height. Of a row of the grid that is
one run of cells, whose ends have a closed form; of a column too. All motions at one height are taken together: +1 is
put down where a run begins and -1 after its end, and the floor is where the running sum along the rows, or down the
columns, is over 0. However often motions cross each other, a cell is lowered once.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.bands import bands
from flipreg.cut.canvas import Canvas
from flipreg.cut.pieces import Pieces
from flipreg.cut.sweep import RIM_SHARE
from flipreg.cut.tool import Cutter

__all__ = ["fill"]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.intp]

_AT_ONCE = 16_384
"""Runs that are worked out at a time (chosen), so that they stay in the cache."""
_RUN_CELLS = 8.0
"""A run takes as long as so many cells of strips (chosen, measured)."""
_ROW_CELLS = 0.25
"""A cell of the box round a floor takes as long as so many cells of strips where runs go along X (chosen, measured)."""
_COLUMN_CELLS = 0.1
"""The same where they go along Y (chosen, measured): whole rows are added at once."""
_FLOOR_CELLS = 10_000.0
"""The calls for a floor take as long as so many cells of strips (chosen, measured)."""
_LEAST = 1e-15
"""Keeps quotients finite where a motion goes along the runs."""


@dataclass(frozen=True, slots=True)
class _Floor:
    """Pieces at one height, from `begin` up to but not including `end`, and whether their runs go along X."""

    begin: int
    end: int
    is_along_x: bool


def fill(canvas: Canvas, pieces: Pieces, cutter: Cutter) -> Bools:
    """Lower the map to the floors that a flat cutter leaves, where that takes less time than strips.

    Parameters
    ----------
    canvas : Canvas
        The map; what lies beyond it is left out.
    pieces : Pieces
        Motions, however long.
    cutter : Cutter
        What is swept; one that is not flat leaves no floor.

    Returns
    -------
    bool array, shape (pieces,)
        Which pieces are in the map now; all others are for `flipreg.cut.stamp`.
    """
    done = np.zeros(len(pieces), np.bool_)
    level = np.flatnonzero(pieces.slope == 0.0) if cutter.is_flat else np.empty(0, np.intp)
    if not len(level):
        return done
    level = level[np.argsort(pieces.z[level].astype(np.float32), kind="stable")]
    for floor in _floors(canvas, pieces.take(level), cutter):
        members = level[floor.begin : floor.end]
        _fill(canvas, pieces.take(members), cutter, is_along_x=floor.is_along_x)
        done[members] = True
    return done


def _floors(canvas: Canvas, pieces: Pieces, cutter: Cutter) -> Iterator[_Floor]:
    """Yield the floors that are to be filled, of level pieces in order of their height."""
    step, wide = canvas.step_mm, 2.0 * cutter.radius_mm
    first = np.concatenate([[0], np.flatnonzero(np.diff(pieces.z.astype(np.float32))) + 1])
    end_x, end_y = pieces.x + pieces.length * pieces.dx, pieces.y + pieces.length * pieces.dy
    box = np.ones(len(first))
    for one, other in ((pieces.x, end_x), (pieces.y, end_y)):
        high = np.maximum.reduceat(np.maximum(one, other), first)
        box *= (high - np.minimum.reduceat(np.minimum(one, other), first) + wide) / step
    strips = (pieces.length + pieces.before + pieces.after + step) * (wide + step) / step**2
    along_x, along_y = ((wide + pieces.length * np.abs(side)) / step + 1.0 for side in (pieces.dy, pieces.dx))
    by_strips = np.add.reduceat(strips, first)
    by_rows = _RUN_CELLS * np.add.reduceat(along_x, first) + _ROW_CELLS * box + _FLOOR_CELLS
    by_columns = _RUN_CELLS * np.add.reduceat(along_y, first) + _COLUMN_CELLS * box + _FLOOR_CELLS
    ends = np.append(first[1:], len(pieces))
    for floor in np.flatnonzero(np.minimum(by_rows, by_columns) < by_strips).tolist():
        yield _Floor(int(first[floor]), int(ends[floor]), bool(by_rows[floor] <= by_columns[floor]))


def _fill(canvas: Canvas, pieces: Pieces, cutter: Cutter, *, is_along_x: bool) -> None:
    """Lower the map to one floor."""
    heights = canvas.flat.reshape(-1, canvas.columns)
    end_x, end_y = pieces.x + pieces.length * pieces.dx, pieces.y + pieces.length * pieces.dy
    # A point within this counts as cut: see `flipreg.cut.sweep`.
    reach = cutter.radius_mm * np.sqrt(1.0 + RIM_SHARE)
    columns, rows = (
        slice(
            max(0, int(np.ceil((np.minimum(one, other).min() - reach - low) / canvas.step_mm))),
            min(size, int(np.floor((np.maximum(one, other).max() + reach - low) / canvas.step_mm)) + 1),
        )
        for one, other, low, size in (
            (pieces.x, end_x, canvas.x_mm, heights.shape[1]),
            (pieces.y, end_y, canvas.y_mm, heights.shape[0]),
        )
    )
    if columns.stop <= columns.start or rows.stop <= rows.start:
        return
    part, floor = heights[rows, columns], np.float32(pieces.z[0])
    # One more for the -1 after a run's last cell. No sum exceeds the pieces, so that what wraps on the way comes back.
    count = np.min_scalar_type(len(pieces))
    sums = np.zeros((part.shape[0] + (not is_along_x), part.shape[1] + is_along_x), count)
    at_x = pieces.x - (canvas.x_mm + columns.start * canvas.step_mm)
    at_y = pieces.y - (canvas.y_mm + rows.start * canvas.step_mm)
    at, direction, size, strides = (at_y, at_x), (pieces.dy, pieces.dx), part.shape, (sums.shape[1], 1)
    if not is_along_x:
        at, direction, size, strides = at[::-1], direction[::-1], size[::-1], strides[::-1]
    stride_b, stride_a = strides
    for line, first, last in _runs(at, direction, pieces.length, reach, canvas.step_mm, size):
        np.add.at(sums.reshape(-1), line * stride_b + first * stride_a, np.ones(len(line), count))
        np.subtract.at(sums.reshape(-1), line * stride_b + (last + 1) * stride_a, np.ones(len(line), count))
    for band in bands(part.shape):
        if is_along_x:
            runs = np.cumsum(sums[band, :-1], axis=1, dtype=count)
        else:
            # Row by row: adding whole rows is several times as quick as a running sum along them.
            for row in range(max(1, band.start), band.stop):
                np.add(sums[row], sums[row - 1], out=sums[row])
            runs = sums[band]
        here = part[band]
        covered = runs > 0
        covered &= here > floor
        np.copyto(here, floor, where=covered)


def _runs(
    at: tuple[Floats, Floats],
    direction: tuple[Floats, Floats],
    length: Floats,
    reach: float,
    step: float,
    size: tuple[int, ...],
) -> Iterator[tuple[Ints, Ints, Ints]]:
    """Yield the runs of stadiums in portions: their lines, and their first and last cells, both within the box.

    Parameters
    ----------
    at : two arrays, shape (pieces,)
        Where the pieces begin, across the lines and along them, in millimetres from the box's first cell.
    direction : two arrays, shape (pieces,)
        Their unit directions, across the lines and along them.
    length : array, shape (pieces,)
        Their lengths in millimetres.
    reach : float
        Half the width of the stadiums in millimetres.
    step : float
        Distance of the cells.
    size : two ints
        Lines of the box, and cells of a line.
    """
    (at_b, at_a), (db, da), (lines, cells) = at, direction, size
    far_b = at_b + length * db
    low = np.maximum(np.ceil((np.minimum(at_b, far_b) - reach) / step), 0.0)
    high = np.minimum(np.floor((np.maximum(at_b, far_b) + reach) / step), lines - 1.0)
    count = np.maximum(high - low + 1.0, 0.0).astype(np.intp)
    done = np.cumsum(count)
    begin = 0
    while begin < len(count):
        before = int(done[begin] - count[begin])
        end = max(begin + 1, int(np.searchsorted(done, before + _AT_ONCE, side="right")))
        some = slice(begin, end)
        begin = end
        piece = np.repeat(np.arange(some.start, some.stop), count[some])
        line = np.arange(before, before + len(piece)) - (done - count - low.astype(np.intp))[piece]
        forward, sideways, far = da[piece], db[piece], length[piece]
        b = line * step - at_b[piece]
        # On an endless way, the disc that reaches farthest along the line has its centre reach · |da| beside it.
        steep = np.copysign(np.maximum(np.abs(sideways), _LEAST), sideways)
        turn = reach * forward * np.copysign(1.0, sideways)
        ends = []
        for side in (-1.0, 1.0):
            t = np.clip((b + side * turn) / steep, 0.0, far)
            off = b - t * sideways
            ends.append(t * forward + side * np.sqrt(np.maximum((reach - off) * (reach + off), 0.0)))
        start = at_a[piece]
        first = np.maximum(np.ceil((start + ends[0]) / step), 0.0).astype(np.intp)
        last = np.minimum(np.floor((start + ends[1]) / step), cells - 1.0).astype(np.intp)
        some_cells = last >= first
        yield line[some_cells], first[some_cells], last[some_cells]
