"""What was found out at the bench, as data: remarks are returned, never raised."""

from dataclasses import dataclass
from enum import Enum

__all__ = ["Remark", "Verdict"]


class Verdict(Enum):
    """How a question ended; the value is the word of the JSON report."""

    PASS = "pass"
    """Looked at and within the tolerance."""
    FAIL = "fail"
    """Looked at and outside the tolerance, or a blunder."""
    WARN = "warn"
    """Worth knowing; decides nothing."""
    NOT_DETERMINED = "not determined"
    """Could not be told; never counts as a pass."""


@dataclass(frozen=True, slots=True)
class Remark:
    """One answer.

    Attributes
    ----------
    code : str
        Stable code of the question.
    verdict : Verdict
        How it ended.
    message : str
        For the person at the bench: what was found, in millimetres and degrees, and what to do.
    """

    code: str
    verdict: Verdict
    message: str
