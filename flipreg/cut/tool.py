"""Cutters by their profile: a flat tip, then a quarter round or a cone, up to the radius.

Every cutter here is a solid of revolution about its axis, and the controlled point is the centre of its tip. It is
taken as cutting upwards without end: flute length, shank and holder are not known.
"""

from dataclasses import dataclass
from math import isfinite, radians, tan

import numpy as np
from numpy.typing import NDArray

__all__ = ["Cutter"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Cutter:
    """One cutter's lower surface, `profile(r)` above the tip.

    Attributes
    ----------
    radius_mm : float
        Half the cutting diameter, over 0.
    tip_radius_mm : float
        Radius of the flat at the tip: the whole radius for a flat cutter, 0 for a ball nose or a sharp point.
    corner_radius_mm : float
        Radius of the quarter round between tip and rim, 0 where there is none.
    slope : float
        Rise over run of the cone between tip and rim, 0 where there is none.

    Raises
    ------
    ValueError
        If the numbers describe no cutter: tip and corner must reach the radius exactly, unless there is a cone.

    Examples
    --------
    >>> Cutter.ball(6.0).profile(np.array([0.0, 3.0, 3.5])).tolist()
    [0.0, 3.0, inf]
    """

    radius_mm: float
    tip_radius_mm: float
    corner_radius_mm: float = 0.0
    slope: float = 0.0

    def __post_init__(self) -> None:
        sizes = (self.radius_mm, self.tip_radius_mm, self.corner_radius_mm, self.slope)
        if not all(map(isfinite, sizes)) or min(sizes) < 0.0 or self.radius_mm == 0.0:
            raise ValueError(f"a cutter needs a radius over 0 mm and no negative size, got {self}")
        if self.slope > 0.0 and self.corner_radius_mm > 0.0:
            raise ValueError(f"a cutter has a cone or a round corner, not both, got {self}")
        reached = self.tip_radius_mm + self.corner_radius_mm
        gap = self.radius_mm - reached
        if gap < -1e-9 * self.radius_mm or (self.slope == 0.0 and gap > 1e-9 * self.radius_mm):
            raise ValueError(f"tip and corner reach {reached} mm, the radius is {self.radius_mm} mm")

    @classmethod
    def flat(cls, diameter_mm: float) -> "Cutter":
        """Return a flat end mill."""
        return cls(diameter_mm / 2, diameter_mm / 2)

    @classmethod
    def ball(cls, diameter_mm: float) -> "Cutter":
        """Return a ball nose: a half sphere."""
        return cls(diameter_mm / 2, 0.0, diameter_mm / 2)

    @classmethod
    def bull(cls, diameter_mm: float, corner_radius_mm: float) -> "Cutter":
        """Return a bull nose: flat with rounded corners."""
        return cls(diameter_mm / 2, diameter_mm / 2 - corner_radius_mm, corner_radius_mm)

    @classmethod
    def vee(cls, diameter_mm: float, included_angle_deg: float, *, tip_width_mm: float = 0.0) -> "Cutter":
        """Return a vee cutter: its widest diameter, the angle from flank to flank, the width of its flat tip."""
        return cls(diameter_mm / 2, tip_width_mm / 2, 0.0, _cone_slope(included_angle_deg))

    @classmethod
    def drill(cls, diameter_mm: float, point_angle_deg: float) -> "Cutter":
        """Return a drill: a point angle of 180 degrees is a flat bottom."""
        if point_angle_deg == 180.0:
            return cls.flat(diameter_mm)
        return cls(diameter_mm / 2, 0.0, 0.0, _cone_slope(point_angle_deg))

    @property
    def is_flat(self) -> bool:
        """Whether the whole end is flat."""
        return self.corner_radius_mm == 0.0 and self.slope == 0.0

    @property
    def is_ball(self) -> bool:
        """Whether the whole end is a half sphere."""
        return self.corner_radius_mm > 0.0 and self.tip_radius_mm == 0.0

    @property
    def height_mm(self) -> float:
        """Height of the rim above the tip, in millimetres."""
        return self.corner_radius_mm + self.slope * (self.radius_mm - self.tip_radius_mm)

    def grown(self, by_mm: float) -> "Cutter":
        """Return the cutter grown sideways: it covers all points within `by_mm` in XY of what this one covers.

        Its profile is `profile(max(r - by_mm, 0))`, so a ball nose becomes a bull nose.
        """
        if not by_mm >= 0.0:
            raise ValueError(f"a cutter is grown by 0 mm or more, got {by_mm}")
        return Cutter(self.radius_mm + by_mm, self.tip_radius_mm + by_mm, self.corner_radius_mm, self.slope)

    def slimmed(self, by_mm: float) -> "Cutter":
        """Return a cutter that lies inside this one and, at its rim, is `by_mm` slimmer: for what surely is cut.

        A ball nose gets a smaller ball, a flat end a smaller flat, and a cone keeps its slope.

        Raises
        ------
        ValueError
            If nothing would be left.
        """
        if not 0.0 <= by_mm < self.radius_mm:
            raise ValueError(f"a cutter is slimmed by less than its radius of {self.radius_mm} mm, got {by_mm}")
        if self.slope > 0.0:
            return Cutter(self.radius_mm - by_mm, min(self.tip_radius_mm, self.radius_mm - by_mm), 0.0, self.slope)
        off_tip = min(by_mm, self.tip_radius_mm)
        corner = max(0.0, self.corner_radius_mm - (by_mm - off_tip))
        return Cutter(self.radius_mm - by_mm, self.tip_radius_mm - off_tip, corner)

    def profile(self, r_mm: Floats) -> Floats:
        """Return the height of the lower surface above the tip.

        Parameters
        ----------
        r_mm : array, any shape
            Distances from the axis, in millimetres, 0 or more.

        Returns
        -------
        array, same shape
            Millimetres; infinite beyond the radius.
        """
        out = np.maximum(r_mm - self.tip_radius_mm, 0.0)
        if self.corner_radius_mm > 0.0:
            c = self.corner_radius_mm
            # (c - x)(c + x) keeps the digits that c² - x² loses near the rim.
            rise: Floats = c - np.sqrt(np.maximum((c - out) * (c + out), 0.0))
        else:
            rise = self.slope * out
        return np.where(r_mm > self.radius_mm, np.inf, rise)


def _cone_slope(angle_deg: float) -> float:
    if not 0.0 < angle_deg < 180.0:
        raise ValueError(f"the angle of a cone is over 0 and under 180 degrees, got {angle_deg}")
    return 1.0 / tan(radians(angle_deg / 2))
