"""Ways of a cutter's centre in the blank frame: lines and arcs, and where along them something happens."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import shapely


@dataclass(frozen=True)
class Line:
    start: tuple[float, float]
    end: tuple[float, float]

    @property
    def length(self) -> float:
        return math.dist(self.start, self.end)

    def at(self, share: float) -> tuple[float, float]:
        return (
            self.start[0] + share * (self.end[0] - self.start[0]),
            self.start[1] + share * (self.end[1] - self.start[1]),
        )

    def part(self, low: float, high: float) -> "Line":
        return Line(self.at(low), self.at(high))


@dataclass(frozen=True)
class Arc:
    centre: tuple[float, float]
    radius: float
    first: float
    turn: float
    """Radians, counter-clockwise positive."""

    @property
    def length(self) -> float:
        return abs(self.turn) * self.radius

    @property
    def start(self) -> tuple[float, float]:
        return self.at(0.0)

    @property
    def end(self) -> tuple[float, float]:
        return self.at(1.0)

    def at(self, share: float) -> tuple[float, float]:
        angle = self.first + share * self.turn
        return self.centre[0] + self.radius * math.cos(angle), self.centre[1] + self.radius * math.sin(angle)

    def part(self, low: float, high: float) -> "Arc":
        return Arc(self.centre, self.radius, self.first + low * self.turn, (high - low) * self.turn)


Stroke = Line | Arc
Path = list[Stroke]


def length(path: Path) -> float:
    return sum(stroke.length for stroke in path)


def point(path: Path, along: float) -> tuple[float, float]:
    along %= length(path)
    for stroke in path:
        if along <= stroke.length:
            return stroke.at(along / stroke.length)
        along -= stroke.length
    return path[-1].end


def split(path: Path, places: list[float]) -> Iterator[tuple[float, Stroke]]:
    """Yield the strokes cut in two at some distances along the path, each with the distance where it starts."""
    done = 0.0
    for stroke in path:
        within = sorted((p - done) / stroke.length for p in places if done + 1e-6 < p < done + stroke.length - 1e-6)
        shares = [0.0, *within, 1.0]
        for low, high in pairwise(shares):
            yield done + low * stroke.length, stroke.part(low, high)
        done += stroke.length


def rounded(x0: float, y0: float, x1: float, y1: float, radius: float) -> Path:
    """Return a rectangle with round corners, counter-clockwise, that starts in the middle of its lower side."""
    half = math.pi / 2
    middle = (x0 + x1) / 2
    return [
        Line((middle, y0), (x1 - radius, y0)),
        Arc((x1 - radius, y0 + radius), radius, -half, half),
        Line((x1, y0 + radius), (x1, y1 - radius)),
        Arc((x1 - radius, y1 - radius), radius, 0.0, half),
        Line((x1 - radius, y1), (x0 + radius, y1)),
        Arc((x0 + radius, y1 - radius), radius, half, half),
        Line((x0, y1 - radius), (x0, y0 + radius)),
        Arc((x0 + radius, y0 + radius), radius, 2 * half, half),
        Line((x0 + radius, y0), (middle, y0)),
    ]


def circle(x: float, y: float, radius: float) -> Path:
    return [Arc((x, y), radius, 0.0, math.pi), Arc((x, y), radius, math.pi, math.pi)]


def polyline(points: list[tuple[float, float]]) -> Path:
    return [Line(a, b) for a, b in pairwise(points) if math.dist(a, b) > 1e-6]


def ring(region: shapely.Polygon) -> Path:
    """Return the way round a region, counter-clockwise."""
    points = [(float(x), float(y)) for x, y in shapely.get_coordinates(shapely.orient_polygons(region).exterior)]
    return polyline(points)


def region(path: Path) -> shapely.Polygon:
    """Return what a closed path goes round; arcs by chords of six degrees or less."""
    points: list[tuple[float, float]] = []
    for stroke in path:
        number = 1 if isinstance(stroke, Line) else max(1, math.ceil(abs(stroke.turn) / math.radians(6)))
        points += [stroke.at(k / number) for k in range(number)]
    return shapely.Polygon(points)


def offset(path: Path, by: float) -> Path:
    """Return the way beside a closed counter-clockwise path, outside for a positive distance."""
    if all(isinstance(s, Line) for s in path):
        return _from(ring(region(path).buffer(by, quad_segs=6)), path[0].start)
    return [_moved(stroke, by) for stroke in path]


def _from(path: Path, place: tuple[float, float]) -> Path:
    """Let a closed path start at its corner nearest to a place."""
    first = min(range(len(path)), key=lambda k: math.dist(path[k].start, place))
    return path[first:] + path[:first]


def _moved(stroke: Stroke, by: float) -> Stroke:
    if isinstance(stroke, Arc):
        return Arc(stroke.centre, stroke.radius + (by if stroke.turn > 0 else -by), stroke.first, stroke.turn)
    along = ((stroke.end[0] - stroke.start[0]) / stroke.length, (stroke.end[1] - stroke.start[1]) / stroke.length)
    side = (along[1] * by, -along[0] * by)
    return Line(
        (stroke.start[0] + side[0], stroke.start[1] + side[1]), (stroke.end[0] + side[0], stroke.end[1] + side[1])
    )


def nearest(path: Path, place: tuple[float, float]) -> float:
    """Return how far along a path the point nearest to a place is."""
    best, found, done = math.inf, 0.0, 0.0
    for stroke in path:
        share = _share(stroke, place)
        away = math.dist(stroke.at(share), place)
        if away < best:
            best, found = away, done + share * stroke.length
        done += stroke.length
    return found


def _share(stroke: Stroke, place: tuple[float, float]) -> float:
    if isinstance(stroke, Arc):
        return min((k / 200 for k in range(201)), key=lambda share: math.dist(stroke.at(share), place))
    dx, dy = stroke.end[0] - stroke.start[0], stroke.end[1] - stroke.start[1]
    share = ((place[0] - stroke.start[0]) * dx + (place[1] - stroke.start[1]) * dy) / (dx * dx + dy * dy)
    return min(1.0, max(0.0, share))
