"""What can go wrong with a right back, one fault a function; the truth of each is what it moves.

A fault gets the back as it should be and returns it spoilt, or nothing where the part has nothing that it could spoil.
Faults that move all of the back are told by their placement, so that it is known where a part fits itself.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import cos, radians, sin
from random import Random

from tests.workshop.cuts import Cut
from tests.workshop.placement import Axis, Placement, Point


@dataclass(frozen=True, slots=True)
class Right:
    """The back as it should be, and what a fault may go by."""

    rng: Random
    back: tuple[Cut, ...]
    axis: Axis
    flip: Placement
    """Takes the blank's places to the back's numbers."""
    tolerance: float
    pitch: float | None
    low: Point
    high: Point
    other: Callable[[], tuple[Cut, ...]]
    """Makes the back of another part of the same kind."""

    @property
    def middle(self) -> Point:
        return (self.low[0] + self.high[0]) / 2, (self.low[1] + self.high[1]) / 2

    def any_way(self, length: float) -> Point:
        angle = radians(self.rng.choice([0, 90, 180, 270, self.rng.uniform(0, 360)]))
        return length * cos(angle), length * sin(angle)

    def clearly(self) -> float:
        """Return a distance that is clearly more than the tolerance."""
        return max(self.tolerance * self.rng.uniform(1.7, 4), 0.12)

    def slightly(self) -> float:
        return self.tolerance * self.rng.uniform(1.5, 2.6) + 0.02

    def far(self) -> float:
        return self.rng.uniform(max(2 * self.tolerance, 0.3), 10)


@dataclass(frozen=True, slots=True)
class Spoilt:
    back: tuple[Cut, ...]
    whole: Placement | None = None
    """How all of the back was moved, in the blank, if all was."""
    detail: str = ""
    missing: tuple[Point, ...] = ()
    """Holes of the front that the back was meant to leave out, or of the back that the front has not."""
    wrong_unit: bool = False


Fault = Callable[[Right], Spoilt | None]
