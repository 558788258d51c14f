"""Cutters: what they are called and the shape they leave."""

from dataclasses import dataclass
from enum import Enum
from math import isfinite

from flipreg.arguments import checks_fields

__all__ = ["Tool", "ToolShape"]


class ToolShape(Enum):
    """The shape of a cutter's end; the value is the word of the job file."""

    FLAT = "flat"
    BALL = "ball"
    BULL = "bull"
    """Bull nose: flat with rounded corners."""
    VEE = "vee"
    DRILL = "drill"


@checks_fields
@dataclass(frozen=True, slots=True)
class Tool:
    """One cutter.

    Attributes
    ----------
    name : str
        How the setups' programs refer to it.
    shape : ToolShape
        What its end looks like.
    diameter_mm : float
        Cutting diameter, over 0; of a vee its widest.
    corner_radius_mm : float or None
        Of a bull nose only: over 0 and at most half the diameter.
    angle_deg : float or None
        Of a vee the included angle, of a drill the point angle: over 0 and less than 180; a drill may have 180 or
        none (its point is then not known).
    plunge : bool or None
        Whether it may go straight down into wood; None where that is not said. A drill always may.
    number : int or None
        The T number that programs call it by, 1 or more; None where only its name does.
    ramp_deg : float or None
        Steepest descent that it can cut, from the level, of a tool that may not plunge: over 0 and under 90; None
        where that is not said.
    flute_length_mm : float or None
        How deep its cutting edges reach, over 0; None where that is not said.

    Raises
    ------
    ValueError
        If a size does not fit the shape.
    """

    name: str
    shape: ToolShape
    diameter_mm: float
    corner_radius_mm: float | None = None
    angle_deg: float | None = None
    plunge: bool | None = None
    number: int | None = None
    ramp_deg: float | None = None
    flute_length_mm: float | None = None

    def __post_init__(self) -> None:
        if not (isfinite(self.diameter_mm) and self.diameter_mm > 0.0):
            raise ValueError(f"tool {self.name!r} needs a diameter over 0 mm, got {self.diameter_mm}")
        radius, angle = self.corner_radius_mm, self.angle_deg
        if (radius is not None) != (self.shape is ToolShape.BULL):
            raise ValueError(f"tool {self.name!r}: a corner radius belongs to a bull nose, and to nothing else")
        if radius is not None and not 0.0 < radius <= self.diameter_mm / 2:
            raise ValueError(f"tool {self.name!r}: a corner radius is over 0 and at most half the diameter")
        if angle is not None and self.shape not in (ToolShape.VEE, ToolShape.DRILL):
            raise ValueError(f"tool {self.name!r}: an angle belongs to a vee or a drill")
        if self.shape is ToolShape.VEE and angle is None:
            raise ValueError(f"tool {self.name!r}: a vee needs its included angle")
        most = 180.0 if self.shape is ToolShape.DRILL else 179.9
        if angle is not None and not 0.0 < angle <= most:
            raise ValueError(f"tool {self.name!r}: an angle is over 0 and under 180 degrees, got {angle}")
        if self.plunge is False and self.shape is ToolShape.DRILL:
            raise ValueError(f"tool {self.name!r}: a drill goes straight down")
        if self.ramp_deg is not None and not 0.0 < self.ramp_deg < 90.0:
            raise ValueError(f"tool {self.name!r}: a ramp is over 0 and under 90 degrees, got {self.ramp_deg}")
        if self.ramp_deg is not None and self.plunge:
            raise ValueError(f"tool {self.name!r}: a tool that may plunge needs no ramp angle")
        flutes = self.flute_length_mm
        if flutes is not None and not (isfinite(flutes) and flutes > 0.0):
            raise ValueError(f"tool {self.name!r} needs a flute length over 0 mm, got {flutes}")
        if self.number is not None and self.number < 1:
            raise ValueError(f"tool {self.name!r}: a T number is 1 or more, got {self.number}")
