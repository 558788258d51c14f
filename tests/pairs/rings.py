"""Closed curves of lines and arcs, and shapes that say which curve a tool's centre follows along them."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import acos, atan2, ceil, cos, hypot, pi, sin
from typing import Protocol

import numpy as np
from shapely import Polygon

CHORD_MM = 0.004  # sagitta of a chord that stands for an arc (chosen well under the judge's margin)


@dataclass(frozen=True, slots=True)
class Edge:
    """An edge of a ring to the point x, y: straight, or an arc about cx, cy."""

    x: float
    y: float
    cx: float | None = None
    cy: float | None = None
    ccw: bool = True


@dataclass(frozen=True, slots=True)
class Ring:
    """A closed curve: it starts at the end of its last edge."""

    edges: tuple[Edge, ...]

    @property
    def is_ccw(self) -> bool:
        points = [(edge.x, edge.y) for edge in self.chords().edges]
        return sum(a * d - b * c for (a, b), (c, d) in zip(points, points[1:] + points[:1], strict=True)) > 0

    def reversed(self) -> "Ring":
        ends = [self.edges[-1], *self.edges[:-1]]
        return Ring(tuple(
            Edge(end.x, end.y, edge.cx, edge.cy, not edge.ccw)
            for edge, end in zip(reversed(self.edges), reversed(ends), strict=True)
        ))  # fmt: skip

    def started(self, at: int) -> "Ring":
        """Return the ring started at another of its corners."""
        at %= len(self.edges)
        return Ring(self.edges[at:] + self.edges[:at])

    def chords(self) -> "Ring":
        """Return the ring with chords for its arcs."""
        found: list[Edge] = []
        start = self.edges[-1]
        for edge in self.edges:
            found += _chords(start, edge) if edge.cx is not None else [edge]
            start = edge
        return Ring(tuple(found))


def _chords(start: Edge, edge: Edge) -> list[Edge]:
    assert edge.cx is not None
    assert edge.cy is not None
    radius = hypot(start.x - edge.cx, start.y - edge.cy)
    first = atan2(start.y - edge.cy, start.x - edge.cx)
    sweep = (atan2(edge.y - edge.cy, edge.x - edge.cx) - first) % (2 * pi)
    sweep = sweep or 2 * pi
    if not edge.ccw:
        sweep = sweep - 2 * pi if sweep < 2 * pi else -sweep
    count = max(2, ceil(abs(sweep) / (2 * acos(1 - min(CHORD_MM / max(radius, 0.01), 0.5)))))
    angles = [first + sweep * k / count for k in range(1, count)]
    return [*(Edge(edge.cx + radius * cos(a), edge.cy + radius * sin(a)) for a in angles), Edge(edge.x, edge.y)]


class Shape(Protocol):
    """An outline of the wood."""

    def grown(self, by: float) -> Ring:
        """Return the curve at a distance outside of the outline, inside where negative."""
        ...

    def signature(self) -> tuple[str, tuple[tuple[float, float], ...]]:
        """Return a name for its size, and the points that say where it is and how it lies."""
        ...

    def polygon(self) -> Polygon: ...


@dataclass(frozen=True, slots=True)
class RoundedRectangle:
    x: float
    y: float
    width: float
    height: float
    radius: float

    def grown(self, by: float) -> Ring:
        w, h, r = self.width / 2 + by, self.height / 2 + by, max(self.radius + by, 0.0)
        edges: list[Edge] = []
        for sx, sy in ((1, -1), (1, 1), (-1, 1), (-1, -1)):
            cx, cy = self.x + sx * (w - r), self.y + sy * (h - r)
            ends = [(cx, cy + sy * r), (cx + sx * r, cy)]
            before, after = ends if sx == -sy else ends[::-1]
            edges.append(Edge(*before))
            if r > 0:
                edges.append(Edge(*after, cx, cy))
        return Ring(tuple(edges))

    def signature(self) -> tuple[str, tuple[tuple[float, float], ...]]:
        w, h = self.width / 2, self.height / 2
        corners = tuple((self.x + sx * w, self.y + sy * h) for sx in (-1, 1) for sy in (-1, 1))
        return f"rectangle {sorted((self.width, self.height))}", corners

    def polygon(self) -> Polygon:
        return Polygon([(edge.x, edge.y) for edge in self.grown(0.0).chords().edges])


@dataclass(frozen=True, slots=True)
class Circle:
    x: float
    y: float
    radius: float

    def grown(self, by: float) -> Ring:
        r = self.radius + by
        return Ring((Edge(self.x - r, self.y, self.x, self.y), Edge(self.x + r, self.y, self.x, self.y)))

    def signature(self) -> tuple[str, tuple[tuple[float, float], ...]]:
        return f"circle {self.radius}", ((self.x, self.y),)

    def polygon(self) -> Polygon:
        return Polygon([(edge.x, edge.y) for edge in self.grown(0.0).chords().edges])


@dataclass(frozen=True, slots=True)
class Free:
    """An outline of many corners; the curve beside it is worked out by a polygon clipper and has chords only."""

    corners: tuple[tuple[float, float], ...]
    name: str = "outline"

    def grown(self, by: float) -> Ring:
        grown = self.polygon().buffer(by, quad_segs=24) if by else self.polygon()
        assert isinstance(grown, Polygon), "the outline falls apart"
        points = np.asarray(grown.exterior.coords)[:-1]
        if not grown.exterior.is_ccw:
            points = points[::-1]
        return Ring(tuple(Edge(float(x), float(y)) for x, y in points))

    def signature(self) -> tuple[str, tuple[tuple[float, float], ...]]:
        return self.name, self.corners

    def polygon(self) -> Polygon:
        return Polygon(self.corners)


def box(points: Sequence[tuple[float, float]]) -> tuple[float, float, float, float]:
    x, y = zip(*points, strict=True)
    return min(x), min(y), max(x), max(y)
