"""Where motions lie after their program was flipped, shifted or turned: what the outsider expects of the new one."""

import math
from dataclasses import dataclass, replace
from decimal import Decimal

from tests.habits.slow_places import AXES, Motion, Place, Spot

__all__ = ["PlaneMap", "flipped", "shifted", "turned"]

ZERO, ONE = Decimal(0), Decimal(1)


@dataclass(frozen=True)
class PlaneMap:
    """x' = a x + b y + e and y' = c x + d y + f, in millimetres; heights move by `up`."""

    a: Decimal
    b: Decimal
    c: Decimal
    d: Decimal
    e: Decimal = ZERO
    f: Decimal = ZERO
    up: Decimal = ZERO

    @property
    def sense(self) -> int:
        """1, or -1 for a mirror."""
        return 1 if self.a * self.d > self.b * self.c else -1

    def of(self, motion: Motion) -> Motion:
        """Return a motion as it is in the moved program."""
        centre = motion.centre
        if centre is not None:
            x, y, z = centre
            centre = (self.a * x + self.b * y + self.e, self.c * x + self.d * y + self.f, z + self.up)
        normal, sense = self._normal(motion.normal)
        return replace(
            motion,
            start=self._spot(motion.start),
            end=self._spot(motion.end),
            centre=centre,
            normal=normal,
            sweep_deg=motion.sweep_deg * sense,
            side=motion.side * self.sense,
        )

    def _normal(self, axis: int) -> tuple[int, int]:
        """Return what becomes of the axis across an arc's plane, and whether the arc turns the other way about it.

        The plane's sense goes with its normal and with the sense of the map.
        """
        x, y, z = [(self.a, self.c, ZERO), (self.b, self.d, ZERO), (ZERO, ZERO, ONE)][axis]
        image = (x, y, z)
        becomes = max(range(3), key=lambda each: abs(image[each]))
        return becomes, self.sense if image[becomes] > 0 else -self.sense

    def _spot(self, spot: Spot) -> Spot:
        height = spot[2] if spot[2].base else spot[2].further(self.up)
        return self._place(spot, (self.a, self.b), self.e, 0), self._place(spot, (self.c, self.d), self.f, 1), height

    def _place(self, spot: Spot, factors: tuple[Decimal, Decimal], offset: Decimal, axis: int) -> Place:
        """Map one coordinate: it is known if all that it comes from is, and machine positions stay what they are."""
        number = factors[0] * spot[0].number + factors[1] * spot[1].number
        unknown = [place.base for place, factor in zip(spot[:2], factors, strict=True) if factor and place.base]
        if not unknown:
            return Place("", number + offset)
        if spot[axis].base.startswith("machine"):
            return Place(spot[axis].base, number)
        words = unknown[0].split(" ")
        return Place(" ".join(AXES[axis] if word in tuple(AXES) else word for word in words), number)


def flipped(axis: str, datum: tuple[Decimal, Decimal]) -> PlaneMap:
    """Return the map of a flip: about Y (X - x, y - Y), about X (x - X, Y - y)."""
    if axis == "y":
        return PlaneMap(-ONE, ZERO, ZERO, ONE, datum[0], -datum[1])
    return PlaneMap(ONE, ZERO, ZERO, -ONE, -datum[0], datum[1])


def shifted(x: Decimal, y: Decimal, z: Decimal) -> PlaneMap:
    """Return the map of a shift."""
    return PlaneMap(ONE, ZERO, ZERO, ONE, x, y, z)


def turned(degrees: int | float) -> PlaneMap:
    """Return the map of a turn about zero, counter-clockwise; quarter turns are exact."""
    if degrees % 90 == 0:
        cos, sin = [(ONE, ZERO), (ZERO, ONE), (-ONE, ZERO), (ZERO, -ONE)][int(degrees) // 90 % 4]
    else:
        cos, sin = Decimal(math.cos(math.radians(degrees))), Decimal(math.sin(math.radians(degrees)))
    return PlaneMap(cos, -sin, sin, cos)
