"""Arcs as the report tells them: in centre and in radius format, in three planes."""

import math

from tests.machine.state import Point

__all__ = ["PLANES", "Arc", "points", "solve"]

# In-plane axes in the order in which a counter-clockwise turn goes, then the axis of a helix.
PLANES = {"G17": (0, 1, 2), "G18": (2, 0, 1), "G19": (1, 2, 0)}

Arc = tuple[float, float, float]


def solve(
    plane: str, start: Point, end: Point, centre: tuple[float | None, ...], radius: float | None, *, clockwise: bool
) -> Arc:
    """Return centre (two in-plane coordinates) and signed sweep in radians; `centre` is in machine coordinates."""
    first, second, _ = PLANES[plane]
    x, y = start[first], start[second]
    to_x, to_y = end[first], end[second]
    if radius is not None:
        chord = math.hypot(to_x - x, to_y - y)
        if chord == 0 or chord / 2 > abs(radius) + 1e-6:
            raise ValueError("an arc of this radius can't reach its end")
        rise = math.sqrt(max(0.0, radius * radius - chord * chord / 4))
        left = 1.0 if (radius > 0) != clockwise else -1.0
        at_x = (x + to_x) / 2 - left * rise * (to_y - y) / chord
        at_y = (y + to_y) / 2 + left * rise * (to_x - x) / chord
    else:
        given_x, given_y = centre[first], centre[second]
        at_x = x if given_x is None else given_x
        at_y = y if given_y is None else given_y
        if abs(math.hypot(x - at_x, y - at_y) - math.hypot(to_x - at_x, to_y - at_y)) > 0.01:
            raise ValueError("an arc's radii differ")
    sweep = math.atan2(to_y - at_y, to_x - at_x) - math.atan2(y - at_y, x - at_x)
    full = 2 * math.pi
    same = math.hypot(to_x - x, to_y - y) < 1e-9
    sweep = -full if same and clockwise else full if same else sweep
    if not same:
        while sweep <= 1e-9:
            sweep += full
        while sweep > full:
            sweep -= full
        if clockwise:
            sweep -= full
    return at_x, at_y, sweep


def points(plane: str, start: Point, end: Point, arc: Arc) -> list[Point]:
    """Return the start, points some ten degrees apart, the middle among them, and the end."""
    first, second, third = PLANES[plane]
    at_x, at_y, sweep = arc
    # A tenth of a step less, so that a turn of just so many degrees has as many steps wherever it lies.
    steps = 2 * max(2, math.ceil(abs(sweep) / math.radians(20) - 0.1))
    found = [start]
    radius = math.hypot(start[first] - at_x, start[second] - at_y)
    begin = math.atan2(start[second] - at_y, start[first] - at_x)
    for step in range(1, steps):
        part = step / steps
        at = [0.0, 0.0, 0.0]
        at[first] = at_x + radius * math.cos(begin + sweep * part)
        at[second] = at_y + radius * math.sin(begin + sweep * part)
        at[third] = start[third] + (end[third] - start[third]) * part
        found.append((at[0], at[1], at[2]))
    found.append(end)
    return found
