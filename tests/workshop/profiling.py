"""Profiles: once or in several depths round an edge, with leads, ramps, tabs, an allowance, or compensation."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from random import Random
from typing import Literal

from tests.workshop.cuts import (
    Compensated,
    Cut,
    Cutter,
    Down,
    Lift,
    Move,
    Over,
    Round,
    Shared,
    Straight,
)
from tests.workshop.drilling import depths
from tests.workshop.paths import Contour, Leg
from tests.workshop.placement import Point
from tests.workshop.shapes import Shape, edge_of, wall_of

Side = Literal["outside", "inside", "on"]
_LEAD = 0.6
"""Length of a straight lead along and across the edge, and radius of a round one, in diameters."""


@dataclass(frozen=True, slots=True)
class Habit:
    """How a program goes round an edge."""

    first_leg: int = 0
    clockwise: bool = False
    midway: bool = False
    lead: Literal["plunge", "line", "arc", "ramp"] = "plunge"
    allowance: float = 0.0
    """Taken off in a pass of its own, at full depth, before the last one."""
    tabs: int = 0
    compensated: bool = False


def any_habit(rng: Random) -> Habit:
    return Habit(
        first_leg=rng.randrange(8),
        clockwise=rng.random() < 0.5,
        midway=rng.random() < 0.4,
        lead=rng.choice(["plunge", "line", "arc", "ramp", "arc"]),
        allowance=rng.choice([0.0, 0.0, 0.0, 0.5]),
        tabs=rng.choice([0, 0, 2, 4]),
        compensated=rng.random() < 0.06,
    )


@dataclass(frozen=True, slots=True)
class Pass:
    """One way round, at each of some depths."""

    contour: Contour
    cutter: Cutter
    heights: list[float]
    waste_left: bool
    tabs: dict[int, tuple[float, float]]
    """By leg: from where to where along it the tool is lifted, as shares of its length."""
    tab_z: float

    def beside(self, ahead: float, into_waste: float) -> Point:
        """Return a place beside the start, in diameters."""
        tx, ty = self.contour.heading()
        side = into_waste if self.waste_left else -into_waste
        d = self.cutter.diameter
        x, y = self.contour.start
        return x + d * (ahead * tx - side * ty), y + d * (ahead * ty + side * tx)

    def round_at(self, z: float) -> Iterable[Move]:
        here = self.contour.start
        for number, leg in enumerate(self.contour.legs):
            if number in self.tabs and z < self.tab_z - 1e-9:
                yield from self._over_tab(here, leg, z, self.tabs[number])
            yield straight_or_round(leg, z)
            here = leg.end

    def _over_tab(self, here: Point, leg: Leg, z: float, shares: tuple[float, float]) -> Iterable[Move]:
        begin, end = (
            (here[0] + share * (leg.end[0] - here[0]), here[1] + share * (leg.end[1] - here[1])) for share in shares
        )
        yield from (Straight(begin, z), Straight(begin, self.tab_z), Straight(end, self.tab_z), Straight(end, z))


def profile(
    shape: Shape, side: Side, cutter: Cutter, depth: float, *, habit: Habit, program: str, name: str, step: float,
    kind: str | None = "edge", left: float = 0.0,
) -> Cut:
    """Return the cut along an edge; `kind` is what the other face shares of it, `left` stays there for another tool."""
    outward = -1.0 if side == "inside" else 1.0
    half = 0.0 if side == "on" else outward * (cutter.diameter / 2 + left)
    compensated = habit.compensated and side == "outside"
    offsets = [half + outward * habit.allowance, half] if habit.allowance else [half]
    moves: list[Move] = []
    for offset in offsets:
        for contour in shape.offset(0.0 if compensated else offset):
            once = _begun(contour, habit)
            tabs = _tabs(once, habit.tabs, cutter.diameter) if habit.tabs else {}
            # Counter-clockwise the inside is on the left; along a line, the left is taken.
            waste_left = side != "outside" if not habit.clockwise else side == "outside"
            one = Pass(once, cutter, depths(depth, step), waste_left, tabs, -depth + 2)
            moves += _compensated(one) if compensated else _LEADS[habit.lead](one)
    edge = wall_of if side == "inside" else edge_of
    shared = (Shared(kind, edge(shape)),) if kind else ()
    return Cut(name, cutter, program, tuple(moves), shared)


def straight_or_round(leg: Leg, z: float) -> Move:
    return Straight(leg.end, z) if leg.centre is None else Round(leg.end, z, leg.centre, leg.ccw)


def _begun(contour: Contour, habit: Habit) -> Contour:
    contour = contour.begun_at(habit.first_leg)
    if habit.midway:
        contour = contour.begun_midway()
    return contour.reversed() if habit.clockwise else contour


def _tabs(contour: Contour, count: int, diameter: float) -> dict[int, tuple[float, float]]:
    """Return tabs of two diameters in the middle of the longest straight legs."""
    places = contour.places()
    straight = [
        (math.dist(before, leg.end), number)
        for number, (before, leg) in enumerate(zip(places, contour.legs, strict=False))
        if leg.centre is None
    ]
    longest = sorted((one for one in straight if one[0] > 4 * diameter), reverse=True)[:count]
    return {number: (0.5 - diameter / length, 0.5 + diameter / length) for length, number in longest}


def _plunged(one: Pass) -> Iterable[Move]:
    yield from (Lift(), Over(one.contour.start))
    for level, z in enumerate(one.heights):
        yield Straight(one.contour.start, z) if level else Down(z)
        yield from one.round_at(z)
    yield Lift()


def _led_in_straight(one: Pass) -> Iterable[Move]:
    for z in one.heights:
        yield from (Lift(), Over(one.beside(-_LEAD, _LEAD)), Down(z), Straight(one.contour.start, z))
        yield from one.round_at(z)
        yield from (Straight(one.beside(0, _LEAD), z), Lift())


def _led_in_round(one: Pass) -> Iterable[Move]:
    centre = one.beside(0, _LEAD)
    for z in one.heights:
        yield from (Lift(), Over(one.beside(-_LEAD, _LEAD)), Down(z))
        yield Round(one.contour.start, z, centre, ccw=one.waste_left)
        yield from one.round_at(z)
        yield from (Round(one.beside(_LEAD, _LEAD), z, centre, ccw=one.waste_left), Lift())


def _ramped(one: Pass) -> Iterable[Move]:
    """Down along the first leg and back, or round to where it begins if that is round."""
    start, first = one.contour.start, one.contour.legs[0]
    yield from (Lift(), Over(start), Down(0.0))
    above = 0.0
    for z in one.heights:
        if first.centre is None:
            yield from (Straight(first.end, (above + z) / 2), Straight(start, z))
        else:
            yield straight_or_round(first, z)
            yield from (straight_or_round(leg, z) for leg in one.contour.legs[1:])
        yield from one.round_at(z)
        above = z
    yield Lift()


def _compensated(one: Pass) -> Iterable[Move]:
    """Along the edge itself, the control keeping the tool beside it; on and off in the waste."""
    side: Literal["left", "right"] = "left" if one.waste_left else "right"
    start = one.contour.start
    for z in one.heights:
        yield from (Lift(), Over(one.beside(-1.5, 1.5)), Down(z), Compensated(side))
        yield from (Straight(one.beside(-1, 0), z), Straight(start, z))
        yield from one.round_at(z)
        yield from (Straight(one.beside(1, 0), z), Compensated(None), Straight(one.beside(1, 1.5), z), Lift())


_LEADS = {"plunge": _plunged, "line": _led_in_straight, "arc": _led_in_round, "ramp": _ramped}
