"""Stamping pieces into a map: batches of strips, one numpy call for thousands of cells.

A strip is cut into runs: the cells of one row of the grid (of one column, for motions along Y) that lie in it. Cells are
reached as "run, k-th cell of it", so that a batch of pieces is a few passes over arrays of shape (rows,
pieces), small enough for the processor's cache. Which cells a strip covers only has to be enough, never exact:
`lower_surface` is right at any point, so a cell too many does no harm.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.kernel import Kernel
from flipreg.cut.pieces import Pieces
from flipreg.cut.sweep import lag, lower_surface
from flipreg.cut.tool import Cutter

__all__ = ["Canvas", "stamp"]

Floats = NDArray[np.float64]

_CELLS = 16_384
"""Cells a pass works on; ours: half a dozen float32 arrays of this size stay in a cache of 1 MiB."""
_STEEP = 4.0
"""Rise over run past which single precision along the motion is not enough; ours."""
_ANGLE_BINS = 8.0
"""Classes of slant from along an axis to half a right angle; ours."""


@dataclass(frozen=True, slots=True, eq=False)
class Canvas:
    """A map with a margin, as one flat array.

    Attributes
    ----------
    flat : float32, shape (rows * columns,)
        Heights in millimetres, row after row.
    x_mm, y_mm : float
        Centre of the first cell, margin included.
    step_mm : float
        Distance of the centres.
    columns : int
        Cells in a row, margin included.
    """

    flat: NDArray[np.float32]
    x_mm: float
    y_mm: float
    step_mm: float
    columns: int


def stamp(canvas: Canvas, pieces: Pieces, cutter: Cutter) -> None:
    """Lower the map to what the pieces leave; every strip has to lie inside the canvas."""
    kernel = Kernel(cutter, _CELLS)
    for is_along_x, rows, single in _batches(canvas, pieces, cutter):
        _stamp_batch(canvas, pieces.take(rows), cutter, kernel if single else None, is_along_x=is_along_x)


def _batches(
    canvas: Canvas, pieces: Pieces, cutter: Cutter
) -> Iterator[tuple[bool, NDArray[np.intp], bool]]:
    """Yield batches of pieces alike: main direction, rows of the batch, whether single precision will do."""
    step = canvas.step_mm
    along_x = np.abs(pieces.dx) >= np.abs(pieces.dy)
    along = np.where(along_x, pieces.dx, pieces.dy)
    across = np.where(along_x, pieces.dy, pieces.dx)
    slant = np.rint(_ANGLE_BINS * across / along).astype(np.int64)
    run = (pieces.length + pieces.before + pieces.after) / np.abs(along)
    # Classes of run length grow by a fifth; short ones are exact counts of cells.
    cells = np.floor(run / step) + 1.0
    size = np.where(cells < 8.0, cells, np.floor(np.log(cells) / np.log(1.2))).astype(np.int64)
    rises = (pieces.slope > 0.0).astype(np.int64)
    single = (pieces.slope < _STEEP) & kernel_knows(cutter)
    key = ((((along_x * 2 + rises) * 2 + single) * 32 + slant + 9) * 256) + size
    order = np.argsort(key, kind="stable")
    breaks = np.flatnonzero(np.diff(key[order])) + 1
    for group in np.split(order, breaks):
        first = int(group[0])
        high = 2 * cutter.radius_mm + float(pieces.length[group].max()) + 2.0 * step
        per_batch = max(1, int(_CELLS / (high / step)))
        for begin in range(0, len(group), per_batch):
            yield bool(along_x[first]), group[begin : begin + per_batch], bool(single[first])


def kernel_knows(cutter: Cutter) -> bool:
    """Whether there is a single-precision kernel for the cutter."""
    return cutter.is_flat or cutter.is_ball


def _stamp_batch(
    canvas: Canvas, pieces: Pieces, cutter: Cutter, kernel: Kernel | None, *, is_along_x: bool
) -> None:
    step, radius = canvas.step_mm, cutter.radius_mm
    # a runs along the motion, b across; in cells from the first centre.
    at_a, at_b, da, db = pieces.x - canvas.x_mm, pieces.y - canvas.y_mm, pieces.dx, pieces.dy
    stride_a, stride_b = 1, canvas.columns
    if not is_along_x:
        at_a, at_b, da, db = at_b, at_a, db, da
        stride_a, stride_b = stride_b, stride_a
    most_lag = _most_lag(pieces.slope, cutter)
    high = pieces.length + np.maximum(most_lag, pieces.after)
    low = -pieces.before
    reach = radius * np.abs(da)
    first_row = np.ceil((at_b + np.minimum(low * db, high * db) - reach) / step)
    last_row = np.floor((at_b + np.maximum(low * db, high * db) + reach) / step)
    rows = int((last_row - first_row).max()) + 1
    if rows < 1:
        return
    b = (first_row + np.arange(rows)[:, np.newaxis]) * step - at_b
    start, stop = _run_ends(b, da, db, low, high, pieces, cutter)
    first = np.ceil((at_a + start) / step)
    count = np.floor((at_a + stop) / step) - first
    cells = int(count.max()) + 1
    if cells < 1:
        return
    a = first * step - at_a
    base = ((first_row + np.arange(rows)[:, np.newaxis]) * stride_b + first * stride_a).astype(np.intp)
    u0, w0 = a * da + b * db, b * da - a * db
    du, dw = step * da, -step * db
    needed = count.max(axis=1)
    if kernel is not None:
        kernel.load(pieces.length, pieces.slope, pieces.z)
    every = np.arange(rows)
    for k in range(cells):
        which = every if k == 0 else np.flatnonzero(needed >= k)
        if len(which) == rows:
            u_row, w_row, to = u0, w0, base
        else:
            u_row, w_row, to = u0[which], w0[which], base[which]
        target = canvas.flat[k * stride_a :]
        if kernel is None:
            lowest = lower_surface(
                u_row + k * du,
                w_row + k * dw,
                length_mm=pieces.length,
                slope=pieces.slope,
                z_mm=pieces.z,
                cutter=cutter,
            ).astype(np.float32)
        else:
            lowest = kernel.lowest(u_row, w_row, k * du, k * dw)
        np.minimum.at(target, to.reshape(-1), lowest.reshape(-1))


def _run_ends(
    b: Floats, da: Floats, db: Floats, low: Floats, high: Floats, pieces: Pieces, cutter: Cutter
) -> tuple[Floats, Floats]:
    """Return where the runs begin and end along `a`, from the lower end, in millimetres; enough, not exact."""
    forward = np.abs(da)
    sign = np.sign(da)
    # In the direction of the motion: ends along the axis, turned to ascending.
    start = (low - b * db) / forward
    stop = (high - b * db) / forward
    if bool((pieces.slope > 0.0).any()):
        # How far across the motion each run may come, then how much the lag can be there.
        across = b * da
        slant = db * sign
        w1, w2 = np.abs(across - start * slant), np.abs(across - stop * slant)
        farthest = np.maximum(w1, w2)
        crosses = (across - start * slant) * (across - stop * slant) <= 0.0
        nearest = np.where(crosses, 0.0, np.minimum(w1, w2))
        behind = lag(np.minimum(nearest, cutter.radius_mm), pieces.slope, cutter)
        if cutter.slope > 0.0 or (cutter.corner_radius_mm > 0.0 and not cutter.is_ball):
            behind = _most_lag(pieces.slope, cutter)
        factor = np.minimum(pieces.lag_factor_before, _own_factor(pieces.slope, cutter))
        wide = farthest + 2.0 * pieces.before
        to_rim = np.sqrt(np.maximum(cutter.radius_mm**2 - wide * wide, 0.0))
        bound = np.where(factor >= 0.0, factor * to_rim - 2.0 * pieces.before, low)
        start = (np.maximum(low, bound) - b * db) / forward
        stop = (pieces.length + np.maximum(behind, pieces.after) - b * db) / forward
    backwards = sign < 0.0
    margin = 1e-9
    return np.where(backwards, -stop, start) - margin, np.where(backwards, -start, stop) + margin


def _most_lag(slope: Floats, cutter: Cutter) -> Floats:
    """Return the largest lag anywhere across the motion."""
    radius = cutter.radius_mm
    if cutter.is_flat:
        return np.where(slope > 0.0, radius, 0.0)
    sine = slope / np.sqrt(1.0 + slope * slope)
    if cutter.slope > 0.0:
        share = np.minimum(slope / cutter.slope, 1.0)
        return np.where(slope > 0.0, np.maximum(cutter.tip_radius_mm, radius * share), 0.0)
    return np.where(slope > 0.0, cutter.tip_radius_mm + cutter.corner_radius_mm * sine, 0.0)


def _own_factor(slope: Floats, cutter: Cutter) -> Floats:
    if cutter.is_flat:
        return np.where(slope > 0.0, 1.0, 0.0)
    if cutter.is_ball:
        return np.asarray(slope / np.sqrt(1.0 + slope * slope))
    return np.zeros_like(slope)
