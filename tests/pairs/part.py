"""A part as it should come out: what is cut into each face, in the blank's frame about its middle."""

from dataclasses import dataclass
from random import Random

import numpy as np

from tests.pairs.operations import Hole, Operation
from tests.pairs.placement import Points


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """A part, seen from the front.

    Attributes
    ----------
    front, back : tuple of Operation
        What is cut into each face.
    corners : array, shape (n, 2)
        The part's outline, or the corners round it.
    thickness : float
        Of the blank.
    pitch : float
        The distance at which something repeats on it; 0 where nothing does.
    lure : (float, float) or None
        The shift of the back after which things that have nothing to do with each other lie over one another.
    has_rim : bool
        Both faces cut one edge of the part, all round.
    wood_only : bool
        That edge shows in the carved wood alone, so that thickness and tools are needed to see it.
    is_round : bool
        A turn changes nothing about it.
    """

    front: tuple[Operation, ...]
    back: tuple[Operation, ...]
    corners: Points
    thickness: float
    pitch: float = 0.0
    lure: tuple[float, float] | None = None
    has_rim: bool = False
    wood_only: bool = False
    is_round: bool = False

    def holes(self) -> list[Hole]:
        """Return the back's holes that the front has as well."""
        through = {(hole.x, hole.y) for hole in self.front if isinstance(hole, Hole) and hole.name == "hole"}
        return [hole for hole in self.back
                if isinstance(hole, Hole) and hole.name == "hole" and (hole.x, hole.y) in through]  # fmt: skip


def corners_of(width: float, height: float) -> Points:
    return np.array([(sx * width / 2, sy * height / 2) for sx in (-1, 1) for sy in (-1, 1)])


def pick(random: Random, low: float, high: float, step: float = 0.5) -> float:
    """Return a length drawn from a grid: a person's numbers are round, and a whole number of micrometres."""
    return round(low + step * random.randrange(round((high - low) / step) + 1), 3)


def scattered(random: Random, count: int, width: float, height: float, apart: float) -> list[tuple[float, float]]:
    """Return places in a rectangle about the middle, no two nearer than `apart`."""
    found: list[tuple[float, float]] = []
    for _ in range(200 * count):
        if len(found) == count:
            break
        place = pick(random, -width / 2, width / 2, 0.01), pick(random, -height / 2, height / 2, 0.01)
        if all(np.hypot(place[0] - x, place[1] - y) >= apart for x, y in found):
            found.append(place)
    return found
