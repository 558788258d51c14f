"""The heights of a batch of runs, cell by cell: in double precision, and in single where that is enough.

Both compute what `flipreg.cut.sweep.lower_surface` says. Positions are taken from the piece's own end, so single
precision keeps some millionths of a millimetre; only close to the rim, where the surface is steep, does that grow
past 3e-5 mm in height, and those few cells are left for double precision.
"""

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.pieces import lag_factor
from flipreg.cut.runs import Runs
from flipreg.cut.sweep import RIM_SHARE, lag, lower_surface, rise
from flipreg.cut.tool import Cutter

__all__ = ["SingleKernel", "exactly", "is_single_enough"]

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


def is_single_enough(slope: Floats, cutter: Cutter) -> NDArray[np.bool_]:
    """Return for which pieces a `SingleKernel` may be used."""
    return (slope < _STEEP) & (cutter.radius_mm <= _LARGEST_MM) & (cutter.slope < _SHARP)


def exactly(runs: Runs, which: slice | NDArray[np.intp], along_mm: Floats, cutter: Cutter) -> Singles:
    """Return the heights of cells of runs, in double precision before they are rounded.

    Parameters
    ----------
    runs : Runs
        The runs.
    which : slice or int array
        Those that are asked about.
    along_mm : array that broadcasts against them
        Distances of the cells from the first one of their run.
    cutter : Cutter
        What is swept.
    """
    piece = runs.piece[which]
    a, b, da, db = runs.a[which] + along_mm, runs.b[which], runs.da[piece], runs.db[piece]
    pieces = runs.pieces.take(piece)
    heights = lower_surface(
        a * da + b * db, b * da - a * db, length_mm=pieces.length, slope=pieces.slope, z_mm=pieces.z, cutter=cutter
    )
    return heights.astype(np.float32)


class DoubleKernel:
    """The heights of the cells of runs in double precision, before they are rounded; see `SingleKernel`."""

    close = np.empty(0, np.intp)

    def __init__(self, runs: Runs, cutter: Cutter) -> None:
        self._runs, self._cutter = runs, cutter

    def lowest(self, along_mm: Floats, count: int) -> Singles:
        """Return heights; infinite where nothing is cut."""
        return exactly(self._runs, slice(count), along_mm, self._cutter)


class SingleKernel:
    """The heights of the cells of runs in single precision, with memory that is used again.

    Parameters
    ----------
    runs : Runs
        The runs.
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
        self._cutter = cutter
        pieces, radius, piece = runs.pieces, cutter.radius_mm, runs.piece
        a, b = runs.a.astype(np.float32), runs.b.astype(np.float32)
        da, db = runs.da.astype(np.float32)[piece], runs.db.astype(np.float32)[piece]
        u, w = a * da + b * db, b * da - a * db
        lag_share, slope = lag_factor(pieces.slope, cutter).astype(np.float32)[piece], pieces.slope[piece]
        self._square = np.float32(radius**2)
        self._rises = bool((slope > 0.0).any())
        # Along an axis the distance across is the same all along a run.
        self._is_straight = (cutter.is_ball or cutter.is_flat) and not bool(db.any())
        room = self._square - w * w if self._is_straight else w
        lagging = u - lag_share * np.sqrt(np.maximum(room, 0.0)) if self._is_straight else u
        self._columns = (
            *(u, w, da, db, room, lagging, lag_share),
            slope if cutter.slope > 0.0 else slope.astype(np.float32),
            slope.astype(np.float32),
            pieces.length.astype(np.float32)[piece],
            (pieces.z + (radius if cutter.is_ball else 0.0)).astype(np.float32)[piece],
        )
        self.close = np.empty(0, np.intp)
        self._memory, self._memory_near = np.empty((3, most), np.float32), np.empty(most, np.bool_)
        # The room at the rim, R² - r², is off by 2 R times the blur; its root, by that over twice the root.
        blur = 2.0 * radius * _BLUR * (float(pieces.length.max()) + radius)
        self._thin = np.float32(min((blur / (2.0 * _HEIGHT_MM)) ** 2, 0.1 * radius**2))
        self._rim = np.float32(-max(RIM_SHARE * radius**2, blur))

    def lowest(self, along_mm: Floats, count: int) -> Singles:
        """Return heights, but nothing cut for the cells that are `close`; infinite where nothing is cut.

        The array is overwritten by the next call.

        Parameters
        ----------
        along_mm : array, shape (steps, 1)
            Distances from the runs' first cells.
        count : int
            How many of the runs are asked about.

        Returns
        -------
        float32 array, shape (steps, count)
            Z in millimetres.
        """
        shape, size = (len(along_mm), count), len(along_mm) * count
        self._x, self._spare, self._t = (part[:size].reshape(shape) for part in self._memory)
        x, room, t = self._x, self._spare, self._t
        self._near = self._memory_near[:size].reshape(shape)
        u, w, da, db, straight_room, lagging, lag_share, self._lag_slope, self._slope, self._length, self._z = (
            column[:count] for column in self._columns
        )
        self.close = np.empty(0, np.intp)
        along = along_mm.astype(np.float32)
        np.multiply(along, da, out=x)
        if self._is_straight:
            room = np.asarray(straight_room, np.float32)
            np.add(x, lagging if self._rises else u, out=t)
            np.add(x, u, out=x)
        else:
            np.multiply(along, db, out=room)
            np.subtract(w, room, out=room)
            np.add(x, u, out=x)
            if not (self._cutter.is_ball or self._cutter.is_flat):
                self._other()
                return t
            np.multiply(room, room, out=room)
            np.subtract(self._square, room, out=room)
            if self._rises:
                np.maximum(room, 0.0, out=t)
                np.sqrt(t, out=t)
                np.multiply(t, lag_share, out=t)
                np.subtract(x, t, out=t)
            else:
                np.copyto(t, x)
        np.maximum(t, 0.0, out=t)
        np.minimum(t, self._length, out=t)
        np.subtract(x, t, out=x)
        np.multiply(x, x, out=x)
        if self._cutter.is_ball:
            self._ball(room)
        else:
            self._flat(room)
        return t

    def _ball(self, to_rim: Singles) -> None:
        """Compute heights where the tips at `t` along the motion see the points `x` off, squared."""
        x, root, t = self._x, self._spare, self._t
        room = np.subtract(to_rim, x, out=x)
        np.less(np.abs(room, out=root), self._thin, out=self._near)
        # Outside the rim the root is NaN, which fmin takes for nothing.
        np.sqrt(room, out=root)
        if self._rises:
            np.multiply(t, self._slope, out=t)
            np.add(t, self._z, out=t)
            np.subtract(t, root, out=t)
        else:
            np.subtract(self._z, root, out=t)
        np.fmin(t, _FAR, out=t)
        self._leave_close()

    def _flat(self, to_rim: Singles) -> None:
        x, t = self._x, self._t
        np.subtract(to_rim, x, out=x)
        if self._rises:
            np.multiply(t, self._slope, out=t)
            np.add(t, self._z, out=t)
        else:
            t[...] = self._z
        outside = np.less(x, self._rim, out=self._near)
        np.copyto(t, _FAR, where=outside)
        # On level motions no height is wrong, whatever the place.
        if self._rises:
            np.less(np.abs(to_rim), self._thin, out=self._near)
            self._leave_close()

    def _other(self) -> None:
        """Compute the heights of a cutter that has no quick way of its own."""
        u, w, t = self._x, self._spare, self._t
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
