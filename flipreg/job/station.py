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

    Raises
    ------
    ValueError
        If a number is not finite.
    """

    name: str
    along_mm: float
    across_mm: float = 0.0

    def __post_init__(self) -> None:
        if not (isfinite(self.along_mm) and isfinite(self.across_mm)):
            raise ValueError(f"station {self.name!r} needs finite distances")
