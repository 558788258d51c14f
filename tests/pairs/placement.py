"""Isometries of the plane, written out plainly: where one frame's points lie in another.

Millimetres, degrees, counter-clockwise positive. It knows nothing of the library it judges.
"""

from dataclasses import dataclass
from math import cos, radians, sin

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]

# The rows of the eight ways round a square: four turns, and their mirror images.
EIGHT: tuple[tuple[int, int, int, int], ...] = (
    (1, 0, 0, 1), (0, -1, 1, 0), (-1, 0, 0, -1), (0, 1, -1, 0),
    (-1, 0, 0, 1), (1, 0, 0, -1), (0, 1, 1, 0), (0, -1, -1, 0),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Placement:
    """The map p -> [[xx, xy], [yx, yy]] p + (dx, dy)."""

    xx: float = 1.0
    xy: float = 0.0
    yx: float = 0.0
    yy: float = 1.0
    dx: float = 0.0
    dy: float = 0.0

    @property
    def is_mirror(self) -> bool:
        return self.xx * self.yy - self.xy * self.yx < 0

    def point(self, x: float, y: float) -> tuple[float, float]:
        return self.xx * x + self.xy * y + self.dx, self.yx * x + self.yy * y + self.dy

    def apply(self, points: Points) -> Points:
        """Return the images of points of shape (n, 2)."""
        matrix = np.array([[self.xx, self.xy], [self.yx, self.yy]])
        images: Points = np.asarray(points, dtype=float) @ matrix.T + (self.dx, self.dy)
        return images

    def __matmul__(self, first: "Placement") -> "Placement":
        """Return the map that does `first`, then this one."""
        return Placement(
            self.xx * first.xx + self.xy * first.yx,
            self.xx * first.xy + self.xy * first.yy,
            self.yx * first.xx + self.yy * first.yx,
            self.yx * first.xy + self.yy * first.yy,
            *self.point(first.dx, first.dy),
        )

    def __invert__(self) -> "Placement":
        # The inverse of an orthogonal matrix is its transpose.
        back = Placement(self.xx, self.yx, self.xy, self.yy)
        x, y = back.point(self.dx, self.dy)
        return Placement(back.xx, back.xy, back.yx, back.yy, -x, -y)


def shift(dx: float, dy: float) -> Placement:
    return Placement(dx=dx, dy=dy)


def turn(degrees: float, about: tuple[float, float] = (0.0, 0.0)) -> Placement:
    """Return the turn about a point that stays where it is."""
    c, s = cos(radians(degrees)), sin(radians(degrees))
    x, y = Placement(c, -s, s, c).point(*about)
    return Placement(c, -s, s, c, about[0] - x, about[1] - y)


HALF_TURN = Placement(-1.0, 0.0, 0.0, -1.0)


def flip(axis: str, datum: tuple[float, float]) -> Placement:
    """Return the map from the front's numbers to the back's, for the back's zero at `datum` of the front's numbers."""
    x, y = datum
    if axis == "y":
        return Placement(-1.0, 0.0, 0.0, 1.0, x, -y)
    return Placement(1.0, 0.0, 0.0, -1.0, -x, y)


def farthest(one: Placement, other: Placement, points: Points) -> float:
    """Return the largest distance between the images of the points under two maps."""
    return float(np.hypot(*(one.apply(points) - other.apply(points)).T).max())
