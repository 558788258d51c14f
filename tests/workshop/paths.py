"""Closed contours of straight and round legs, as a tool goes along them."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tests.workshop.placement import Placement, Point


@dataclass(frozen=True, slots=True)
class Leg:
    """The way to a place: straight, or round a centre."""

    end: Point
    centre: Point | None = None
    ccw: bool = True


@dataclass(frozen=True, slots=True)
class Contour:
    """Legs that end where they began, counter-clockwise unless it was reversed."""

    start: Point
    legs: tuple[Leg, ...]

    @staticmethod
    def through(points: Iterable[Point]) -> "Contour":
        first, *others = [(float(x), float(y)) for x, y in points]
        return Contour(first, tuple(Leg(point) for point in (*others, first)))

    def reversed(self) -> "Contour":
        places = self.places()
        legs = [Leg(before, leg.centre, not leg.ccw) for before, leg in zip(places, self.legs, strict=False)]
        return Contour(places[-1], tuple(legs[::-1]))

    def begun_at(self, number: int) -> "Contour":
        """Return the same contour begun at the end of another leg."""
        number %= len(self.legs)
        return Contour(self.places()[number], self.legs[number:] + self.legs[:number])

    def begun_midway(self) -> "Contour":
        """Return the same contour begun in the middle of its first leg, as most programs enter; if it is straight."""
        first = self.legs[0]
        if first.centre is not None:
            return self
        middle = ((self.start[0] + first.end[0]) / 2, (self.start[1] + first.end[1]) / 2)
        return Contour(middle, (*self.legs, Leg(middle)))

    def moved(self, placement: Placement) -> "Contour":
        return Contour(
            placement(self.start),
            tuple(
                Leg(placement(leg.end), leg.centre and placement(leg.centre), leg.ccw != placement.mirrors)
                for leg in self.legs
            ),
        )

    def places(self) -> list[Point]:
        return [self.start, *(leg.end for leg in self.legs)]

    def heading(self) -> Point:
        """Return the direction in which it begins, of length one."""
        (x, y), first = self.start, self.legs[0]
        if first.centre is None:
            dx, dy = first.end[0] - x, first.end[1] - y
        else:
            way = 1 if first.ccw else -1
            dx, dy = -(y - first.centre[1]) * way, (x - first.centre[0]) * way
        length = math.hypot(dx, dy)
        return dx / length, dy / length

    def points(self, deviation: float = 0.01) -> list[Point]:
        """Return it as chords, and the first point once more at the end."""
        points = [self.start]
        for leg in self.legs:
            points += along(points[-1], leg, deviation)
        return points


def along(start: Point, leg: Leg, deviation: float) -> Sequence[Point]:
    """Return the ends of the chords of a leg, none farther from it than the deviation; a full circle if it closes."""
    if leg.centre is None:
        return [leg.end]
    (cx, cy), radius = leg.centre, math.dist(start, leg.centre)
    sweep = swept(start, leg)
    step = 2 * math.acos(max(-1.0, 1 - deviation / max(radius, deviation * 1.01)))
    count = max(3 if abs(sweep) > 3.2 else 2, math.ceil(abs(sweep) / step))
    begin = math.atan2(start[1] - cy, start[0] - cx)
    angles = [begin + sweep * i / count for i in range(1, count)]
    return [*((cx + radius * math.cos(angle), cy + radius * math.sin(angle)) for angle in angles), leg.end]


def swept(start: Point, leg: Leg) -> float:
    """Return the angle that a round leg sweeps, in radians, counter-clockwise positive."""
    assert leg.centre is not None
    (cx, cy), full = leg.centre, 2 * math.pi
    begin, end = (math.atan2(y - cy, x - cx) for x, y in (start, leg.end))
    sweep = (end - begin) % full if leg.ccw else -((begin - end) % full)
    if math.dist(start, leg.end) < 1e-9:
        return full if leg.ccw else -full
    return sweep
