"""Mortises with dog bones: at each corner the round cutter goes on until it has reached the corner itself."""

import math
from dataclasses import dataclass

import shapely
from shapely import Point as Disc
from shapely import Polygon

from tests.workshop.paths import Contour
from tests.workshop.placement import Point


@dataclass(frozen=True, slots=True)
class DogBoned:
    """A rectangle relieved at its corners by a cutter of a diameter; another cutter would leave another shape."""

    centre: Point
    width: float
    height: float
    diameter: float

    def offset(self, distance: float = 0.0) -> list[Contour]:
        """Return the way of that cutter: round inside the wall, and out along the diagonal at each corner."""
        half = self.diameter / 2
        assert math.isclose(distance, -half), "only its own cutter makes this shape"
        way: list[Point] = []
        for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1)):
            corner = self._corner(sx, sy, half)
            way += [corner, self._corner(sx, sy, half / math.sqrt(2)), corner]
        return [Contour.through(way)]

    @property
    def polygon(self) -> Polygon:
        half = self.diameter / 2
        wall = Polygon([self._corner(sx, sy, 0) for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1))])
        bones = [
            Disc(self._corner(sx, sy, half / math.sqrt(2))).buffer(half, quad_segs=32)
            for sx in (-1, 1)
            for sy in (-1, 1)
        ]
        whole = shapely.union_all([wall, *bones])
        assert isinstance(whole, Polygon)
        return whole

    def _corner(self, sx: int, sy: int, inset: float) -> Point:
        x, y = self.centre
        return x + sx * (self.width / 2 - inset), y + sy * (self.height / 2 - inset)
