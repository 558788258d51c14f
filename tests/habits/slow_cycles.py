"""Canned cycles of the outsider's reading, after 3.5.16 of the report: one hole after the other, way by way.

A way is its kind (traverse, feed), where it goes along the first axis of the plane, the second and the depth, and
whether its end has a number in the report; None where an axis stays.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from tests.habits.slow_places import Place

__all__ = ["Hole", "Way", "ways"]


@dataclass(frozen=True)
class Way:
    """One straight motion of a cycle."""

    kind: str
    along: Place | None = None
    across: Place | None = None
    depth: Place | None = None
    is_unsaid: bool = False


@dataclass(frozen=True)
class Hole:
    """The numbers of a cycle's line: where its holes are, and three levels along the depth."""

    code: int
    spots: tuple[tuple[Place, Place], ...]
    before: Place
    retract: Place
    bottom: Place
    returns_to_before: bool
    peck: Decimal | None


def ways(hole: Hole) -> Iterator[Way]:
    """Yield the motions of a cycle's line; the report counts no dwells and stops among them."""
    level = hole.before
    if not _is_above(level, hole.retract):
        yield Way("traverse", depth=hole.retract)
        level = hole.retract
    clear = level if hole.returns_to_before else hole.retract
    for along, across in hole.spots:
        yield Way("traverse", along=along, across=across)
        if level != hole.retract:
            yield Way("traverse", depth=hole.retract)
        yield from _drilled(hole, clear)
        level = clear


def _drilled(hole: Hole, clear: Place) -> Iterator[Way]:
    """Yield the motions from the retract level to the bottom and back to the clear level."""
    if hole.code == 83:
        if hole.peck is None or hole.peck <= 0:
            raise ValueError("a peck of nothing")
        depth = hole.retract.further(-hole.peck)
        while _is_above(depth, hole.bottom) and depth != hole.bottom:
            yield Way("feed", depth=depth)
            yield Way("traverse", depth=clear)
            yield Way("traverse", depth=depth, is_unsaid=True)
            depth = depth.further(-hole.peck)
    yield Way("feed", depth=hole.bottom)
    yield Way("feed" if hole.code in (84, 85, 89) else "traverse", depth=clear)


def _is_above(one: Place, other: Place) -> bool:
    """Whether a level is at or above another; one that can't be compared is taken for above, as it was left."""
    return one.base != other.base or one.number >= other.number
