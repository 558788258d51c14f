"""What a check found out, as data: findings are returned, never raised."""

from dataclasses import dataclass
from enum import Enum

__all__ = ["Finding", "Status"]


class Status(Enum):
    """How a check ended; the value is the word of the JSON report."""

    PASS = "pass"
    """Compared and within the tolerance; it says nothing about what was not compared."""
    FAIL = "fail"
    """Compared and outside the tolerance."""
    WARN = "warn"
    """Worth a look; decides nothing."""
    NOT_DETERMINED = "not determined"
    """The check could not tell; never counts as a pass."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One result of one check; whoever shows it takes what it is about from its fields, nobody reads its sentences.

    Attributes
    ----------
    check : str
        Stable code of the check; docs/reference/findings.md lists them.
    status : Status
        How it ended.
    says : str
        For the person at the machine: what was found, in millimetres and degrees, and what to do; no full stop.
    program : str or None
        Name of the program it is about, None where it is about both faces.
    line : int or None
        Line of that program, from 1, None where no single line is meant.
    section : str or None
        In a job, the section of the blank that a place is on: 'straight' or the bent one's name.
    at_mm : (x, y) or None
        The place in the frame of that section, None where no single place is meant.
    setups : tuple of str
        In a job, the setups it begins with when it is told: one, or a front and a back that were compared.
    settle : str or None
        What would settle a finding that is not determined, in a few words; None where only the sentence says it.
    """

    check: str
    status: Status
    says: str
    program: str | None = None
    line: int | None = None
    section: str | None = None
    at_mm: tuple[float, float] | None = None
    setups: tuple[str, ...] = ()
    settle: str | None = None

    @property
    def message(self) -> str:
        """What was found, after the setups it is about."""
        if not self.setups:
            return self.says
        who = f"setup {self.setups[0]!r}" if len(self.setups) == 1 else " / ".join(self.setups)
        return f"{who}: {self.says}"
