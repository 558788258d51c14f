"""The heights of a batch of runs, cell by cell: in double precision, and in single where that is enough.

Both compute what `flipreg.cut.sweep.lower_surface` says. Positions are taken from the piece's own end, so single
precision keeps some millionths of a millimetre; only close to the rim, where the surface is steep, does that grow
past 3e-5 mm in height, and those few cells are left for double precision.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.pieces import Pieces, lag_factor
from flipreg.cut.sweep import RIM_SHARE, lag, lower_surface, rise
from flipreg.cut.tool import Cutter

__all__ = ["Runs", "SingleKernel", "exactly", "is_single_enough", "lowest"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

_STEEP = 4.0
"""Rise over run past which single precision along the motion is not enough (chosen)."""
_BLUR = 3.5e-7
"""By how much single precision may misplace a point sideways, per distance from the piece's lower end (chosen): three
units in the last place."""
_HEIGHT_MM = 6e-5
"""Error in height from that, above which a point close to the rim is computed in double precision (chosen)."""
_LARGEST_MM = 40.0
"""Radius past which single precision is left altogether (chosen)."""

_SHARP = 20.0
"""Slope of a cone past which single precision is left (chosen)."""

_FAR = np.float32(np.inf)


@dataclass(frozen=True, slots=True, eq=False)
class Runs:
    """First cells of the runs of a batch.

    Attributes
    ----------
    a, b : float64, shape (rows, pieces)
        Their centres from each piece's lower end, along the runs and across them, in millimetres.
    da, db : float64, shape (pieces,)
        Unit directions of the pieces along the runs and across them.
    step_mm : float
        Distance of the cells along a run.
    pieces : Pieces
        The pieces of the batch.
    """

    a: Floats
    b: Floats
    da: Floats
    db: Floats
    step_mm: float
    pieces: Pieces

    def rows(self, which: NDArray[np.intp]) -> "Runs":
        """Return the named rows."""
        return Runs(self.a[which], self.b[which], self.da, self.db, self.step_mm, self.pieces)


def is_single_enough(slope: Floats, cutter: Cutter) -> NDArray[np.bool_]:
    """Return for which pieces a `SingleKernel` may be used."""
    return (slope < _STEEP) & (cutter.radius_mm <= _LARGEST_MM) & (cutter.slope < _SHARP)


def lowest(runs: Runs, along_mm: Floats, cutter: Cutter) -> Singles:
    """Return the heights at some distances from the runs' first cells; infinite where nothing is cut.

    Parameters
    ----------
    runs : Runs
        The runs.
    along_mm : array, shape (steps, 1, 1)
        The distances.
    cutter : Cutter
        What is swept.

    Returns
    -------
    float32 array, shape (steps, rows, pieces)
        Z in millimetres.
    """
    return exactly(runs.a + along_mm, runs.b, runs.da, runs.db, runs.pieces, cutter)


def exactly(a: Floats, b: Floats, da: Floats, db: Floats, pieces: Pieces, cutter: Cutter) -> Singles:
    """Return the heights of cells `a` along the runs and `b` across them, in double precision before they are rounded.

    The other arrays broadcast against them.
    """
    heights = lower_surface(
        a * da + b * db, b * da - a * db, length_mm=pieces.length, slope=pieces.slope, z_mm=pieces.z, cutter=cutter
    )
    return heights.astype(np.float32)


class SingleKernel:
    """`lowest` in single precision for one batch, with memory that is used again.

    Parameters
    ----------
    runs : Runs
        The batch.
    cutter : Cutter
        What is swept.
    most : int
        The most heights that are asked for at once.

    Attributes
    ----------
    close : int array
        Of the heights asked for last, those close to the rim, in flat order: they are for `exactly`.
    """

    def __init__(self, runs: Runs, cutter: Cutter, most: int) -> None:
        self._runs, self._cutter = runs, cutter
        a, b, da, db = (column.astype(np.float32) for column in (runs.a, runs.b, runs.da, runs.db))
        self._u0, self._w0 = a * da, b * da
        np.multiply(b, db, out=b)
        self._u0 += b
        np.multiply(a, db, out=a)
        self._w0 -= a
        self.close = np.empty(0, np.intp)
        self._memory, self._memory_near = np.empty((3, most), np.float32), np.empty(most, np.bool_)
        self._lay_out(np.zeros((1, 1, 1)))
        pieces, radius = runs.pieces, cutter.radius_mm
        self._rises = bool((pieces.slope > 0.0).any())
        self._lag = lag_factor(pieces.slope, cutter).astype(np.float32)
        self._lag_slope = pieces.slope if cutter.slope > 0.0 else pieces.slope.astype(np.float32)
        self._length, self._slope = pieces.length.astype(np.float32), pieces.slope.astype(np.float32)
        self._z = (pieces.z + (radius if cutter.is_ball else 0.0)).astype(np.float32)
        self._square = np.float32(radius**2)
        # The room at the rim, R² - r², is off by 2 R times the blur; its root, by that over twice the root.
        blur = 2.0 * radius * _BLUR * (float(pieces.length.max()) + radius)
        self._thin = np.float32(min((blur / (2.0 * _HEIGHT_MM)) ** 2, 0.1 * radius**2))
        self._rim = np.float32(-max(RIM_SHARE * radius**2, blur))

    def keep(self, which: NDArray[np.intp]) -> None:
        """Go on with the named rows only."""
        self._runs = self._runs.rows(which)
        self._u0, self._w0 = self._u0[which], self._w0[which]

    def _lay_out(self, along_mm: Floats) -> None:
        """Take the memory for some distances, in shape (steps, rows, pieces)."""
        self._along_mm = along_mm
        shape = len(along_mm), *self._u0.shape
        size = len(along_mm) * self._u0.size
        self._x, self._room, self._t = (part[:size].reshape(shape) for part in self._memory)
        self._near = self._memory_near[:size].reshape(shape)

    def lowest(self, along_mm: Floats) -> Singles:
        """Return what the function `lowest` does, but nothing cut for the cells that are `close`.

        The array is overwritten by the next call.
        """
        self._lay_out(along_mm)
        x, room, t = self._x, self._room, self._t
        np.subtract(self._w0, (along_mm * self._runs.db).astype(np.float32), out=room)
        np.add(self._u0, (along_mm * self._runs.da).astype(np.float32), out=x)
        if not (self._cutter.is_ball or self._cutter.is_flat):
            self._other()
            return t
        np.multiply(room, room, out=room)
        np.subtract(self._square, room, out=room)
        if self._rises:
            np.maximum(room, 0.0, out=t)
            np.sqrt(t, out=t)
            np.multiply(t, self._lag, out=t)
            np.subtract(x, t, out=t)
            np.maximum(t, 0.0, out=t)
        else:
            np.maximum(x, 0.0, out=t)
        np.minimum(t, self._length, out=t)
        np.subtract(x, t, out=x)
        np.multiply(x, x, out=x)
        if self._cutter.is_ball:
            self._ball()
        else:
            self._flat()
        return t

    def _ball(self) -> None:
        x, room, t = self._x, self._room, self._t
        np.subtract(room, x, out=room)
        np.abs(room, out=x)
        np.less(x, self._thin, out=self._near)
        # Outside the rim the root is NaN, which fmin takes for nothing.
        np.sqrt(room, out=room)
        if self._rises:
            np.multiply(t, self._slope, out=t)
            np.add(t, self._z, out=t)
            np.subtract(t, room, out=t)
        else:
            np.subtract(self._z, room, out=t)
        np.fmin(t, _FAR, out=t)
        self._leave_close()

    def _flat(self) -> None:
        x, room, t = self._x, self._room, self._t
        np.subtract(room, x, out=x)
        if self._rises:
            np.multiply(t, self._slope, out=t)
            np.add(t, self._z, out=t)
        else:
            t[...] = self._z
        outside = np.less(x, self._rim, out=self._near)
        np.copyto(t, _FAR, where=outside)
        # On level motions no height is wrong, whatever the place.
        if self._rises:
            np.abs(room, out=room)
            np.less(room, self._thin, out=self._near)
            self._leave_close()

    def _other(self) -> None:
        """Compute the heights of a cutter that has no quick way of its own."""
        u, w, t = self._x, self._room, self._t
        if self._rises:
            np.subtract(u, lag(w, self._lag_slope, self._cutter), out=t)
            np.maximum(t, 0.0, out=t)
        else:
            np.maximum(u, 0.0, out=t)
        np.minimum(t, self._length, out=t)
        np.multiply(w, w, out=w)
        to_rim = self._square - w
        np.subtract(u, t, out=u)
        np.multiply(u, u, out=u)
        np.add(w, u, out=w)
        room = np.subtract(to_rim, u, out=u)
        np.abs(to_rim, out=to_rim)
        np.minimum(np.abs(room), to_rim, out=to_rim)
        np.less(to_rim, self._thin, out=self._near)
        outside = np.less(room, self._rim)
        np.multiply(t, self._slope, out=t)
        np.add(t, self._z, out=t)
        np.add(t, rise(np.maximum(room, 0.0, out=room), w, self._cutter), out=t)
        np.copyto(t, _FAR, where=outside)
        self._leave_close()

    def _leave_close(self) -> None:
        """Leave the cells close to the rim."""
        self.close = np.flatnonzero(self._near)
        if len(self.close):
            self._t.reshape(-1)[self.close] = _FAR
