"""How a blank lies, as values: touched marks, what they leave, what to do.

Positions are in the frame of the program that is about to run, in millimetres.
"""

from dataclasses import dataclass
from enum import Enum
from math import hypot

from flipreg.align.nudge import Correction, Nudge
from flipreg.findings import Finding, Status

__all__ = ["MarkDistance", "TouchOutcome", "TouchReport", "TouchedMark"]


@dataclass(frozen=True, slots=True)
class TouchedMark:
    """One mark as planned and as touched.

    Attributes
    ----------
    name : str
        The mark.
    planned_mm, touched_mm : (float, float)
        Where it should be, and where the pointer found it.
    residual_mm : (float, float) or None
        What the fitted motion leaves: touched less fitted. None where nothing was fitted.
    """

    name: str
    planned_mm: tuple[float, float]
    touched_mm: tuple[float, float]
    residual_mm: tuple[float, float] | None

    @property
    def off_mm(self) -> float | None:
        """The length of the residual."""
        return None if self.residual_mm is None else hypot(*self.residual_mm)


@dataclass(frozen=True, slots=True)
class MarkDistance:
    """How far two marks are apart, planned and measured, in millimetres."""

    first: str
    second: str
    planned_mm: float
    measured_mm: float

    @property
    def excess_mm(self) -> float:
        """Measured less planned; positive where the marks are too far apart."""
        return self.measured_mm - self.planned_mm


class TouchOutcome(Enum):
    """What the touches allow to be done; the value is the word of the JSON report."""

    WHOLE = "offset and turn"
    """The blank's position is known."""
    OFFSET = "offset only"
    """Its turn is not known, or not as exactly as the cut needs it."""
    REFUSED = "refused"
    """The touches do not show a blank that lies nearly as planned; nothing may be corrected by them."""


@dataclass(frozen=True, slots=True)
class TouchReport:
    """How a blank lies.

    Attributes
    ----------
    tolerance_mm : float
        The largest distance that is still as planned.
    reference : str
        The mark that corrections are told from.
    fit : TouchOutcome
        What the touches allow to be done.
    marks : tuple of TouchedMark
        In the order they were given.
    distances : tuple of MarkDistance
        Every pair of marks.
    findings : tuple of Finding
        Every question that was asked, with its answer.
    turn_deg : float or None
        The blank's turn against the plan, counter-clockwise positive; None where the touches say nothing about it.
    turn_within_deg : float or None
        How far off that turn may be, 19 times in 20.
    away_mm : float or None
        How far the touched mark that is farthest away lies from its planned place; None where the fit is refused.
    cut_away_mm : float or None
        How far from its plan the cut would land where it is farthest off, by the fitted motion; None where the fit is
        refused.
    correction : Correction or None
        The shift that the program needs where the blank stays as it lies; None where the touches do not allow one.
    nudge : Nudge or None
        How to push the blank instead.
    """

    tolerance_mm: float
    reference: str
    fit: TouchOutcome
    marks: tuple[TouchedMark, ...]
    distances: tuple[MarkDistance, ...]
    findings: tuple[Finding, ...]
    turn_deg: float | None = None
    turn_within_deg: float | None = None
    away_mm: float | None = None
    cut_away_mm: float | None = None
    correction: Correction | None = None
    nudge: Nudge | None = None

    @property
    def as_planned(self) -> bool | None:
        """Whether the blank lies as planned, None where that cannot be told."""
        statuses = {finding.status for finding in self.findings}
        if Status.FAIL in statuses:
            return False
        return None if Status.NOT_DETERMINED in statuses else True

    @property
    def explained(self) -> bool:
        """Whether a rigid motion explains every touch, offset and turn, within the tolerance."""
        bad = (Status.FAIL, Status.NOT_DETERMINED)
        return self.fit is TouchOutcome.WHOLE and not any(
            finding.status in bad for finding in self.findings if finding.check != "position"
        )

    @property
    def may_be_applied(self) -> bool:
        """Whether a program may be moved by these touches: what is known of offset and turn is sound."""
        return self.correction is not None and not any(
            finding.status is Status.FAIL for finding in self.findings if finding.check != "position"
        )
