"""Where the strip of a piece crosses the rows of a grid: which cells have to be looked at.

A strip may be too long and never too short, so the ends are found in single precision and rounded outwards.
"""

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.pieces import Pieces, lag_factor
from flipreg.cut.tool import Cutter

__all__ = ["Ends", "Strips"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.intp]

Ends = tuple[Singles, Singles]
"""Where runs begin and end, shape (runs,): distances along them from each piece's lower end, towards the higher one."""

_ROUNDING = 2e-6
"""Share of the squared radius by which single precision may misjudge the distance to the rim (chosen)."""


class Strips:
    """The strips of some pieces, all crossed by rows along one axis.

    Parameters
    ----------
    pieces : Pieces
        The pieces.
    da, db : array, shape (pieces,)
        Their unit directions along the rows and across them; |da| is the larger.
    cutter : Cutter
        What is swept.
    """

    def __init__(self, pieces: Pieces, da: Floats, db: Floats, cutter: Cutter) -> None:
        self._pieces, self._cutter, self._da, self._db = pieces, cutter, da, db
        self._forward = np.abs(da)
        self._most_lag = _most_lag(pieces.slope, cutter)
        self._farthest = pieces.length + np.maximum(self._most_lag, pieces.after)

    def row_range(self, across_mm: float) -> tuple[Floats, Floats]:
        """Return the lowest and the highest row that strips of half a width meet.

        Returns
        -------
        two arrays, shape (pieces,)
            Distances across the rows from the pieces' lower ends, in millimetres.
        """
        low, high = -self._pieces.before * self._db, self._farthest * self._db
        reach = across_mm * self._forward
        return np.minimum(low, high) - reach, np.maximum(low, high) + reach

    def level_ends(self, piece: Ints, b_mm: Singles) -> Ends:
        """Return where runs begin and end as if all motions were level; rising ones begin and end within that.

        Parameters
        ----------
        piece : int array, shape (runs,)
            The piece of each run.
        b_mm : array, shape (runs,)
            Where its row is, across the rows, from the piece's lower end.
        """
        skew = b_mm * _single(self._db / self._forward)[piece]
        start = _single(-self._pieces.before / self._forward)[piece]
        start -= skew
        stop = _single(self._farthest / self._forward)[piece]
        stop -= skew
        return start, stop

    def across(self, piece: Ints, b_mm: Singles, ends: Ends) -> tuple[Singles, Singles]:
        """Return the least and the largest distance from the piece's line within each run, in millimetres."""
        slant = _single(self._db * np.sign(self._da))[piece]
        away = b_mm * _single(self._da)[piece]
        one, other = away - ends[0] * slant, away - ends[1] * slant
        low, high = np.minimum(one, other), np.maximum(one, other)
        nearest = np.maximum(low, -high)
        np.maximum(nearest, 0.0, out=nearest)
        return nearest, np.maximum(high, -low)

    def rising_ends(self, piece: Ints, b_mm: Singles, ends: Ends) -> Ends:
        """Return where runs of rising pieces begin and end: the lag depends on the distance across.

        Where a rising piece comes before, the run begins where that piece's lag ends, less what the turn between them
        can shift; see `flipreg.cut.pieces`.
        """
        pieces, cutter, forward = self._pieces, self._cutter, self._forward
        nearest, farthest = self.across(piece, b_mm, ends)
        square = cutter.radius_mm**2
        own = lag_factor(pieces.slope, cutter)
        np.multiply(nearest, nearest, out=nearest)
        np.subtract(np.float32(square * (1.0 + _ROUNDING)), nearest, out=nearest)
        np.maximum(nearest, 0.0, out=nearest)
        stop = np.sqrt(nearest, out=nearest)
        if cutter.is_flat or cutter.is_ball:
            stop *= _single(own / forward)[piece]
        else:
            np.minimum(stop, _single(self._most_lag)[piece], out=stop)
            stop *= _single(1.0 / forward)[piece]
        np.maximum(stop, _single(pieces.after / forward)[piece], out=stop)
        stop += _single(pieces.length / forward)[piece]

        has_rise_before = pieces.lag_factor_before >= 0.0
        shared = np.where(has_rise_before, np.minimum(pieces.lag_factor_before, own), 0.0)
        turned = np.where(has_rise_before, 2.0 * pieces.before, np.inf)
        farthest += _single(2.0 * pieces.before)[piece]
        np.multiply(farthest, farthest, out=farthest)
        np.subtract(np.float32(square * (1.0 - _ROUNDING)), farthest, out=farthest)
        np.maximum(farthest, 0.0, out=farthest)
        start = np.sqrt(farthest, out=farthest)
        start *= _single(shared / forward)[piece]
        start -= _single(turned / forward)[piece]
        np.maximum(start, _single(-pieces.before / forward)[piece], out=start)
        skew = b_mm * _single(self._db / forward)[piece]
        start -= skew
        stop -= skew
        return start, stop


def _most_lag(slope: Floats, cutter: Cutter) -> Floats:
    """Return the largest lag anywhere across the motion."""
    if cutter.is_flat:
        most: Floats = np.full_like(slope, cutter.radius_mm)
    elif cutter.slope > 0.0:
        most = np.maximum(cutter.tip_radius_mm, cutter.radius_mm * np.minimum(slope / cutter.slope, 1.0))
    else:
        most = cutter.tip_radius_mm + cutter.corner_radius_mm * slope / np.sqrt(1.0 + slope * slope)
    return np.where(slope > 0.0, most, 0.0)


def _single(column: Floats) -> Singles:
    return column.astype(np.float32)
