"""The heights of the tool's point, interpolated between passes: the shape of a face without knowing its tools.

Where the point of the tool has been while it was fed below the face, its height is known; between neighbouring passes
it is taken as linear. That is the surface of the wood only for a tool without width, but it has every symmetry that the
wood has. What later passes go over again counts as they leave it, and of passes at one place the lowest.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.register.faces.chords import Cut
from flipreg.register.wood.mesh import Mesh

__all__ = ["LEVEL", "TipSurface", "sampled", "tip_surface"]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_MOST_POINTS = 20_000
"""Points that one stretch of cutting is sampled with, evenly along its way (chosen): a quarter of a second."""
_FINEST_MM = 0.2
"""Samples need not lie closer than this, in millimetres (chosen): a round of 5 mm radius is then straight to 0.001."""
_WIDEST_MM, _WIDEST_SHARE = 20.0, 0.6
"""Between points farther apart than this, or than this share of the narrower side, nothing is interpolated (chosen)."""
_ROOM = 3.0
"""Nor between points this many times farther apart than passes mostly are (chosen)."""
_STEEP = 2.0
"""A point over a lower one that rises more steeply than this was cut before it: a plunge or another level (chosen)."""
LEVEL = 0.01
"""Where the surface rises by less than this it counts as level; rise over run (chosen)."""
_SAME_HEIGHT_MM = 0.05
"""A later pass that is higher by less than this counts as going over an earlier one again; millimetres (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class TipSurface:
    """A surface of triangles between points where the tool has been.

    Attributes
    ----------
    points_mm : float64, shape (n, 3)
        Positions of the tool's point, in the program frame of the face.
    slope : float64, shape (n, 2)
        Gradient of the height there, the mean of the triangles around; 0 where none is known.
    spacing_mm : float
        Distance of passes: the longest edge of a triangle, median over the area.
    error_mm : float
        How far heights between passes may be off, where the surface isn't level: median of the triangles' own, which is
        `s² / (8 r)` between passes `s` apart on a surface of radius `r`.
    """

    points_mm: Floats
    slope: Floats
    spacing_mm: float
    error_mm: float
    _mesh: Mesh
    _gradient: Floats
    _is_known: Bools

    def at(self, places_mm: Floats) -> tuple[Floats, Floats]:
        """Return heights, shape (n,), and gradients, shape (n, 2), at places of shape (n, 2); NaN where unknown."""
        return self.beside(places_mm)[:2]

    def beside(
        self, places_mm: Floats, near: NDArray[np.intp] | None = None
    ) -> tuple[Floats, Floats, NDArray[np.intp]]:
        """Return what `at` does, and triangles to begin with when places near these are looked at; see `Mesh`."""
        triangle, known = self._mesh.triangle_at(places_mm, near)
        known &= self._is_known[triangle]
        corner = self._mesh.corners[triangle, 0]
        gradient = self._gradient[triangle]
        off = places_mm - self.points_mm[corner, :2]
        height = self.points_mm[corner, 2] + (gradient * off).sum(axis=1)
        return np.where(known, height, np.nan), np.where(known[:, np.newaxis], gradient, np.nan), triangle


def tip_surface(cuts: Sequence[Cut]) -> TipSurface | None:
    """Return the surface that a face's cuts leave for a tool without width.

    Parameters
    ----------
    cuts : sequence of Cut
        The stretches of the face, in the order in which they run.

    Returns
    -------
    TipSurface or None
        None where nothing is cut that has an area.
    """
    kept: list[Floats] = []
    for cut in cuts:
        points = _not_above_others(sampled(cut))
        later = _surface(points) if kept else None
        if later is not None:
            kept = [earlier[~_gone_over(earlier, later)] for earlier in kept]
        kept.append(points)
    return _surface(_thinned(np.concatenate(kept))) if kept else None


def sampled(cut: Cut) -> Floats:
    """Return points along the cut at even distances, shape (n, 3); of motions across only."""
    chord = np.flatnonzero((cut.run[1:] == cut.run[:-1]) & ~cut.gap[1:])
    start, step = cut.xyz_mm[chord], cut.xyz_mm[chord + 1] - cut.xyz_mm[chord]
    length = np.hypot(step[:, 0], step[:, 1])
    end = np.cumsum(length)
    if not len(end) or not end[-1] > 0.0:
        return np.empty((0, 3))
    every = max(float(end[-1]) / _MOST_POINTS, _FINEST_MM)
    along = np.arange(every / 2, float(end[-1]), every)
    row = np.minimum(np.searchsorted(end, along, side="right"), len(end) - 1)
    share = (along - (end[row] - length[row])) / length[row]
    return np.asarray(start[row] + share[:, np.newaxis] * step[row])


def _not_above_others(points: Floats) -> Floats:
    """Leave out points that stand steeply over lower ones close by."""
    if not len(points):
        return points
    size = np.ptp(points[:, :2], axis=0)
    cell = max(float(np.sqrt(size[0] * size[1] / len(points))), 2 * _FINEST_MM)
    at = np.floor((points[:, :2] - points[:, :2].min(axis=0)) / cell).astype(np.int64) + 1
    wide = int(at[:, 1].max()) + 2
    key = at[:, 0] * wide + at[:, 1]
    order = np.lexsort((points[:, 2], key))
    cells, first = np.unique(key[order], return_index=True)
    lowest = order[first]
    below = np.zeros(len(points), np.bool_)
    for step in (-wide - 1, -wide, -wide + 1, -1, 0, 1, wide - 1, wide, wide + 1):
        found = np.minimum(np.searchsorted(cells, key + step), len(cells) - 1)
        other = points[lowest[found]]
        apart = np.hypot(*(points[:, :2] - other[:, :2]).T)
        below |= (cells[found] == key + step) & (points[:, 2] - other[:, 2] > _STEEP * apart + _SAME_HEIGHT_MM)
    return points[~below]


def _gone_over(points: Floats, later: TipSurface) -> Bools:
    height, _ = later.at(points[:, :2])
    with np.errstate(invalid="ignore"):
        return np.less(height, points[:, 2] + _SAME_HEIGHT_MM)


def _thinned(points: Floats) -> Floats:
    return points[:: max(1, -(-len(points) // _MOST_POINTS))]


def _one_each(points: Floats) -> Floats:
    """Return the lowest point of each cell of half the finest spacing: of passes on passes one is enough."""
    cell = np.floor(points[:, :2] / (_FINEST_MM / 2))
    order = np.lexsort((points[:, 2], cell[:, 1], cell[:, 0]))
    is_first = np.concatenate([[True], (np.diff(cell[order], axis=0) != 0).any(axis=1)])[: len(points)]
    return np.asarray(points[np.sort(order[is_first])])


def _surface(points: Floats) -> TipSurface | None:
    points = _one_each(points)
    mesh = Mesh.of(points[:, :2])
    if mesh is None:
        return None
    corners = points[mesh.corners]
    edges = corners[:, :, :2] - np.roll(corners[:, :, :2], 1, axis=1)
    longest = np.sqrt((edges**2).sum(axis=2).max(axis=1))
    gradient, area = _gradients(corners)
    narrow = float(np.ptp(points[:, :2], axis=0).min())
    usable = (longest <= min(_WIDEST_MM, _WIDEST_SHARE * narrow)) & (area > 0.0)
    if not bool(usable.any()):
        return None
    spacing = _median(longest[usable], area[usable])
    known = usable & (longest <= _ROOM * spacing)
    weight = np.where(known, area, 0.0)
    # A corner's slope is the mean of the triangles around it.
    total, slope = np.zeros(len(points)), np.zeros((len(points), 2))
    for corner in mesh.corners.T:
        total += np.bincount(corner, weight, len(points))
        for axis in (0, 1):
            slope[:, axis] += np.bincount(corner, np.nan_to_num(gradient[:, axis]) * weight, len(points))
    slope /= np.maximum(total, 1e-300)[:, np.newaxis]
    bend = np.zeros(len(gradient))
    for other in mesh.neighbours.T:
        change = np.hypot(*(gradient - gradient[other]).T)
        bend = np.fmax(bend, np.where((other >= 0) & known[other], change, 0.0))
    shaped = known & (np.hypot(*gradient.T) > LEVEL)
    error = _median(bend[shaped] * longest[shaped] / 8.0, area[shaped]) if bool(shaped.any()) else 0.0
    return TipSurface(points, slope, spacing, error, mesh, gradient, known)


def _median(values: Floats, weight: Floats) -> float:
    order = np.argsort(values)
    share = np.cumsum(weight[order])
    return float(values[order][min(int(np.searchsorted(share, 0.5 * share[-1])), len(values) - 1)])


def _gradients(corners: Floats) -> tuple[Floats, Floats]:
    """Return the gradients of triangles in space, shape (n, 2), and their areas in the plane; NaN and 0 for slivers."""
    one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    twice = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
    flat = np.abs(twice) < 1e-12
    twice = np.where(flat, np.nan, twice)
    gradient = np.stack(
        [
            (one[:, 2] * two[:, 1] - two[:, 2] * one[:, 1]) / twice,
            (two[:, 2] * one[:, 0] - one[:, 2] * two[:, 0]) / twice,
        ],
        axis=1,
    )
    return gradient, np.nan_to_num(np.abs(twice) / 2)
