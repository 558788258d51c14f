"""The walls that a face's cuts leave at one height: where they stand, to far less than a cell of the map.

A height map says between which two cells a wall stands. Where exactly, the cutters say: at a height, each place that
the tool has been clears a disc, and the wall is where the first disc begins.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.surface import CHORD_MM, chords
from flipreg.cut.tool import Cutter
from flipreg.path import Path
from flipreg.register.faces.placement import Placement

__all__ = ["EVERY_MM", "Swept", "Walls", "walls_at"]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

EVERY_MM = 0.5
"""Distance of the points along walls (chosen). More where walls are very long."""
_MOST_POINTS = 4_000
"""Points on the walls of one height, about (chosen): their distances bound the time of the fit."""
_SAMPLES_MM = 0.2
"""Distance at which ways of the tool are sampled (chosen): it leaves cusps of 0.002 mm with a tool of 3 mm radius."""
_MOST_SAMPLES = 1_000_000
"""Samples of the ways of the tools; longer ways are sampled more coarsely (chosen), to bound the memory."""
_PORTION = 500
"""Points whose walls are worked out at a time (chosen), to bound the memory."""
_SHORTEST_MM = 8.0
"""Walls shorter than this all round are left out: they are cusps, mostly; millimetres (chosen)."""
_TANGENT_POINTS = 3
"""Points to either side that give the direction of a wall (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Swept:
    """Where one cutter goes, as straight motions in one frame; Z from the face, down into the wood.

    Attributes
    ----------
    start_mm, end_mm : float64, shape (n, 3)
        Ends of the motions.
    cutter : Cutter
        What moves.
    """

    start_mm: Floats
    end_mm: Floats
    cutter: Cutter

    @classmethod
    def of(cls, cuts: Sequence[tuple[Path, Cutter]], placement: Placement | None = None) -> "Iterator[Swept]":
        """Yield the known motions of paths, in bounded portions, laid where a placement puts them."""
        for path, cutter in cuts:
            for start, end in chords(path, CHORD_MM):
                if placement is not None:
                    start, end = (np.column_stack([placement.apply(at[:, :2]), at[:, 2]]) for at in (start, end))
                yield cls(start, end, cutter)


@dataclass(frozen=True, slots=True, eq=False)
class Walls:
    """Points on walls at one height.

    Attributes
    ----------
    at_mm : float64, shape (n, 2)
        Where the wall stands.
    normal : float64, shape (n, 2)
        Unit vectors out of the wood.
    loop : int64, shape (n,)
        Number of the closed wall a point belongs to.
    radius_mm : float64, shape (n,)
        Radius of the cutter that made it.
    has_wood_inside : bool, shape (n,)
        Whether the closed wall goes round wood, and not round what is cut away.
    """

    at_mm: Floats
    normal: Floats
    loop: NDArray[np.int64]
    radius_mm: Floats
    has_wood_inside: Bools

    def take(self, rows: Bools) -> "Walls":
        """Return some of the points."""
        return Walls(
            self.at_mm[rows], self.normal[rows], self.loop[rows], self.radius_mm[rows], self.has_wood_inside[rows]
        )

    @classmethod
    def together(cls, several: Sequence["Walls"]) -> "Walls":
        """Return all points; loops of different heights stay different loops."""
        first = 0
        loops: list[NDArray[np.int64]] = []
        for one in several:
            loops.append(one.loop + first)
            first += int(one.loop.max(initial=-1)) + 1
        return cls(
            np.concatenate([one.at_mm for one in several]),
            np.concatenate([one.normal for one in several]),
            np.concatenate(loops),
            np.concatenate([one.radius_mm for one in several]),
            np.concatenate([one.has_wood_inside for one in several]),
        )


def walls_at(
    level_mm: float, heights_mm: NDArray[np.float32], grid: Grid, swept: Sequence[Swept], near: Bools
) -> Walls:
    """Return the walls of one face at a height.

    Parameters
    ----------
    level_mm : float
        The height, in the face's own Z.
    heights_mm : float32, shape `grid.shape`
        What the cuts leave, in the face's own Z.
    grid : Grid
        Of the heights.
    swept : sequence of Swept
        The cuts, in the frame of the grid.
    near : bool, shape `grid.shape`
        Cells whose walls are asked for.
    """
    points, loops, lines = _traced(level_mm, heights_mm, grid, near)
    normal, inside = _normals(points, loops, level_mm, heights_mm, grid)
    kept = ~np.isin(loops, _far_sides(lines, np.unique(loops[inside])))
    points, loops, normal, inside = points[kept], loops[kept], normal[kept], inside[kept]
    off, radius = _offsets(points, normal, level_mm, swept, 1.6 * grid.step_mm)
    points = points + off[:, np.newaxis] * normal
    normal = _tangent_normals(points, normal, loops)
    return Walls(points, normal, loops, radius, inside).take(np.isfinite(off))


def _traced(
    level: float, heights: NDArray[np.float32], grid: Grid, near: Bools
) -> tuple[Floats, NDArray[np.int64], list[Floats]]:
    """Return points along the level curves, evenly, the number of the curve of each, and the curves."""
    from contourpy import LineType, contour_generator

    cut = np.less_equal(heights, np.float32(level)).astype(np.float32)
    lines = contour_generator(z=cut, line_type=LineType.Separate).lines(0.5)
    origin = np.array([grid.x_mm, grid.y_mm])
    found: list[tuple[Floats, Floats]] = []
    lengths: list[float] = []
    for line in lines:
        places = origin + grid.step_mm * np.asarray(line, dtype=np.float64)
        length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(places, axis=0).T))])
        if length[-1] >= _SHORTEST_MM:
            found.append((places, length))
            lengths.append(float(length[-1]))
    every = max(EVERY_MM, sum(lengths) / (4 * _MOST_POINTS))
    points: list[Floats] = [np.empty((0, 2))]
    loops: list[NDArray[np.int64]] = [np.empty(0, np.int64)]
    for number, (places, length) in enumerate(found):
        along = np.arange(every / 2, length[-1], every)
        at = np.stack([np.interp(along, length, places[:, axis]) for axis in (0, 1)], axis=1)
        row, column, _ = grid.cells_at(at)
        at = at[near[row, column]]
        points.append(at)
        loops.append(np.full(len(at), number, np.int64))
    every_nth = max(1, -(-sum(map(len, points)) // _MOST_POINTS))
    curves = [places for places, _ in found]
    return np.concatenate(points)[::every_nth], np.concatenate(loops)[::every_nth], curves


def _normals(
    points: Floats, loops: NDArray[np.int64], level: float, heights: NDArray[np.float32], grid: Grid
) -> tuple[Floats, Bools]:
    """Return rough unit vectors out of the wood, and whether each point's loop has the wood inside."""
    from scipy.ndimage import gaussian_filter

    if not len(points):
        return np.empty((0, 2)), np.empty(0, np.bool_)
    cut = np.less_equal(heights, np.float32(level)).astype(np.float32)
    # The steps of the cells must not show in the direction.
    slope_y, slope_x = (gaussian_filter(cut, 2.0, order=order) for order in ((1, 0), (0, 1)))
    row, column, _ = grid.cells_at(points)
    normal = np.stack([slope_x[row, column], slope_y[row, column]], axis=1).astype(np.float64)
    normal /= np.maximum(np.hypot(*normal.T), 1e-12)[:, np.newaxis]
    inside = np.zeros(len(points), np.bool_)
    for number in np.unique(loops).tolist():
        mine = loops == number
        # A loop whose outside is cut has its wood inside: its points lie out of its middle along the normals.
        off = points[mine] - points[mine].mean(axis=0)
        inside[mine] = float((off * normal[mine]).sum()) > 0.0
    return normal, inside


def _far_sides(lines: Sequence[Floats], round_wood: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the loops round what is cut away that have a piece of wood inside: the far sides of kerfs and of waste.

    Where they stand depends on the tool, or on how far a raster was drawn; where the piece stands does not.
    """
    import shapely

    if not len(round_wood):
        return np.empty(0, np.int64)
    inner = shapely.points([lines[number][0] for number in round_wood.tolist()])
    others = np.setdiff1d(np.arange(len(lines)), round_wood)
    far = [number for number in others.tolist() if bool(shapely.Polygon(lines[number]).contains(inner).any())]
    return np.array(far, np.int64)


def _offsets(
    points: Floats, normal: Floats, level: float, swept: Sequence[Swept], reach: float
) -> tuple[Floats, Floats]:
    """Return how far along the normals the walls stand, NaN where none does, and the radius of what made them."""
    from scipy.spatial import cKDTree

    best = np.full(len(points), np.inf)
    radius = np.full(len(points), np.nan)
    for one in swept:
        widest = one.cutter.radius_mm
        places = _samples(one, level, points, widest + reach)
        if not len(places):
            continue
        clears = _section_radius(one.cutter, level - places[:, 2])
        tree = cKDTree(places[:, :2])
        for first in range(0, len(points), _PORTION):
            part = slice(first, first + _PORTION)
            pairs = cKDTree(points[part]).sparse_distance_matrix(tree, widest + reach, output_type="ndarray")
            wall, place = pairs["i"] + first, pairs["j"]
            is_edge = np.abs(pairs["v"] - clears[place]) <= 2.0 * reach
            wall, place = wall[is_edge], place[is_edge]
            off = places[place, :2] - points[wall]
            along = (off * normal[wall]).sum(axis=1)
            aside2 = (off**2).sum(axis=1) - along**2
            half = clears[place] ** 2 - aside2
            begins = along - np.sqrt(np.maximum(half, 0.0))
            good = (half > 0.0) & (np.abs(begins) <= reach)
            wall, begins = wall[good], begins[good]
            first_cut = np.full(len(points), np.inf)
            np.minimum.at(first_cut, wall, begins)
            radius = np.where(first_cut < best, widest, radius)
            best = np.minimum(best, first_cut)
    return np.where(np.isfinite(best), best, np.nan), radius


def _samples(one: Swept, level: float, points: Floats, reach: float) -> Floats:
    """Return places of the tool below a level and near to points, shape (n, 3)."""
    from scipy.spatial import cKDTree

    low = np.minimum(one.start_mm[:, 2], one.end_mm[:, 2]) < level
    if len(points):
        left, right = points.min(axis=0) - reach, points.max(axis=0) + reach
        low &= (np.maximum(one.start_mm, one.end_mm)[:, :2] >= left).all(axis=1)
        low &= (np.minimum(one.start_mm, one.end_mm)[:, :2] <= right).all(axis=1)
    start, step = one.start_mm[low], (one.end_mm - one.start_mm)[low]
    if not len(start) or not len(points):
        return np.empty((0, 3))
    length = np.sqrt((step**2).sum(axis=1))
    every = max(_SAMPLES_MM, float(length.sum()) / _MOST_SAMPLES)
    count = np.ceil(length / every).astype(np.intp) + 1
    row = np.repeat(np.arange(len(start)), count)
    number = np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)
    places = start[row] + step[row] * (number / np.maximum(count[row] - 1, 1))[:, np.newaxis]
    places = places[places[:, 2] < level]
    distance, _ = cKDTree(points).query(places[:, :2], distance_upper_bound=reach)
    return np.asarray(places[np.isfinite(distance)])


def _section_radius(cutter: Cutter, above_tip_mm: Floats) -> Floats:
    """Return how wide a cutter is at heights over its tip: half its diameter there."""
    up = np.maximum(above_tip_mm, 0.0)
    if cutter.corner_radius_mm > 0.0:
        corner = cutter.corner_radius_mm
        rest = np.maximum(corner - up, 0.0)
        return np.asarray(cutter.tip_radius_mm + np.sqrt(np.maximum((corner - rest) * (corner + rest), 0.0)))
    if cutter.slope > 0.0:
        return np.asarray(np.minimum(cutter.tip_radius_mm + up / cutter.slope, cutter.radius_mm))
    return np.full(len(up), cutter.radius_mm)


def _tangent_normals(points: Floats, normal: Floats, loops: NDArray[np.int64]) -> Floats:
    """Return normals from the neighbours along the wall; as they were at its ends."""
    out = normal.copy()
    n, k = len(points), _TANGENT_POINTS
    if n <= 2 * k:
        return out
    along = points[2 * k :] - points[: -2 * k]
    length = np.hypot(*along.T)
    turned = np.stack([along[:, 1], -along[:, 0]], axis=1) / np.maximum(length, 1e-12)[:, np.newaxis]
    middle = slice(k, n - k)
    turned *= np.sign((turned * normal[middle]).sum(axis=1))[:, np.newaxis]
    same = (loops[2 * k :] == loops[: -2 * k]) & ((turned * normal[middle]).sum(axis=1) > 0.7)
    out[middle] = np.where(same[:, np.newaxis], turned, normal[middle])
    return out
