"""The region that a cutter sweeps in XY, as polygons.

Buffering a long path whole takes anything between a moment and many seconds, because its own crossings have to be found
first; buffering every motion makes far too many polygons. Pieces of 64 corners, each buffered and all united
at once, take the same short time whatever the path does.
"""

from math import acos, ceil, pi

import numpy as np
import shapely
from numpy.typing import NDArray

from flipreg.geometry.chords import flatten
from flipreg.path import Path

__all__ = ["outline"]

Floats = NDArray[np.float64]

_CORNERS = 64
"""Corners of a piece (chosen, measured): half or twice as many take longer."""
_SAME_MM = 1e-9
"""Corners this close are one; millimetres (chosen)."""


def outline(path: Path, radius_mm: float, *, chord_mm: float) -> shapely.Polygon | shapely.MultiPolygon:
    """Return the region within a radius of the motions, seen from above.

    Parameters
    ----------
    path : Path
        The motions that count, all of them: take the rows of cutting, or those below the face, before. Motions whose
        X or Y is not known are left out.
    radius_mm : float
        Radius of the cutter, over 0.
    chord_mm : float
        How far arcs, those of the path and those round its corners, may stand off their chords, over 0. The region's
        edge lies inside the true one by up to twice that, where it is round.

    Returns
    -------
    shapely.Polygon or shapely.MultiPolygon
        In the frame of the path, millimetres; holes where nothing is swept; empty without motions.

    Raises
    ------
    ValueError
        If a length is not over 0.
    """
    if not radius_mm > 0.0:
        raise ValueError(f"a cutter has a radius over 0 mm, got {radius_mm}")
    known = np.isfinite(path.start[:, :2]).all(axis=1) & np.isfinite(path.end[:, :2]).all(axis=1)
    known &= ~path.is_arc | (np.isfinite(path.start).all(axis=1) & np.isfinite(path.end).all(axis=1))
    lines = _lines(path.take(known), chord_mm)
    if not len(lines):
        return shapely.Polygon()
    grown = shapely.buffer(lines, radius_mm, quad_segs=_quarter_chords(radius_mm, chord_mm))
    region = shapely.union_all(grown)
    if not isinstance(region, shapely.Polygon | shapely.MultiPolygon):
        raise TypeError(f"the union of buffers is a {region.geom_type}")
    return region


def _lines(path: Path, chord_mm: float) -> NDArray[np.object_]:
    """Return line strings of at most `_CORNERS` corners; a motion along Z only, alone, is a point."""
    corners, row = flatten(path.start, path.end, path.centre, path.normal, path.sweep_deg, path.is_arc, chord_mm)
    if not len(corners):
        return np.empty(0, dtype=object)
    is_first = np.concatenate([[True], row[1:] != row[:-1]])
    start = np.concatenate([corners[:1], corners[:-1]])[:, :2]
    start[is_first] = path.start[row[is_first], :2]
    end = corners[:, :2]
    starts_run = np.concatenate([[True], (np.abs(start[1:] - end[:-1]) > _SAME_MM).any(axis=1)])
    # Motions that stay in place in XY add no corner, unless nothing else is there.
    stays = (np.abs(end - start) <= _SAME_MM).all(axis=1) & ~starts_run
    start, end, starts_run = start[~stays], end[~stays], starts_run[~stays]
    run_first = np.maximum.accumulate(np.where(starts_run, np.arange(len(start)), 0))
    starts_piece = (np.arange(len(start)) - run_first) % (_CORNERS - 1) == 0
    piece = np.cumsum(starts_piece) - 1
    # A piece has its first motion's start, then every motion's end.
    order = np.argsort(np.concatenate([piece[starts_piece] * 2, piece * 2 + 1]), kind="stable")
    points = np.concatenate([start[starts_piece], end])[order]
    owner = np.concatenate([piece[starts_piece], piece])[order]
    lines: NDArray[np.object_] = np.asarray(shapely.linestrings(points, indices=owner), dtype=object)
    return np.atleast_1d(lines)


def _quarter_chords(radius_mm: float, chord_mm: float) -> int:
    """Return how many chords a quarter turn needs to stay within the tolerance."""
    if not chord_mm > 0.0:
        raise ValueError(f"a chord tolerance is a length over 0 mm, got {chord_mm}")
    half = acos(max(1.0 - chord_mm / radius_mm, 0.0))
    return max(2, ceil(pi / 4 / half))
