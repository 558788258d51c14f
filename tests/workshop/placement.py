"""Where things lie: a plane moved, turned, mirrored or stretched into another.

Truth is worked out here and not with the library's own isometries, so that a sign that is wrong there shows.
"""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Point = tuple[float, float]
Points = NDArray[np.float64]
Axis = Literal["x", "y"]


@dataclass(frozen=True, slots=True)
class Placement:
    """A map of the plane: x' = xx x + xy y + x0, and y' alike; placements are put together with ``@``."""

    xx: float = 1.0
    xy: float = 0.0
    yx: float = 0.0
    yy: float = 1.0
    x0: float = 0.0
    y0: float = 0.0

    def __call__(self, point: Point) -> Point:
        x, y = point
        return self.xx * x + self.xy * y + self.x0, self.yx * x + self.yy * y + self.y0

    def of(self, points: Points) -> Points:
        """Return many points at once, a row each."""
        matrix = np.array([[self.xx, self.xy], [self.yx, self.yy]])
        moved: Points = points @ matrix.T + (self.x0, self.y0)
        return moved

    def __matmul__(self, first: "Placement") -> "Placement":
        """Return what does the first placement, and then this one."""
        x0, y0 = self((first.x0, first.y0))
        return Placement(
            self.xx * first.xx + self.xy * first.yx,
            self.xx * first.xy + self.xy * first.yy,
            self.yx * first.xx + self.yy * first.yx,
            self.yx * first.xy + self.yy * first.yy,
            x0,
            y0,
        )

    @property
    def determinant(self) -> float:
        return self.xx * self.yy - self.xy * self.yx

    @property
    def mirrors(self) -> bool:
        return self.determinant < 0

    def inverse(self) -> "Placement":
        size = self.determinant
        xx, xy, yx, yy = self.yy / size, -self.xy / size, -self.yx / size, self.xx / size
        return Placement(xx, xy, yx, yy, -xx * self.x0 - xy * self.y0, -yx * self.x0 - yy * self.y0)


SAME = Placement()


def shift(x: float, y: float) -> Placement:
    return Placement(x0=x, y0=y)


def turn(degrees: float, about: Point = (0.0, 0.0)) -> Placement:
    """Return a turn, counter-clockwise positive; right angles are exact."""
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    if degrees % 90 == 0:
        cos, sin = float(round(cos)), float(round(sin))
    return _about(Placement(cos, -sin, sin, cos), about)


def stretch(along_x: float, along_y: float, about: Point = (0.0, 0.0)) -> Placement:
    return _about(Placement(xx=along_x, yy=along_y), about)


def flip(axis: Axis, datum: Point) -> Placement:
    """Return how the front's numbers become the back's if the blank is turned over about X or Y.

    The datum is the place of the back's zero in the front's numbers.
    """
    x, y = datum
    return Placement(xx=-1.0, x0=x, y0=-y) if axis == "y" else Placement(yy=-1.0, x0=-x, y0=y)


def swap() -> Placement:
    """Return what takes X for Y."""
    return Placement(0.0, 1.0, 1.0, 0.0)


def _about(linear: Placement, about: Point) -> Placement:
    x, y = linear(about)
    return Placement(linear.xx, linear.xy, linear.yx, linear.yy, about[0] - x, about[1] - y)
