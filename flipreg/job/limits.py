"""What the check of a job looks for beside register, and how closely it looks."""

from dataclasses import dataclass
from math import isfinite

from flipreg.arguments import checks_fields

__all__ = ["Limits"]


@checks_fields
@dataclass(frozen=True, slots=True)
class Limits:
    """What the check table of the job file says; None where it says nothing.

    Attributes
    ----------
    grid_mm : float or None
        Step of the height maps, over 0.
    least_web_mm : float or None
        Least wood that is to be left between cuts of both faces, over 0.
    most_into_spoilboard_mm : float or None
        Deepest that a cut may go into what the blank lies on, 0 or more.
    over_zero_at_mm : float or None
        Every program starts and ends over program zero at this Z of its own numbers or higher.
    clearance_mm : float
        How far the cutter is to keep from clamps, 0 or more.
    least_tab_mm : (float, float)
        Least thickness and width of a tab, both over 0; chosen where the job says nothing: less is a thread or a skin
        that breaks before the cutter has passed (common practice, no source).

    Raises
    ------
    ValueError
        If a number is out of range.
    """

    grid_mm: float | None = None
    least_web_mm: float | None = None
    most_into_spoilboard_mm: float | None = None
    over_zero_at_mm: float | None = None
    clearance_mm: float = 0.0
    least_tab_mm: tuple[float, float] = (0.5, 1.0)

    def __post_init__(self) -> None:
        for size in (self.grid_mm, self.least_web_mm, *self.least_tab_mm):
            if size is not None and not (isfinite(size) and size > 0.0):
                raise ValueError(f"a grid's step, the least web and the least tab are lengths over 0 mm, got {size}")
        for size in (self.most_into_spoilboard_mm, self.clearance_mm):
            if size is not None and not (isfinite(size) and size >= 0.0):
                raise ValueError(f"a depth into the spoilboard and a clearance are lengths of 0 or more, got {size}")
        if self.over_zero_at_mm is not None and not isfinite(self.over_zero_at_mm):
            raise ValueError(f"a height over zero is a finite length, got {self.over_zero_at_mm}")
