"""Register in three directions: across the flip line, along it, and in turn; each with what decides it.

A centre line shows register across the line and nothing along it; a round rim shows both and no turn. Only what is
shown in all three directions is shown.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, inf, isfinite, radians, sqrt
from typing import Literal

from flipreg.findings import Status

__all__ = ["Direction", "PoseEstimate", "directions_of", "farthest_mm"]

_COVERAGE = 2.0
"""Standard uncertainties that have to fit into the tolerance; common practice, about 95 %."""
_SETTLE = {
    "across": "drill two holes through from the front, far apart, and drill or touch them from the back",
    "along": "drill a hole through from the front, and drill or touch it from the back",
    "turn": "drill two holes through from the front, far apart, and drill or touch them from the back",
}

_FAR_MM = 5.0
"""What is shown to lie further apart may be two different things, in millimetres (chosen):
most that is sawn is parallel."""

Name = Literal["across", "along", "turn"]


@dataclass(frozen=True, slots=True)
class PoseEstimate:
    """Where the back lies, less where it should, as one kind of evidence shows it.

    Attributes
    ----------
    words : str
        What shows it.
    across_mm, along_mm, turn_deg : float
        The displacement of the middle of the part across and along the flip line, and the turn, counter-clockwise
        positive; 0 where it isn't shown.
    across_uncertainty_mm, along_uncertainty_mm, turn_uncertainty_deg : float
        Standard uncertainties; infinite where it isn't shown.
    can_disprove : bool
        Whether it shows too that the faces are out of register; else it leaves that open.
    settle : str or None
        What would make it surer, besides what settles any direction.
    """

    words: str
    across_mm: float
    along_mm: float
    turn_deg: float
    across_uncertainty_mm: float = inf
    along_uncertainty_mm: float = inf
    turn_uncertainty_deg: float = inf
    can_disprove: bool = True
    settle: str | None = None

    def lies_far_off(self, tolerance_mm: float) -> bool:
        """Return whether it shows so large a shift that it need not be of the same thing on both faces."""
        shifts = (self.across_mm, self.across_uncertainty_mm), (self.along_mm, self.along_uncertainty_mm)
        far_mm = max(_FAR_MM, tolerance_mm)
        return any(abs(off) > far_mm + _COVERAGE * uncertainty for off, uncertainty in shifts)


@dataclass(frozen=True, slots=True)
class Direction:
    """Register in one direction.

    Attributes
    ----------
    name : 'across', 'along' or 'turn'
        Across the flip line, along it, or in turn.
    status : Status
        PASS, FAIL or NOT_DETERMINED.
    evidence : str or None
        What decides it; None where nothing does.
    off : float or None
        Where the back lies, less where it should, at the middle of the part: in millimetres, the turn in degrees,
        counter-clockwise positive.
    uncertainty : float or None
        Standard uncertainty in the same unit.
    settle : str or None
        What would settle it, where it is open.
    """

    name: Name
    status: Status
    evidence: str | None
    off: float | None
    uncertainty: float | None
    settle: str | None

    @property
    def unit(self) -> str:
        """'mm', or 'deg' for the turn."""
        return "deg" if self.name == "turn" else "mm"


def directions_of(estimates: Sequence[PoseEstimate], reach_mm: float, tolerance_mm: float) -> tuple[Direction, ...]:
    """Return register in each direction, by the evidence that shows it best.

    Parameters
    ----------
    estimates : sequence of PoseEstimate
        All evidence that counts.
    reach_mm : float
        From the middle of the part to its corners, where a turn counts.
    tolerance_mm : float
        Largest displacement that is in register.
    """
    return tuple(_direction(name, estimates, reach_mm, tolerance_mm) for name in ("across", "along", "turn"))


def farthest_mm(directions: Sequence[Direction], across_mm: float, along_mm: float) -> float:
    """Return how far the corner of the part that is displaced most lies off: by all three directions together.

    Parameters
    ----------
    directions : sequence of Direction
        Across, along and in turn; what none shows counts as nothing.
    across_mm, along_mm : float
        Half the size of the part across the flip line, and along it.
    """
    across, along, turn = (abs(one.off or 0.0) for one in directions)
    return hypot(across + radians(turn) * along_mm, along + radians(turn) * across_mm)


def _direction(name: Name, estimates: Sequence[PoseEstimate], reach_mm: float, tolerance_mm: float) -> Direction:
    arm = radians(1.0) * reach_mm if name == "turn" else 1.0
    known = sorted(((*_of(name, one), one) for one in estimates), key=lambda entry: entry[1])
    if not known or not isfinite(known[0][1]):
        return Direction(name, Status.NOT_DETERMINED, None, None, None, _SETTLE[name])
    off, uncertainty, best = known[0]
    words = best.words
    if _COVERAGE * uncertainty * arm > tolerance_mm:
        surer = _SETTLE[name] if best.settle is None else f"{best.settle}, or {_SETTLE[name]}"
        return Direction(name, Status.NOT_DETERMINED, words, off, uncertainty, surer)
    for other_off, other, one in known[1:]:
        room = tolerance_mm + _COVERAGE * sqrt(uncertainty**2 + other**2) * arm
        if isfinite(other) and abs(other_off - off) * arm > room:
            settle = f"{words} and {one.words} contradict each other: compare both faces with the plan"
            return Direction(name, Status.NOT_DETERMINED, words, off, uncertainty, settle)
    if abs(off) * arm <= tolerance_mm and (best.can_disprove or not best.lies_far_off(tolerance_mm)):
        return Direction(name, Status.PASS, words, off, uncertainty, None)
    if best.can_disprove:
        return Direction(name, Status.FAIL, words, off, uncertainty, None)
    settle = f"{words} do not agree; if they are meant to, it is not in register: {_SETTLE[name]}"
    return Direction(name, Status.NOT_DETERMINED, words, off, uncertainty, settle)


def _of(name: Name, one: PoseEstimate) -> tuple[float, float]:
    """Return a displacement and its standard uncertainty."""
    if name == "across":
        return one.across_mm, one.across_uncertainty_mm
    if name == "along":
        return one.along_mm, one.along_uncertainty_mm
    return one.turn_deg, one.turn_uncertainty_deg
