"""The lower surface of flat and ball cutters in single precision, for the many cells of the many motions.

It computes what `flipreg.cut.sweep.lower_surface` does, with buffers that are used again. Positions are taken from the
motion's own end, so single precision keeps 1e-6 mm; only close to the rim, where the surface is steep, does that
grow past 3e-5 mm in height, and those few cells are computed again in double precision.
"""

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.sweep import RIM_SHARE, lower_surface
from flipreg.cut.tool import Cutter

__all__ = ["Kernel"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

_NEAR_RIM = 1e-4
"""Room at the rim (R² - r²), per fourth power of the radius in millimetres, below which single precision is left."""

_FAR = np.float32(np.inf)


class Kernel:
    """Buffers and constants for one cutter, and the pieces of one batch."""

    def __init__(self, cutter: Cutter, cells: int) -> None:
        self._cutter = cutter
        self._buffers = [np.empty(0, np.float32) for _ in range(4)]
        self._near = np.empty(0, np.bool_)
        self._grow(cells)
        self._square = np.float32(cutter.radius_mm**2)
        self._thin = np.float32(min(_NEAR_RIM * cutter.radius_mm**4, 0.05 * cutter.radius_mm**2))

    def load(self, length_mm: Floats, slope: Floats, z_mm: Floats) -> None:
        """Take the pieces of a batch, columns of shape (pieces,)."""
        self._exact = (length_mm, slope, z_mm)
        self._length = length_mm.astype(np.float32)
        self._slope = slope.astype(np.float32)
        self._rises = bool((slope > 0.0).any())
        top = z_mm + (self._cutter.radius_mm if self._cutter.is_ball else 0.0)
        self._z = top.astype(np.float32)
        share = slope / np.sqrt(1.0 + slope * slope) if self._cutter.is_ball else np.where(slope > 0.0, 1.0, 0.0)
        self._share = share.astype(np.float32)

    def lowest(self, u_mm: Floats, w_mm: Floats, du_mm: Floats, dw_mm: Floats) -> Singles:
        """Return the least heights at (u + du, w + dw), shape (rows, pieces); infinite where nothing is cut.

        The array is a buffer that the next call overwrites.
        """
        shape = u_mm.shape
        if u_mm.size > self._buffers[0].size:
            self._grow(u_mm.size)
        u, room, t, work = (buffer[: u_mm.size].reshape(shape) for buffer in self._buffers)
        np.add(u_mm, du_mm, out=u, casting="same_kind")
        np.add(w_mm, dw_mm, out=room, casting="same_kind")
        np.multiply(room, room, out=room)
        np.subtract(self._square, room, out=room)
        if self._rises:
            np.maximum(room, 0.0, out=t)
            np.sqrt(t, out=t)
            np.multiply(t, self._share, out=t)
            np.subtract(u, t, out=t)
            np.maximum(t, 0.0, out=t)
        else:
            np.maximum(u, 0.0, out=t)
        np.minimum(t, self._length, out=t)
        np.subtract(u, t, out=u)
        if self._cutter.is_ball:
            return self._ball(u, room, t, work, (u_mm, w_mm, du_mm, dw_mm))
        return self._flat(u, room, t, work, (u_mm, w_mm, du_mm, dw_mm))

    def _ball(
        self, u: Singles, room: Singles, t: Singles, work: Singles, at: tuple[Floats, Floats, Floats, Floats]
    ) -> Singles:
        np.multiply(u, u, out=u)
        np.subtract(room, u, out=room)
        np.abs(room, out=work)
        near = self._near[: room.size].reshape(room.shape)
        np.less(work, self._thin, out=near)
        np.sqrt(room, out=room)
        if self._rises:
            np.multiply(t, self._slope, out=t)
            np.add(t, self._z, out=t)
            np.subtract(t, room, out=t)
        else:
            np.subtract(self._z, room, out=t)
        np.fmin(t, _FAR, out=t)
        self._again(near, t, at)
        return t

    def _flat(
        self, u: Singles, room: Singles, t: Singles, work: Singles, at: tuple[Floats, Floats, Floats, Floats]
    ) -> Singles:
        near = self._near[: room.size].reshape(room.shape)
        if self._rises:
            np.abs(room, out=work)
            np.less(work, self._thin, out=near)
            np.multiply(t, self._slope, out=t)
            np.add(t, self._z, out=t)
        else:
            near[...] = False
            t[...] = self._z
        np.multiply(u, u, out=u)
        np.subtract(room, u, out=room)
        outside = room < np.float32(-RIM_SHARE) * self._square
        np.copyto(t, _FAR, where=outside)
        self._again(near, t, at)
        return t

    def _again(self, near: NDArray[np.bool_], lowest: Singles, at: tuple[Floats, Floats, Floats, Floats]) -> None:
        """Compute the cells close to the rim in double precision."""
        if not np.count_nonzero(near):
            return
        row, piece = np.nonzero(near)
        u, w, du, dw = at
        length, slope, z = self._exact
        lowest[row, piece] = lower_surface(
            u[row, piece] + du[piece],
            w[row, piece] + dw[piece],
            length_mm=length[piece],
            slope=slope[piece],
            z_mm=z[piece],
            cutter=self._cutter,
        )

    def _grow(self, cells: int) -> None:
        self._buffers = [np.empty(cells, np.float32) for _ in range(4)]
        self._near = np.empty(cells, np.bool_)
