"""The silhouette of the cut: what is left to compare where a face has no closed outline.

Carving programs go to and fro in thousands of short lines. The region they sweep has an edge all the same, where the
lines end. It is found by growing the lines until neighbours join and shrinking the result again, for both faces
by the same amount. Between the ends of lines `s` apart it is true to about `s² / (8 r)`.
"""

from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from flipreg.register.faces.chords import Cut
from flipreg.register.faces.features import Features
from flipreg.register.faces.loop import Loop
from flipreg.register.faces.outline import Outline, Side
from flipreg.register.placing.matching import Faces
from flipreg.register.placing.search import Fit, fits

__all__ = ["silhouette", "with_silhouettes"]

Floats = NDArray[np.float64]

_GROW_SHARE = 0.015
"""How far lines are grown, as a share of the size of the cut, at least 2 mm (chosen): more than a stepover."""
_COARSE_SHARE = 0.015
"""Silhouettes that differ by more than this share of their size, or by 5 mm, are of different regions (chosen)."""
_LARGER = 1.2
"""A contour of so many times the area of a silhouette runs round it (chosen); an edge is as large as that."""
_ROOM = 1.3
"""How much more than the best agreement counts as agreement (chosen)."""
_ONE_LINE_MM = 0.01
"""Lines between places this close together are one line, in millimetres (chosen)."""
_SIMPLER_MM = 0.01
"""Corners closer than this to the edge without them are left out, in millimetres (chosen)."""
_CHUNK = 64
"""Corners buffered together; measured: larger and smaller chunks are slower."""
_QUAD_SEGS = 24
"""Chords a quarter turn of what is grown and shrunk: true to 0.05 % of how far that is (chosen)."""


def with_silhouettes(faces: Faces) -> tuple[Faces | None, list[Fit]]:
    """Return the faces with silhouettes in place of outlines, and how they fit; None where a face has none.

    Where the silhouettes agree in shape, but less closely than the tolerance asks for, the faces that are returned have
    as their tolerance what the silhouettes can show.
    """
    if faces.front.is_empty or faces.back.is_empty:
        return None, []
    size = max(faces.front.size_mm, faces.back.size_mm)
    known = [radius for radius in (*faces.front.radius_mm, *faces.back.radius_mm) if radius is not None]
    grow = max([2.0, _GROW_SHARE * size, *known])
    tools_known = len(known) == len(faces.front.radius_mm) + len(faces.back.radius_mm)
    seen: list[Features] = []
    for features in (faces.front, faces.back):
        ring = silhouette(features, grow, use_tools=tools_known)
        if ring is None:
            return None, []
        seen.append(replace(features, outlines=(_outline(ring, known=tools_known),)))
    if all(_runs_round(face, one) for face, one in zip((faces.front, faces.back), seen, strict=True)):
        return None, []
    sharp = Faces(seen[0], seen[1], faces.tolerance_mm, faces.meeting, faces.wider_mm)
    found = fits(sharp)
    left = min((fit.register.worst_mm for fit in found if fit.register.worst_mm is not None), default=None)
    if left is None or left <= faces.tolerance_mm or left > max(1.0, min(5.0, _COARSE_SHARE * size)):
        return sharp, found
    coarse = Faces(seen[0], seen[1], _ROOM * left, faces.meeting, faces.wider_mm)
    return coarse, fits(coarse)


def _runs_round(features: Features, seen: Features) -> bool:
    """Return whether a contour runs round the silhouette: then it is a recess, which may lie elsewhere by design."""
    area = seen.outlines[0].loop.area_mm2
    return any(outline.loop.area_mm2 > _LARGER * area for outline in features.outlines)


def silhouette(features: Features, grow_mm: float, *, use_tools: bool) -> Floats | None:
    """Return the outer edge of what is swept, shape (n + 1, 2), None where nothing is.

    Parameters
    ----------
    features : Features
        The face.
    grow_mm : float
        How far lines are grown to join their neighbours, at least the largest tool radius.
    use_tools : bool
        Whether the edge is that of the tool, or that of its centre's ways.
    """
    parts: list[shapely.Geometry] = []
    for cut, radius in zip(features.cuts, features.radius_mm, strict=True):
        if len(cut.run) == 0:
            continue
        back_mm = grow_mm - (radius if use_tools and radius is not None else 0.0)
        swept = shapely.buffer(_grown(cut, grow_mm), -back_mm, quad_segs=_QUAD_SEGS)
        # Growing wild lines and shrinking the result may leave rings that touch themselves.
        parts.append(shapely.make_valid(swept))
    polygons = [
        part
        for part in shapely.get_parts(shapely.union_all(parts)).tolist()
        if isinstance(part, shapely.Polygon) and not part.is_empty
    ]
    if not polygons:
        return None
    largest = max(polygons, key=lambda polygon: polygon.area)
    # Several far parts of one size have no single edge that could be compared.
    if largest.area < 0.8 * sum(polygon.area for polygon in polygons):
        return None
    return shapely.get_coordinates(shapely.simplify(largest.exterior, _SIMPLER_MM))


def _grown(cut: Cut, grow_mm: float) -> shapely.Geometry:
    """Return the region within `grow_mm` of the cut.

    Inside, where all cells around are cut, the cells themselves stand for the lines: of a million lines only those near
    the edge are grown.
    """
    cell = grow_mm / 2.0
    xy = cut.xyz_mm[:, :2]
    low = xy.min(axis=0) - 4 * cell
    shape = np.ceil((xy.max(axis=0) + 4 * cell - low) / cell).astype(np.int64) + 1
    chord = np.flatnonzero((cut.run[1:] == cut.run[:-1]) & ~cut.gap[1:])
    start, end = xy[chord], xy[chord + 1]
    occupied = np.zeros(shape, np.bool_)
    at = _along(start, end, cell, low)
    occupied[at[:, 0], at[:, 1]] = True
    inner = _eroded(occupied, 3)
    first = ((start - low) / cell).astype(np.int64)
    last = ((end - low) / cell).astype(np.int64)
    is_inner = inner[first[:, 0], first[:, 1]] & inner[last[:, 0], last[:, 1]]
    # A long chord may leave the inside between its ends; it is kept if it is longer than the rim is wide.
    is_inner &= np.abs(end - start).max(axis=1) <= 2 * cell
    # Lines that lie on one another, as nearly as anything is cut, have one edge.
    ends = np.round(np.concatenate([start, end], axis=1)[~is_inner] / _ONE_LINE_MM)
    _, one_each = np.unique(ends, axis=0, return_index=True)
    rim = chord[~is_inner][np.sort(one_each)]
    solids = _boxes(inner, low, cell)
    lines = _lines(xy, rim)
    return shapely.union_all([*shapely.buffer(lines, grow_mm, quad_segs=_QUAD_SEGS).tolist(), *solids])


def _along(start: Floats, end: Floats, cell: float, low: Floats) -> NDArray[np.int64]:
    """Return the cells that chords pass, sampled at half a cell, with repetitions, shape (m, 2)."""
    count = np.ceil(np.hypot(*(end - start).T) / (cell / 2)).astype(np.int64) + 1
    which = np.repeat(np.arange(len(start)), count)
    index = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)
    share = (index / np.maximum(count - 1, 1)[which])[:, np.newaxis]
    points = start[which] + (end - start)[which] * share
    return np.asarray((points - low) / cell, np.int64)


def _eroded(occupied: NDArray[np.bool_], cells: int) -> NDArray[np.bool_]:
    """Return the cells whose whole neighbourhood is occupied."""
    inner = occupied.copy()
    for _ in range(cells):
        smaller = inner.copy()
        for axis in (0, 1):
            for step in (-1, 1):
                smaller &= np.roll(inner, step, axis=axis)
        for step_x in (-1, 1):
            for step_y in (-1, 1):
                smaller &= np.roll(np.roll(inner, step_x, axis=0), step_y, axis=1)
        inner = smaller
    return inner


def _boxes(inner: NDArray[np.bool_], low: Floats, cell: float) -> list[shapely.Geometry]:
    """Return boxes that cover the inner cells, one a run of cells along Y."""
    edges = np.diff(np.pad(inner, ((0, 0), (1, 1))).astype(np.int8), axis=1)
    column, begin = np.nonzero(edges == 1)
    _, stop = np.nonzero(edges == -1)
    x, y0, y1 = low[0] + column * cell, low[1] + begin * cell, low[1] + stop * cell
    return list(np.atleast_1d(shapely.box(x, y0, x + cell, y1)).tolist())


def _lines(xy: Floats, rim: NDArray[np.intp]) -> NDArray[np.object_]:
    """Return line strings of at most `_CHUNK` chords through consecutive chords of the rim."""
    breaks = np.flatnonzero(np.diff(rim) != 1) + 1
    begins = np.concatenate([[0], breaks])
    ends = np.concatenate([breaks, [len(rim)]])
    pieces = np.maximum(1, -(-(ends - begins) // _CHUNK))
    owner = np.repeat(np.arange(len(begins)), pieces)
    piece = np.arange(len(owner)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    first = begins[owner] + piece * _CHUNK
    last = np.minimum(first + _CHUNK, ends[owner])
    sizes = last - first + 1
    line = np.repeat(np.arange(len(first)), sizes)
    offset = np.arange(len(line)) - np.repeat(np.cumsum(sizes) - sizes, sizes)
    # Corner k of a piece is the start of its chord k; the last one is the end of its last chord.
    corner = rim[np.minimum(first[line] + offset, last[line] - 1)] + (offset == sizes[line] - 1)
    lines = shapely.linestrings(xy[corner], indices=line)
    return np.atleast_1d(shapely.simplify(lines, 0.001))


def _outline(ring: Floats, *, known: bool) -> Outline:
    """Return a silhouette as an outline; its ring is the edge already."""
    points = ring[1:]
    polygon = shapely.Polygon(ring)
    loop = Loop(
        points_mm=points,
        gap=np.zeros(len(points), np.bool_),
        area_mm2=float(polygon.area),
        length_mm=float(polygon.length),
        box_mm=np.array(polygon.bounds),
        stretch_box_mm=np.array(polygon.bounds),
        floor_mm=float("nan"),
        row=0,
        last_row=0,
    )
    return Outline(loop, 0, 1, 0.0 if known else None, is_compensated=False, side=Side.OUTSIDE, is_silhouette=True)
