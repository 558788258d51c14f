"""A part that lies in a pocket of this one: how thick it is planned, and how far it has to stand proud."""

from dataclasses import dataclass
from math import isfinite

from flipreg.arguments import checks_fields

__all__ = ["FittedPart"]


@checks_fields
@dataclass(frozen=True, slots=True)
class FittedPart:
    """A part and the pocket it is fitted into.

    Attributes
    ----------
    name : str
        How the person calls it.
    setup : str
        The setup that cuts its pocket.
    program : str
        The program of that setup that cuts the pocket, as `SetupProgram.file`.
    thickness_mm : float
        As planned, over 0.
    proud_mm : float
        How far it has to stand out of the face that is up; negative if it lies below it. Less than the thickness.

    Raises
    ------
    ValueError
        If a number is not finite, or the part would not lie in a pocket at all.
    """

    name: str
    setup: str
    program: str
    thickness_mm: float
    proud_mm: float

    def __post_init__(self) -> None:
        if not (isfinite(self.thickness_mm) and self.thickness_mm > 0.0):
            raise ValueError(f"fitted part {self.name!r} needs a thickness over 0 mm, got {self.thickness_mm}")
        if not (isfinite(self.proud_mm) and self.proud_mm < self.thickness_mm):
            raise ValueError(
                f"fitted part {self.name!r} stands proud by less than its thickness, {self.thickness_mm:g} mm, "
                f"got {self.proud_mm:g}"
            )
