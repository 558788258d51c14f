"""Cuts along lines: slots, saw cuts, notches, strokes of letters, and rasters that carve a surface."""

import math
from collections.abc import Callable, Sequence
from random import Random

import numpy as np
import shapely
from shapely import LineString, Polygon

from tests.workshop.cuts import Cut, Cutter, Down, Face, Lift, Move, Over, Shared, Straight
from tests.workshop.drilling import depths
from tests.workshop.placement import Axis, Placement, Point, Points, shift, stretch, turn

Surface = Callable[[Points, Points], Points]
"""The height of the tool's point over places: X and Y in, Z out."""


def slot(
    start: Point, end: Point, cutter: Cutter, depth: float, *, program: str, step: float, shared: bool = False
) -> Cut:
    """Return a straight slot, to and fro."""
    moves: list[Move] = [Lift(), Over(start)]
    here, there = start, end
    for level, z in enumerate(depths(depth, step)):
        moves += [Straight(here, z) if level else Down(z), Straight(there, z)]
        here, there = there, here
    return Cut("slot", cutter, program, (*moves, Lift()), _edge([start, end]) if shared else ())


def open_cut(
    points: Sequence[Point], cutter: Cutter, depth: float, *, program: str, step: float,
    wood: Sequence[Point] | None = None,
) -> Cut:
    """Return a cut along a line of several legs; `wood` is the edge that it makes, if the other face shares it."""
    moves: list[Move] = []
    for z in depths(depth, step):
        moves += [Lift(), Over(points[0]), Down(z), *(Straight(point, z) for point in points[1:])]
    return Cut("open cut", cutter, program, (*moves, Lift()), _edge(wood) if wood else ())


def _edge(points: Sequence[Point]) -> tuple[Shared, ...]:
    return (Shared("edge", np.array(points, float)),)


def carving(
    surface: Surface, field: Polygon, cutter: Cutter, *, along: Axis, stepover: float, first: float = 0.0,
    sample: float = 3.0, program: str = "carve",
) -> Cut:
    """Return a raster over a field, to and fro, at the heights of a surface; `first` shifts its lines."""
    x0, y0, x1, y1 = field.bounds
    low, high = (y0, y1) if along == "x" else (x0, x1)
    moves: list[Move] = []
    for number, at in enumerate(np.arange(low + 1e-3 + first, high - 1e-3, stepover).tolist()):
        ends = [(x0 - 1, at), (x1 + 1, at)] if along == "x" else [(at, y0 - 1), (at, y1 + 1)]
        for part in shapely.get_parts(field.intersection(LineString(ends))):
            if part.geom_type != "LineString" or part.length < 0.05:
                continue
            begin, end = np.array(sorted(part.coords))[[0, -1]]
            if number % 2:
                begin, end = end, begin
            count = max(2, math.ceil(part.length / sample))
            ways = begin + (end - begin) * np.linspace(0, 1, count + 1)[:, None]
            heights = surface(ways[:, 0], ways[:, 1]).tolist()
            points = [(float(x), float(y)) for x, y in ways]
            if not moves:
                moves += [Lift(), Over(points[0]), Down(heights[0])]
            moves += [Straight(point, z) for point, z in zip(points, heights, strict=True)]
    return Cut("carving", cutter, program, (*moves, Lift()))


_STROKES: dict[str, list[list[Point]]] = {
    "A": [[(0, 0), (2, 6), (4, 0)], [(1, 2.4), (3, 2.4)]],
    "E": [[(4, 0), (0, 0), (0, 6), (4, 6)], [(0, 3), (3, 3)]],
    "H": [[(0, 0), (0, 6)], [(4, 0), (4, 6)], [(0, 3), (4, 3)]],
    "K": [[(0, 0), (0, 6)], [(4, 6), (0, 2.5), (4, 0)]],
    "L": [[(0, 6), (0, 0), (4, 0)]],
    "M": [[(0, 0), (0, 6), (2, 3), (4, 6), (4, 0)]],
    "N": [[(0, 0), (0, 6), (4, 0), (4, 6)]],
    "O": [[(0, 0), (4, 0), (4, 6), (0, 6), (0, 0)]],
    "R": [[(0, 0), (0, 6), (4, 6), (4, 3), (0, 3)], [(2, 3), (4, 0)]],
    "S": [[(0, 0), (4, 0), (4, 3), (0, 3), (0, 6), (4, 6)]],
    "T": [[(0, 6), (4, 6)], [(2, 6), (2, 0)]],
    "W": [[(0, 6), (1, 0), (2, 4), (3, 0), (4, 6)]],
}
"""Letters of single strokes, four wide and six high."""
_ADVANCE = 5.5


def any_word(rng: Random) -> str:
    return "".join(rng.choice(sorted(_STROKES)) for _ in range(rng.choice([1, 3, 5])))


def lettering(
    word: str, place: Placement, height: float, cutter: Cutter, depth: float, *, face: Face, program: str = "text"
) -> Cut:
    """Return a word engraved so that it is read from the face that it is cut on."""
    size = height / 6
    hand = stretch(-size if face == "back" else size, size)
    moves: list[Move] = []
    for number, letter in enumerate(word):
        for stroke in _STROKES[letter]:
            first, *others = [place(hand((x + number * _ADVANCE, y))) for x, y in stroke]
            moves += [Lift(), Over(first), Down(-depth), *(Straight(point, -depth) for point in others)]
    return Cut("lettering", cutter, program, (*moves, Lift()))


def at(x: float, y: float, degrees: float = 0.0) -> Placement:
    """Return where something drawn about zero is laid."""
    return shift(x, y) @ turn(degrees)
