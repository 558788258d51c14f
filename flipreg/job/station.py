"""Stations: where the finished thickness is wanted, to compare with a caliper."""

from dataclasses import dataclass
from math import isfinite

from flipreg.arguments import checks_fields

__all__ = ["Station"]


@checks_fields
@dataclass(frozen=True, slots=True)
class Station:
    """A named place of the part.

    Attributes
    ----------
    name : str
        What it is called in the report.
    along_mm : float
        Distance from the near end, measured along the front face (over a bend, with the tape on the wood).
    across_mm : float
        Its x in the blank frame: 0 on the centre line, positive towards the right edge of the front.
    planned_mm, tolerance_mm : float or None
        The finished thickness that is planned, over 0, and how far off it may be, either way, 0 or more; None where
        the plan says nothing.

    Raises
    ------
    ValueError
        If a number is not finite or out of range, or one of thickness and tolerance is given without the other.
    """

    name: str
    along_mm: float
    across_mm: float = 0.0
    planned_mm: float | None = None
    tolerance_mm: float | None = None

    def __post_init__(self) -> None:
        if not (isfinite(self.along_mm) and isfinite(self.across_mm)):
            raise ValueError(f"station {self.name!r} needs finite distances")
        if (self.planned_mm is None) != (self.tolerance_mm is None):
            raise ValueError(f"station {self.name!r}: a planned thickness and its tolerance go together")
        if self.planned_mm is not None and not self.planned_mm > 0.0:
            raise ValueError(f"station {self.name!r}: a planned thickness is over 0 mm, got {self.planned_mm}")
        if self.tolerance_mm is not None and not self.tolerance_mm >= 0.0:
            raise ValueError(f"station {self.name!r}: a tolerance is 0 mm or more, got {self.tolerance_mm}")
