"""Clamps: what stands on the table in a setup and must not be touched."""

from dataclasses import dataclass
from math import isfinite

from flipreg.arguments import checks_fields

__all__ = ["Clamp"]


@checks_fields
@dataclass(frozen=True, slots=True)
class Clamp:
    """A clamp as an upright block, from the table to its top.

    All lengths are in the program's numbers of its setup, as the readout shows them with the pointer at the clamp.

    Attributes
    ----------
    name : str
        What it is called in the report.
    x_mm, y_mm : (float, float)
        Lowest and highest.
    top_mm : float
        Z of its highest point.

    Raises
    ------
    ValueError
        If a number is not finite, or low is not under high.
    """

    name: str
    x_mm: tuple[float, float]
    y_mm: tuple[float, float]
    top_mm: float

    @property
    def corners_mm(self) -> tuple[tuple[float, float], ...]:
        """Its four corners seen from above, counter-clockwise from the lowest X and Y."""
        (x0, x1), (y0, y1) = self.x_mm, self.y_mm
        return (x0, y0), (x1, y0), (x1, y1), (x0, y1)

    def __post_init__(self) -> None:
        if not all(map(isfinite, (*self.x_mm, *self.y_mm, self.top_mm))):
            raise ValueError(f"clamp {self.name!r} needs finite numbers")
        if not (self.x_mm[0] < self.x_mm[1] and self.y_mm[0] < self.y_mm[1]):
            raise ValueError(f"clamp {self.name!r} reaches from a lower to a higher number in X and in Y")
