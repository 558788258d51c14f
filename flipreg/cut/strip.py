"""Where the strip of a piece crosses the rows of a grid: which cells have to be looked at.

A strip may be too long and never too short, so the ends are found in single precision and rounded outwards.
"""

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.pieces import Pieces, lag_factor
from flipreg.cut.tool import Cutter

__all__ = ["row_range", "run_ends"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

_ROUNDING = 2e-6
"""Share of the squared radius by which single precision may misjudge the distance to the rim (chosen)."""


def row_range(pieces: Pieces, da: Floats, db: Floats, cutter: Cutter) -> tuple[Floats, Floats]:
    """Return the lowest and the highest row that each strip meets.

    Parameters
    ----------
    pieces : Pieces
        The strips.
    da, db : array, shape (pieces,)
        Their unit directions along the runs and across them.
    cutter : Cutter
        What is swept.

    Returns
    -------
    two arrays, shape (pieces,)
        Distances across the runs from the pieces' lower ends, in millimetres.
    """
    low, high = -pieces.before * db, _farthest(pieces, cutter) * db
    reach = cutter.radius_mm * np.abs(da)
    return np.minimum(low, high) - reach, np.maximum(low, high) + reach


def run_ends(b_mm: Singles, da: Floats, db: Floats, pieces: Pieces, cutter: Cutter) -> tuple[Singles, Singles]:
    """Return where the runs begin and end.

    Parameters
    ----------
    b_mm : array, shape (rows, pieces)
        Where the rows are, across the runs, from each piece's lower end.
    da, db : array, shape (pieces,)
        Unit directions along the runs and across them; |da| is the larger.
    pieces : Pieces
        The strips.
    cutter : Cutter
        What is swept.

    Returns
    -------
    two arrays, shape (rows, pieces)
        Distances along the runs from each piece's lower end, in millimetres.
    """
    forward = np.abs(da)
    sideways = _single(db / forward)
    skew = b_mm * sideways
    start = _single(-pieces.before / forward) - skew
    stop = _single(_farthest(pieces, cutter) / forward) - skew
    if bool((pieces.slope > 0.0).any()):
        nearest, farthest = _across(b_mm, start, stop, _single(da), _single(db * np.sign(da)))
        start, stop = _rising_ends(nearest, farthest, forward, pieces, cutter)
        start -= skew
        stop -= skew
    backwards = da < 0.0
    if not bool(backwards.any()):
        return start, stop
    return np.where(backwards, -stop, start), np.where(backwards, -start, stop)


def _farthest(pieces: Pieces, cutter: Cutter) -> Floats:
    """Return how far beyond the lower end a strip reaches anywhere along the motion."""
    return pieces.length + np.maximum(_most_lag(pieces.slope, cutter), pieces.after)


def _across(b: Singles, start: Singles, stop: Singles, da: Singles, slant: Singles) -> tuple[Singles, Singles]:
    """Return the least and the largest distance from the piece's line within each run."""
    across = b * da
    one = across - start * slant
    other = across - stop * slant
    low, high = np.minimum(one, other), np.maximum(one, other)
    nearest = np.maximum(low, -high)
    np.maximum(nearest, 0.0, out=nearest)
    farthest = np.maximum(high, -low)
    return nearest, farthest


def _rising_ends(
    nearest: Singles, farthest: Singles, forward: Floats, pieces: Pieces, cutter: Cutter
) -> tuple[Singles, Singles]:
    """Return the ends of runs of rising pieces: the lag depends on the distance across.

    Where a rising piece comes before, the run begins where that piece's lag ends, less what the turn between them
    can shift; see `flipreg.cut.pieces`.
    """
    square = cutter.radius_mm**2
    own = lag_factor(pieces.slope, cutter)
    np.multiply(nearest, nearest, out=nearest)
    np.subtract(np.float32(square * (1.0 + _ROUNDING)), nearest, out=nearest)
    np.maximum(nearest, 0.0, out=nearest)
    stop = np.sqrt(nearest, out=nearest)
    if cutter.is_flat or cutter.is_ball:
        stop *= _single(own / forward)
    else:
        np.minimum(stop, _single(_most_lag(pieces.slope, cutter)), out=stop)
        stop *= _single(1.0 / forward)
    np.maximum(stop, _single(pieces.after / forward), out=stop)
    stop += _single(pieces.length / forward)

    has_rise_before = pieces.lag_factor_before >= 0.0
    shared = np.where(has_rise_before, np.minimum(pieces.lag_factor_before, own), 0.0)
    turned = np.where(has_rise_before, 2.0 * pieces.before, np.inf)
    farthest += _single(2.0 * pieces.before)
    np.multiply(farthest, farthest, out=farthest)
    np.subtract(np.float32(square * (1.0 - _ROUNDING)), farthest, out=farthest)
    np.maximum(farthest, 0.0, out=farthest)
    start = np.sqrt(farthest, out=farthest)
    start *= _single(shared / forward)
    start -= _single(turned / forward)
    np.maximum(start, _single(-pieces.before / forward), out=start)
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
