"""Pockets: cleared by rings that keep their distance to the edge, or by a raster, and a last way along the wall."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from shapely import LineString, Polygon, affinity
from shapely.geometry.base import BaseGeometry

from tests.workshop.cuts import Cut, Cutter, Down, Lift, Move, Over, Shared, Straight
from tests.workshop.drilling import depths
from tests.workshop.paths import Contour
from tests.workshop.placement import Placement, Point, turn
from tests.workshop.profiling import straight_or_round
from tests.workshop.shapes import Shape, wall_of

Way = Literal["rings", "rings from outside", "raster", "raster and wall"]
_STEPOVER = 0.45
"""In diameters."""


@dataclass(frozen=True, slots=True)
class Clearing:
    """How a pocket is cleared; `raster_deg` is the direction of the lines of a raster."""

    cutter: Cutter
    depth: float
    way: Way
    raster_deg: float = 0.0
    stepover: float = _STEPOVER
    allowance: float = 0.0
    """What stays at the wall, for another tool."""


def pocket(
    shape: Shape, clearing: Clearing, program: str, *, islands: Sequence[Shape] = (), kind: str | None = None,
    name: str = "pocket",
) -> Cut | None:
    """Return the cut of a pocket, or nothing where the cutter doesn't get in; `kind` is what the other face shares."""
    inset = clearing.cutter.diameter / 2 + clearing.allowance
    heights = depths(clearing.depth, clearing.cutter.diameter * 0.8)
    if clearing.way.startswith("rings") and not islands:
        moves = list(_rings(shape, inset, clearing, heights))
    else:
        field: BaseGeometry = shape.polygon.buffer(-inset)
        for island in islands:
            field = field.difference(island.polygon.buffer(inset, quad_segs=12))
        moves = list(_raster(field, clearing, heights))
    if len(moves) < 3:
        return None
    shared = (Shared(kind, wall_of(shape)),) if kind else ()
    return Cut(name, clearing.cutter, program, (*moves, Lift()), shared)


def _rings(shape: Shape, inset: float, clearing: Clearing, heights: list[float]) -> Iterable[Move]:
    rings: list[Contour] = []
    offset = -inset
    while contours := shape.offset(offset):
        rings += contours
        offset -= clearing.stepover * clearing.cutter.diameter
    if clearing.way == "rings":
        rings.reverse()
    for z in heights:
        for ring in rings:
            yield from (Lift(), Over(ring.start), Down(z))
            yield from (straight_or_round(leg, z) for leg in ring.legs)


def _raster(field: BaseGeometry, clearing: Clearing, heights: list[float]) -> Iterable[Move]:
    turned = affinity.rotate(field, -clearing.raster_deg, origin=(0, 0))
    if turned.is_empty:
        return
    back = turn(clearing.raster_deg)
    lines = _lines(turned, clearing.stepover * clearing.cutter.diameter)
    for z in heights:
        yield from _to_and_fro(turned, lines, back, z)
        if clearing.way == "raster and wall":
            yield from _walls(field, z)


def _lines(field: BaseGeometry, step: float) -> list[list[tuple[Point, Point]]]:
    """Return for each line of the raster its stretches within the field, from left to right."""
    x0, y0, x1, y1 = field.bounds
    count = max(1, math.ceil((y1 - y0) / step))
    lines = []
    for y in np.linspace(y0 + 1e-3, y1 - 1e-3, count + 1).tolist():
        inside = shapely.get_parts(field.intersection(LineString([(x0 - 1, y), (x1 + 1, y)])))
        ends = sorted(sorted(part.coords) for part in inside if part.geom_type == "LineString" and part.length > 0.01)
        lines.append([((float(a[0]), y), (float(b[0]), y)) for a, *_, b in ends])
    return lines


def _to_and_fro(
    field: BaseGeometry, lines: list[list[tuple[Point, Point]]], back: Placement, z: float
) -> Iterable[Move]:
    roomy = field.buffer(0.01)
    here: Point | None = None
    for number, stretches in enumerate(lines):
        fro = number % 2 == 1
        for low, high in stretches[::-1] if fro else stretches:
            begin, end = (high, low) if fro else (low, high)
            # From line to line the tool stays down if the way over is through what is cleared.
            if here is not None and len(stretches) == 1 and roomy.contains(LineString([here, begin])):
                yield Straight(back(begin), z)
            else:
                yield from (Lift(), Over(back(begin)), Down(z))
            yield Straight(back(end), z)
            here = end


def _walls(field: BaseGeometry, z: float) -> Iterable[Move]:
    for part in shapely.get_parts(field):
        assert isinstance(part, Polygon)
        for ring in (part.exterior, *part.interiors):
            (x, y), *others = ring.simplify(0.003).coords
            yield from (Lift(), Over((x, y)), Down(z))
            yield from (Straight((px, py), z) for px, py in others)
