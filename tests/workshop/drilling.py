"""Holes: drilled, or bored by a cutter that is thinner than the hole."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from random import Random

import numpy as np

from tests.workshop.cuts import Cut, Cutter, Down, Drilled, Lift, Move, Over, Round, Shared, Straight
from tests.workshop.placement import Point

CYCLES = ("G81", "G82", "G83", "plunge")
WAYS = ("helix", "rings", "circle", "spiral", "coarse helix")
_STEP = 0.4
"""Stepover of a bore that is cleared from the middle, in diameters."""


@dataclass(frozen=True, slots=True)
class Hole:
    """A hole as the drawing has it; `shared` if the other face makes the same one."""

    place: Point
    diameter: float
    depth: float
    shared: bool = True

    def truth(self) -> tuple[Shared, ...]:
        return (Shared(f"hole {self.diameter:g}", np.array([self.place])),) if self.shared else ()


@dataclass(frozen=True, slots=True)
class Method:
    """How one face makes a row of holes."""

    cutter: Cutter
    program: str
    way: str

    def cut(self, hole: Hole) -> Cut:
        radius = (hole.diameter - self.cutter.diameter) / 2
        if radius < 0.05:
            moves: list[Move] = [Drilled(hole.place, -hole.depth, self.way)]
        else:
            moves = [*_BORES[self.way](hole, radius, self.cutter.diameter), Lift()]
        return Cut("hole", self.cutter, self.program, tuple(moves), hole.truth())


def any_method(rng: Random, diameter: float, program: str) -> Method:
    """Return a drill of that diameter, or a cutter that bores it."""
    narrower = [d for d in (2.0, 3.0, 4.0, 6.0) if d < diameter - 0.4]
    if diameter < 5 or not narrower or rng.random() < 0.67:
        return Method(Cutter(diameter, "drill"), program, rng.choice(CYCLES))
    return Method(Cutter(rng.choice(narrower)), program, rng.choice(WAYS))


def depths(depth: float, step: float) -> list[float]:
    """Return the heights of passes that are alike, down to the depth."""
    count = max(1, math.ceil(depth / step - 1e-9))
    return [-depth * (i + 1) / count for i in range(count)]


def _helix(hole: Hole, radius: float, _: float) -> Iterable[Move]:
    (x, y), depth = hole.place, hole.depth
    turns = math.ceil(depth / max(0.5, min(3.0, depth / 3)))
    yield from (Lift(), Over((x + radius, y)), Down(0.0))
    for i in range(turns):
        yield Round((x - radius, y), -depth * (i + 0.5) / turns, hole.place, ccw=True)
        yield Round((x + radius, y), -depth * (i + 1) / turns, hole.place, ccw=True)
    yield from _ring(hole.place, radius, -depth)
    yield Straight(hole.place, -depth)


def _coarse_helix(hole: Hole, radius: float, _: float) -> Iterable[Move]:
    """A helix of chords so long that one sees them: what some programs make of any curve."""
    (x, y), depth, sides = hole.place, hole.depth, 16
    turns = max(2, math.ceil(depth / 3))
    yield from (Lift(), Over((x + radius, y)), Down(0.0))
    for i in range(1, sides * (turns + 1) + 1):
        angle = 2 * math.pi * i / sides
        z = -depth * min(1.0, i / sides / turns)
        yield Straight((x + radius * math.cos(angle), y + radius * math.sin(angle)), z)
    yield Straight(hole.place, -depth)


def _rings(hole: Hole, radius: float, diameter: float) -> Iterable[Move]:
    (x, y), step = hole.place, diameter * _STEP
    radii = [*np.arange(step, radius - 1e-9, step).tolist(), radius]
    yield from (Lift(), Over(hole.place))
    for level, z in enumerate(depths(hole.depth, max(2.0, hole.depth / 3))):
        yield Straight(hole.place, z) if level else Down(z)
        for r in radii:
            yield Straight((x + r, y), z)
            yield from _ring(hole.place, r, z)
        yield Straight(hole.place, z)


def _circle(hole: Hole, radius: float, _: float) -> Iterable[Move]:
    """Out from the middle, once round, and back, at each depth."""
    x, y = hole.place
    yield from (Lift(), Over(hole.place))
    for level, z in enumerate(depths(hole.depth, max(2.0, hole.depth / 4))):
        yield Straight(hole.place, z) if level else Down(z)
        yield Straight((x, y + radius), z)
        yield Round((x, y + radius), z, hole.place, ccw=True)
        yield Straight(hole.place, z)


def _spiral(hole: Hole, radius: float, diameter: float) -> Iterable[Move]:
    """Half circles that grow by half a stepover each, at full depth."""
    (x, y), step, z = hole.place, diameter * _STEP / 2, -hole.depth
    radii = [0.0, *np.arange(step, radius - 1e-9, step).tolist(), radius]
    yield from (Lift(), Over(hole.place), Down(z))
    side = 1
    for before, after in pairwise(radii):
        start, end = x - side * before, x + side * after
        yield Round((end, y), z, ((start + end) / 2, y), ccw=True)
        side = -side
    yield Round((x + side * radius, y), z, hole.place, ccw=True)
    yield Round((x - side * radius, y), z, hole.place, ccw=True)
    yield Straight(hole.place, z)


def _ring(centre: Point, radius: float, z: float) -> Iterable[Move]:
    x, y = centre
    yield Round((x - radius, y), z, centre, ccw=True)
    yield Round((x + radius, y), z, centre, ccw=True)


_BORES = {"helix": _helix, "coarse helix": _coarse_helix, "rings": _rings, "circle": _circle, "spiral": _spiral}
