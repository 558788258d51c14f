"""What may be said of a made pair, worked out from how it was made."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf

import numpy as np

from tests.pairs.equal import shown_by
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
    return Truth(
        max(shown, _out(pair, pair.equal, seen_corners(pair))), max(fault, _out(pair, pair.whole, corners(pair)))
    )


def corners(pair: Pair) -> Points:
    """Return the corners of the part: of a round one its middle, for a turn changes nothing."""
    return np.zeros((1, 2)) if pair.part.is_round else pair.part.corners


def seen_corners(pair: Pair) -> Points:
    """Return the corners of what the programs show of it: nobody can tell where a board ends that neither face cuts."""
    if pair.part.is_round or pair.part.wood_only:
        return corners(pair)
    points = np.array([(x, y) for _, x, y in shown_by((*pair.part.front, *pair.part.back))])
    (left, low), (right, high) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    return np.array([(x, y) for x in (left, right) for y in (low, high)])


def _out(pair: Pair, equal: tuple[Placement, ...], points: Points) -> float:
    best = inf
    for told in _told(pair):
        for move in equal:
            lies = told @ move  # where the back's numbers should be
            best = min(best, _apart(pair, pair.posted.placed, lies, points))
    return best


def _told(pair: Pair) -> Iterator[Placement]:
    """Yield the maps from the blank to the back's numbers that are told; without a datum up to a shift."""
    told = pair.told
    for axis in (told.axis,) if told.axis else ("x", "y"):
        yield flip(axis, told.datum or (0.0, 0.0)) @ pair.setting.front


def _apart(pair: Pair, one: Placement, other: Placement, points: Points) -> float:
    """Return the largest distance of two placements over points, the best shift taken off where no datum is told."""
    if pair.told.datum is not None:
        return farthest(one, other, points)
    apart = one.apply(points) - other.apply(points)
    middle = (apart.min(axis=0) + apart.max(axis=0)) / 2
    return float(np.hypot(*(apart - middle).T).max())


def claimed_away(pair: Pair, lies: Placement) -> float:
    """Return how far a claimed map from the front's to the back's numbers is from a right one, over the part."""
    claimed = lies @ pair.setting.front
    return min(farthest(pair.posted.placed, claimed @ move, seen_corners(pair)) for move in pair.equal)
