"""Arcs of the outsider's reading, after 3.5.3 of the report: centre and angle."""

import math
from decimal import Decimal

__all__ = ["PLANES", "WIDEST_MM", "centre_of_radius", "radii_apart", "sweep_deg"]

PLANES = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}
"""For each plane the axes along it, in the order in which angles count (4.3.6.1), and the one across it."""
WIDEST_MM = Decimal("0.0127")
"""How far the radii of an arc may differ at most: the table's 0.0127 mm or 0.0005 inch, which are one."""

Pair = tuple[Decimal, Decimal]
"""Along the first and the second axis of the plane: X Y, Z X or Y Z."""


def centre_of_radius(start: Pair, end: Pair, radius: Decimal, *, is_clockwise: bool) -> Pair:
    """Return the centre of an arc in the radius format; a negative radius goes the long way round."""
    along, across = end[0] - start[0], end[1] - start[1]
    chord = (along * along + across * across).sqrt()
    if not chord:
        raise ValueError("an arc with R that ends where it begins")
    below = radius * radius - chord * chord / 4
    if below < 0:
        raise ValueError("an arc with R whose end is too far away")
    height = below.sqrt() / chord
    if is_clockwise != (radius < 0):
        height = -height
    return (start[0] + end[0]) / 2 - height * across, (start[1] + end[1]) / 2 + height * along


def radii_apart(start: Pair, end: Pair, centre: Pair) -> Decimal:
    """Return by how much the radii at the start and at the end differ."""
    radii = [((x - centre[0]) ** 2 + (y - centre[1]) ** 2).sqrt() for x, y in (start, end)]
    return abs(radii[0] - radii[1])


def sweep_deg(start: Pair, end: Pair, centre: Pair, *, is_clockwise: bool) -> float:
    """Return the angle from start to end, counter-clockwise positive; a whole turn where they are one point."""
    if start == end:
        return -360.0 if is_clockwise else 360.0
    first = math.atan2(float(start[1] - centre[1]), float(start[0] - centre[0]))
    last = math.atan2(float(end[1] - centre[1]), float(end[0] - centre[0]))
    turned = math.degrees(last - first) % 360.0
    return turned - 360.0 if is_clockwise else turned
