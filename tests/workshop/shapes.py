"""What parts, openings and pockets look like from above, and the ways of a tool round them."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from random import Random
from typing import Protocol

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from tests.workshop.paths import Contour, Leg
from tests.workshop.placement import Placement, Point, Points, shift, turn

_SMALLEST_MM = 0.05
"""No way round is smaller: a shape that an offset makes so small is gone."""
_SPLINE_STEPS = 12
_CORNER_MM = 3.0


class Shape(Protocol):
    """What has an edge, and ways along it at a distance: positive outside, negative inside."""

    def offset(self, distance: float = 0.0) -> list[Contour]: ...

    @property
    def polygon(self) -> Polygon: ...


@dataclass(frozen=True, slots=True)
class Circle:
    centre: Point
    radius: float

    def offset(self, distance: float = 0.0) -> list[Contour]:
        (x, y), radius = self.centre, self.radius + distance
        if radius <= _SMALLEST_MM:
            return []
        halves = (Leg((x - radius, y), self.centre), Leg((x + radius, y), self.centre))
        return [Contour((x + radius, y), halves)]

    @property
    def polygon(self) -> Polygon:
        angles = np.linspace(0, 2 * math.pi, 721)[:-1]
        x, y = self.centre
        return Polygon(np.c_[x + self.radius * np.cos(angles), y + self.radius * np.sin(angles)])


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A rectangle with rounded corners, turned about its centre; if they are as round as can be, a stadium."""

    centre: Point
    width: float
    height: float
    corner: float = 0.0
    turned: float = 0.0

    def offset(self, distance: float = 0.0) -> list[Contour]:
        half_w, half_h = self.width / 2 + distance, self.height / 2 + distance
        if min(half_w, half_h) <= _SMALLEST_MM:
            return []
        # Round an outer corner a tool rolls, even a sharp one; an inner corner gets as sharp as the tool's way.
        corner = min(max(self.corner + distance, 0.0), half_w, half_h)
        place = shift(*self.centre) @ turn(self.turned)
        if corner < 1e-9:
            corners = [(-half_w, -half_h), (half_w, -half_h), (half_w, half_h), (-half_w, half_h)]
            return [Contour.through(corners).moved(place)]
        inner_w, inner_h = half_w - corner, half_h - corner
        quarters = [
            ((inner_w, -half_h), (half_w, -inner_h), (inner_w, -inner_h)),
            ((half_w, inner_h), (inner_w, half_h), (inner_w, inner_h)),
            ((-inner_w, half_h), (-half_w, inner_h), (-inner_w, inner_h)),
            ((-half_w, -inner_h), (-inner_w, -half_h), (-inner_w, -inner_h)),
        ]
        start = here = (-inner_w, -half_h)
        legs: list[Leg] = []
        for before, after, centre in quarters:
            # A stadium has no straight leg between the two quarters of an end.
            if math.dist(here, before) > 1e-6:
                legs.append(Leg(before))
            legs.append(Leg(after, centre))
            here = after
        return [Contour(start, tuple(legs)).moved(place)]

    @property
    def polygon(self) -> Polygon:
        return Polygon(self.offset()[0].points(0.002))


@dataclass(frozen=True, slots=True)
class Outline:
    """Any polygon; its corners are sharp, or the vertices of a curve if it is smooth."""

    points: tuple[Point, ...]
    smooth: bool = False

    def offset(self, distance: float = 0.0) -> list[Contour]:
        grown = self.polygon
        if distance:
            grown = grown.buffer(
                distance, join_style="round" if self.smooth and distance > 0 else "mitre", mitre_limit=8, quad_segs=16
            )
        pieces = grown.geoms if isinstance(grown, MultiPolygon) else [grown]
        return [Contour.through(_begun_alike(piece)) for piece in pieces if piece.area > _SMALLEST_MM]

    @property
    def polygon(self) -> Polygon:
        return shapely.orient_polygons(Polygon(self.points))


def _begun_alike(polygon: Polygon) -> Sequence[Point]:
    """Return the corners, begun at the lowest: where an offset begins is left to the library that makes it."""
    ring = np.asarray(shapely.orient_polygons(polygon).exterior.coords)[:-1]
    far = np.hypot(*(ring - np.roll(ring, 1, axis=0)).T) > 0.004
    ring = ring[far]
    first = min(range(len(ring)), key=lambda i: (round(ring[i, 1], 3), round(ring[i, 0], 3)))
    return [(float(x), float(y)) for x, y in np.roll(ring, -first, axis=0)]


def regular(centre: Point, radius: float, corners: int, first_deg: float = 0.0) -> Outline:
    angles = [math.radians(first_deg + 360 * i / corners) for i in range(corners)]
    return Outline(tuple((centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in angles))


def spline(through: Sequence[Point], steps: int = _SPLINE_STEPS) -> Outline:
    """Return a closed curve through points (Catmull and Rom)."""
    knots = np.array(through, float)
    p0, p1, p2, p3 = (np.roll(knots, shift, axis=0)[:, None, :] for shift in (1, 0, -1, -2))
    t = (np.arange(steps) / steps)[None, :, None]
    curve = 0.5 * (
        2 * p1 + (p2 - p0) * t + (2 * p0 - 5 * p1 + 4 * p2 - p3) * t**2 + (3 * p1 - p0 - 3 * p2 + p3) * t**3
    )
    return Outline(tuple((float(x), float(y)) for x, y in curve.reshape(-1, 2)), smooth=True)


def blob(rng: Random, width: float, height: float, rough: float = 0.25) -> Outline:
    """Return a smooth shape that no shift, turn or mirror lays on itself."""
    count = rng.randrange(6, 12)
    knots = []
    for i in range(count):
        angle = 2 * math.pi * i / count
        x = width / 2 * (1 - rough * rng.random()) * math.cos(angle)
        y = height / 2 * (1 - rough * rng.random()) * math.sin(angle)
        knots.append((x, y))
    return spline(knots)


def edge_of(shape: Shape) -> Points:
    return np.array(shape.polygon.exterior.coords)


def wall_of(shape: Shape) -> Points:
    """Return the edge of an opening as far as a cutter gets into its corners, whatever the cutter: a little less."""
    radius = min(_CORNER_MM, 0.45 * narrowest(shape))
    rounded = shape.polygon.buffer(-radius, quad_segs=32).buffer(radius, quad_segs=32)
    return np.array(rounded.exterior.coords) if isinstance(rounded, Polygon) else edge_of(shape)


def moved(outline: Outline, placement: Placement) -> Outline:
    return Outline(tuple(placement(point) for point in outline.points), outline.smooth)


def narrowest(shape: Shape) -> float:
    """Return the shorter side of the smallest box round a shape."""
    box = shapely.get_coordinates(shapely.minimum_rotated_rectangle(shape.polygon))
    return float(np.hypot(*np.diff(box, axis=0).T)[:2].min())
