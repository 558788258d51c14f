"""What may be said of a made pair, worked out from how it was made."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf

import numpy as np

from tests.pairs.pair import Pair
from tests.pairs.placement import Placement, Points, farthest, flip

MARGIN_MM = 0.02  # roundings, chords, and what is too near to the tolerance to be called wrong


@dataclass(frozen=True, slots=True)
class Truth:
    """How far a pair is out with what is told of it.

    Attributes
    ----------
    shown_mm : float
        By how much what is shown is out at least: under the tolerance, "not in register" has nothing to rest on.
    part_mm : float
        By how much the part is out.
    """

    shown_mm: float
    part_mm: float


def truth(pair: Pair) -> Truth:
    """Return how far the pair is out under the placement that is nearest of those that what is told allows."""
    fault = pair.posted.fault_mm
    shown = fault if pair.fault_shows else 0.0
    return Truth(max(shown, _out(pair, pair.equal)), max(fault, _out(pair, pair.whole)))


def corners(pair: Pair) -> Points:
    """Return the points at which a placement is judged: of a round part its middle, for a turn changes nothing."""
    return np.zeros((1, 2)) if pair.part.is_round else pair.part.corners


def _out(pair: Pair, equal: tuple[Placement, ...]) -> float:
    best = inf
    for told in _told(pair):
        for move in equal:
            lies = told @ move  # where the back's numbers should be
            best = min(best, _apart(pair, pair.posted.placed, lies))
    return best


def _told(pair: Pair) -> Iterator[Placement]:
    """Yield the maps from the blank to the back's numbers that are told; without a datum up to a shift."""
    told = pair.told
    for axis in (told.axis,) if told.axis else ("x", "y"):
        yield flip(axis, told.datum or (0.0, 0.0)) @ pair.setting.front


def _apart(pair: Pair, one: Placement, other: Placement) -> float:
    """Return the largest distance of two placements over the part, the best shift taken off where no datum is told."""
    points = corners(pair)
    if pair.told.datum is not None:
        return farthest(one, other, points)
    apart = one.apply(points) - other.apply(points)
    middle = (apart.min(axis=0) + apart.max(axis=0)) / 2
    return float(np.hypot(*(apart - middle).T).max())


def claimed_away(pair: Pair, lies: Placement) -> float:
    """Return how far a claimed map from the front's to the back's numbers is from a right one, over the part."""
    claimed = lies @ pair.setting.front
    return min(farthest(pair.posted.placed, claimed @ move, corners(pair)) for move in pair.equal)
