"""The heights of a batch of runs, cell by cell: in double precision, and in single for flat and ball cutters.

Both compute what `flipreg.cut.sweep.lower_surface` says. Positions are taken from the piece's own end, so single
precision keeps a millionth of the radius; only close to the rim, where the surface is steep, does that grow
past 3e-5 mm in height, and those few cells are computed again in double precision.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.pieces import Pieces, lag_factor
from flipreg.cut.sweep import RIM_SHARE, lower_surface
from flipreg.cut.tool import Cutter

__all__ = ["Buffers", "Runs", "is_single_enough", "lowest", "lowest_singly"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

_STEEP = 4.0
"""Rise over run past which single precision along the motion is not enough; ours."""
_NEAR_RIM = 7e-5
"""Room at the rim (R² - r²), per fourth power of the radius in millimetres, below which single precision is left."""
_LARGEST_MM = 40.0
"""Radius past which single precision is left altogether; ours."""

_FAR = np.float32(np.inf)


@dataclass(frozen=True, slots=True, eq=False)
class Runs:
    """First cells of the runs of a batch.

    Attributes
    ----------
    u0, w0 : float64, shape (rows, pieces)
        Position along and across each piece, in millimetres.
    du, dw : float64, shape (pieces,)
        What the next cell of the run adds to it.
    pieces : Pieces
        The pieces of the batch.
    """

    u0: Floats
    w0: Floats
    du: Floats
    dw: Floats
    pieces: Pieces


class Buffers:
    """Memory for one batch in single precision, used again by the next."""

    __slots__ = ("near", "one", "three", "two")

    def __init__(self, cells: int) -> None:
        self.one, self.two, self.three = (np.empty(cells, np.float32) for _ in range(3))
        self.near = np.empty(cells, np.bool_)


def is_single_enough(slope: Floats, cutter: Cutter) -> NDArray[np.bool_]:
    """Return for which pieces `lowest_singly` may be used."""
    is_known = (cutter.is_flat or cutter.is_ball) and cutter.radius_mm <= _LARGEST_MM
    return is_known & (slope < _STEEP)


def lowest(runs: Runs, k: int, rows: NDArray[np.intp] | slice, cutter: Cutter) -> Singles:
    """Return the heights of the k-th cells of the named rows' runs, shape (rows, pieces)."""
    return _exactly(runs.u0[rows] + k * runs.du, runs.w0[rows] + k * runs.dw, runs.pieces, cutter)


def lowest_singly(
    singles: tuple[Singles, Singles], k: int, runs: Runs, cutter: Cutter, buffers: Buffers
) -> Singles:
    """Return what `lowest` does for all runs, from positions (u0, w0) of the first cells in single precision.

    The array is one of the buffers.
    """
    u0, w0 = singles
    pieces, radius = runs.pieces, cutter.radius_mm
    shape, size = u0.shape, u0.size
    x, room, t = (buffer[:size].reshape(shape) for buffer in (buffers.one, buffers.two, buffers.three))
    near = buffers.near[:size].reshape(shape)
    rises = bool((pieces.slope > 0.0).any())
    np.add(w0, (k * runs.dw).astype(np.float32), out=room)
    np.multiply(room, room, out=room)
    np.subtract(np.float32(radius**2), room, out=room)
    np.add(u0, (k * runs.du).astype(np.float32), out=x)
    if rises:
        np.maximum(room, 0.0, out=t)
        np.sqrt(t, out=t)
        np.multiply(t, lag_factor(pieces.slope, cutter).astype(np.float32), out=t)
        np.subtract(x, t, out=t)
        np.maximum(t, 0.0, out=t)
    else:
        np.maximum(x, 0.0, out=t)
    np.minimum(t, pieces.length.astype(np.float32), out=t)
    np.subtract(x, t, out=x)
    np.multiply(x, x, out=x)
    thin = np.float32(min(_NEAR_RIM * radius**4, 0.1 * radius**2))
    if cutter.is_ball:
        np.subtract(room, x, out=room)
        np.abs(room, out=x)
        np.less(x, thin, out=near)
        np.maximum(room, 0.0, out=x)
        np.sqrt(x, out=x)
        np.multiply(t, pieces.slope.astype(np.float32), out=t)
        np.add(t, (pieces.z + radius).astype(np.float32), out=t)
        np.subtract(t, x, out=t)
        outside = np.less(room, 0.0)
    else:
        if rises:
            np.less(np.abs(room), thin, out=near)
            np.multiply(t, pieces.slope.astype(np.float32), out=t)
            np.add(t, pieces.z.astype(np.float32), out=t)
        else:
            near[...] = False
            t[...] = pieces.z
        np.subtract(room, x, out=room)
        outside = np.less(room, np.float32(-RIM_SHARE * radius**2))
    np.copyto(t, _FAR, where=outside)
    if np.count_nonzero(near):
        row, piece = np.nonzero(near)
        t[row, piece] = _exactly(
            runs.u0[row, piece] + k * runs.du[piece], runs.w0[row, piece] + k * runs.dw[piece], pieces.take(piece), cutter
        )
    return t


def _exactly(u: Floats, w: Floats, pieces: Pieces, cutter: Cutter) -> Singles:
    heights = lower_surface(u, w, length_mm=pieces.length, slope=pieces.slope, z_mm=pieces.z, cutter=cutter)
    return heights.astype(np.float32)
