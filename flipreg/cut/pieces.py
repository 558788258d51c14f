"""Motions as short straight pieces, and how far each one's strip has to reach.

What a path leaves is the lower envelope of what its pieces leave. To evaluate every piece on its whole stadium
would cost some ten times more than needed: along a smooth path nearly all of it is cut deeper by the neighbours. So
each piece gets a strip across its direction, just wide enough that no point of the envelope is missed:

- Seen from a point, the height f along the path has a least value either inside a piece, and then the point lies
  between the piece's ends moved forward by the lag (see `flipreg.cut.sweep`); or at a corner where f falls before
  and rises after.
- For a corner between pieces with unit directions d and d', a point p (from the corner, no farther than R) has
  p·d - p·d' <= R |d - d'| = 2e, so p·d > e and p·d' < -e cannot both hold. If both strips reach e beyond the
  corner, one has p.
- Where both pieces rise through the corner the strips start after it, by the lag, and little is evaluated twice.

At a break (a path's ends, a jump) e is the whole radius. A test compares all of it with brute force on random motions.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.tool import Cutter

__all__ = ["Pieces", "lag_factor", "pieces_of", "split"]

Floats = NDArray[np.float64]

_STILL_MM = 1e-7
"""A motion that goes less far in XY is vertical, one that rises less is level; millimetres (chosen)."""
_JOINED_MM = 1e-7
"""Ends this close are one corner; millimetres (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Pieces:
    """Straight pieces looked at from their lower ends, columns of shape (n,), millimetres.

    Attributes
    ----------
    x, y, z : float64
        The tip at the lower end.
    dx, dy : float64
        Unit direction in XY towards the higher end; (1, 0) for a vertical piece.
    length : float64
        Length in XY, 0 for a vertical piece.
    slope : float64
        Rise over run, 0 or more; 0 for a vertical piece, of which only the lower end counts.
    before, after : float64
        How far beyond the lower and the higher end the strip has to reach for the turn there.
    lag_factor_before : float64
        Lag of the piece that rises through the lower end into this one, as a share of the distance to the rim; -1
        where none does.
    """

    x: Floats
    y: Floats
    z: Floats
    dx: Floats
    dy: Floats
    length: Floats
    slope: Floats
    before: Floats
    after: Floats
    lag_factor_before: Floats

    def __len__(self) -> int:
        return len(self.x)

    def take(self, rows: NDArray[np.intp] | NDArray[np.bool_]) -> "Pieces":
        """Return the named pieces."""
        return Pieces(*(getattr(self, name)[rows] for name in self.__slots__))


def pieces_of(start_mm: Floats, end_mm: Floats, cutter: Cutter) -> Pieces:
    """Return straight motions, in the order of the path, as pieces.

    Parameters
    ----------
    start_mm, end_mm : array, shape (n, 3)
        Ends of the motions, in millimetres.
    cutter : Cutter
        What is swept.
    """
    start, end = _without_rests(start_mm, end_mm)
    n = len(start)
    run = end[:, :2] - start[:, :2]
    rise = end[:, 2] - start[:, 2]
    length = np.hypot(run[:, 0], run[:, 1])
    is_vertical = length < _STILL_MM
    length = np.where(is_vertical, 0.0, length)
    over = np.where(is_vertical, 1.0, length)[:, np.newaxis]
    direction = np.where(is_vertical[:, np.newaxis], [1.0, 0.0], run / over)
    is_level = is_vertical | (np.abs(rise) < _STILL_MM)
    slope = np.where(is_level, 0.0, rise / np.where(is_level, 1.0, length))
    factor = lag_factor(np.abs(slope), cutter)

    # Corner i lies before piece i and after piece i - 1.
    reach = np.full(n + 1, cutter.radius_mm)
    joined = (np.abs(end[:-1] - start[1:]) <= _JOINED_MM).all(axis=1) if n else np.zeros(0, np.bool_)
    turn = 0.5 * np.hypot(*(direction[1:] - direction[:-1]).T) if n > 1 else np.zeros(0)
    reach[1:n][joined] = cutter.radius_mm * turn[joined] + 1e-9
    forward = np.full(n, -1.0)
    backward = np.full(n, -1.0)
    forward[1:] = np.where(joined & (slope[:-1] > 0.0), factor[:-1], -1.0)
    backward[:-1] = np.where(joined & (slope[1:] < 0.0), factor[1:], -1.0)
    before, after = reach[:-1].copy(), reach[1:].copy()
    # A vertical piece leaves its whole disc: nothing of its neighbours is missing around it.
    at_drop = joined & is_vertical[:-1]
    before[1:][at_drop], forward[1:][at_drop] = 0.0, 1.0
    at_plunge = joined & is_vertical[1:]
    after[:-1][at_plunge], backward[:-1][at_plunge] = 0.0, 1.0
    before[is_vertical] = after[is_vertical] = cutter.radius_mm

    falls = slope < 0.0
    low = np.where(falls[:, np.newaxis], end, start)
    return Pieces(
        x=low[:, 0],
        y=low[:, 1],
        z=np.minimum(start[:, 2], end[:, 2]),
        dx=np.where(falls, -direction[:, 0], direction[:, 0]),
        dy=np.where(falls, -direction[:, 1], direction[:, 1]),
        length=length,
        slope=np.abs(slope),
        before=np.where(falls, after, before),
        after=np.where(falls, before, after),
        lag_factor_before=np.where(falls, backward, forward),
    )


def _without_rests(start: Floats, end: Floats) -> tuple[Floats, Floats]:
    """Leave out motions that go nowhere, unless nothing else passes there."""
    rests = (np.abs(end - start) <= 1e-9).all(axis=1)
    if not bool(rests.any()):
        return start, end
    joined = (np.abs(end[:-1] - start[1:]) <= _JOINED_MM).all(axis=1)
    moves = ~rests
    # A rest is passed by another motion if, through other rests at most, it is joined to one that moves.
    chain = np.concatenate([[0], np.cumsum(~joined)])
    passed = np.bincount(chain[moves], minlength=int(chain[-1]) + 1) > 0
    first_of_chain = np.concatenate([[True], ~joined])
    keep = moves | (~passed[chain] & first_of_chain)
    return start[keep], end[keep]


def lag_factor(slope: Floats, cutter: Cutter) -> Floats:
    """Return a lower bound of the lag as a share of the distance to the rim, exact for ball and flat cutters."""
    if cutter.is_flat:
        return np.where(slope > 0.0, 1.0, 0.0)
    if cutter.slope > 0.0:
        return np.zeros_like(slope)
    # A bull nose contains the ball of its radius, pressed flat: its lag is no smaller.
    return np.asarray(slope / np.sqrt(1.0 + slope * slope))


def split(pieces: Pieces, cutter: Cutter, longest_mm: float) -> Pieces:
    """Return pieces of which none is longer: the strip along an oblique one is slanted, and mostly waste if long."""
    count = np.maximum(np.ceil(pieces.length / longest_mm - 1e-9), 1.0).astype(np.intp)
    if not bool((count > 1).any()):
        return pieces
    row = np.repeat(np.arange(len(pieces)), count)
    number = np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)
    whole = pieces.take(row)
    length = whole.length / count[row]
    along = number * length
    is_first, is_last = number == 0, number == count[row] - 1
    return Pieces(
        x=whole.x + along * whole.dx,
        y=whole.y + along * whole.dy,
        z=whole.z + along * whole.slope,
        dx=whole.dx,
        dy=whole.dy,
        length=length,
        slope=whole.slope,
        before=np.where(is_first, whole.before, 0.0),
        after=np.where(is_last, whole.after, 0.0),
        lag_factor_before=np.where(is_first, whole.lag_factor_before, lag_factor(whole.slope, cutter)),
    )
