"""What the job file says of the machine: how fast it is, where it is taken to stop, and how far its axes go."""

from dataclasses import dataclass
from math import isfinite

from flipreg.arguments import checks_fields

__all__ = ["Machine", "Range"]

Range = tuple[float, float]
"""Lowest and highest value, in millimetres."""


@checks_fields
@dataclass(frozen=True, slots=True)
class Machine:
    """The machine that the setups run on.

    Attributes
    ----------
    rapid_mm_per_min : float or None
        Speed of traverses along their way, over 0.
    acceleration_mm_per_s2 : float or None
        Acceleration along the way, over 0; known if, and only if, the speed of traverses is.
    stop_deg : float
        Corners that turn by more than this are taken as stops in the estimate of time, 0 to 180 degrees.
    travel_mm : three of Range or None, or None
        How far X, Y and Z go, in the machine's own coordinates; None where that is not said.

    Raises
    ------
    ValueError
        If only one of speed and acceleration is known, or a number is out of range.
    """

    rapid_mm_per_min: float | None = None
    acceleration_mm_per_s2: float | None = None
    stop_deg: float = 10.0
    travel_mm: tuple[Range | None, Range | None, Range | None] | None = None

    def __post_init__(self) -> None:
        speeds = (self.rapid_mm_per_min, self.acceleration_mm_per_s2)
        if (speeds[0] is None) != (speeds[1] is None):
            raise ValueError("the speed of traverses and the acceleration of a machine come together or not at all")
        if not all(speed is None or (isfinite(speed) and speed > 0.0) for speed in speeds):
            raise ValueError(f"the speed and the acceleration of a machine are numbers over 0, got {speeds}")
        if not 0.0 <= self.stop_deg <= 180.0:
            raise ValueError(f"an angle to stop at is 0 to 180 degrees, got {self.stop_deg}")
        for axis in self.travel_mm or ():
            if axis is not None and not (isfinite(axis[0]) and isfinite(axis[1]) and axis[0] < axis[1]):
                raise ValueError(f"travel goes from a lower to a higher number, got {axis}")
