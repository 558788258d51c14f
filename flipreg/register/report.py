"""Everything a check of two faces found out, for every way of showing it."""

from dataclasses import dataclass

from flipreg.findings import Finding, Status
from flipreg.register.bounds import Bounds
from flipreg.register.datum import Datum
from flipreg.register.deviation import Register
from flipreg.register.mistake import Mistake, joined_sentence

__all__ = ["Flip", "FlipChoice", "Report"]


@dataclass(frozen=True, slots=True)
class FlipChoice:
    """One way the blank may have been flipped.

    Attributes
    ----------
    axis : str or None
        'x', 'y', 'none' for a back that is not mirrored, None where it is not known or no main axis.
    datum_mm : (float, float) or None
        The point of the blank, in the front program's numbers, that is program zero for the back.
    words : str
        How a person would say it.
    """

    axis: str | None
    datum_mm: tuple[float, float] | None
    words: str


@dataclass(frozen=True, slots=True)
class Flip:
    """The flip that was checked, and the others that would do as well.

    Attributes
    ----------
    choice : FlipChoice
        The flip the register was measured with.
    is_found : bool
        Worked out from what the faces share, not given: the machine's zero must be set by it.
    alternatives : tuple of FlipChoice
        What fits as well, because the shared features are symmetric.
    """

    choice: FlipChoice
    is_found: bool
    alternatives: tuple[FlipChoice, ...] = ()


@dataclass(frozen=True, slots=True)
class Report:
    """The whole check of a front and a back.

    Attributes
    ----------
    front, back : tuple of str
        Names of the programs.
    tolerance_mm : float
        Largest deviation that is in register.
    verdict : Status
        PASS, FAIL or NOT_DETERMINED, for the register of the two faces.
    flip : Flip
        The flip it was checked with.
    register : Register
        The numbers.
    datum : Datum
        Where the zeros lie.
    bounds : Bounds
        Extents in the blank frame.
    mistakes : tuple of Mistake
        The mistakes of which each alone would explain it; empty where there is nothing to explain or nothing does.
    findings : tuple of Finding
        All results of all checks.
    """

    front: tuple[str, ...]
    back: tuple[str, ...]
    tolerance_mm: float
    verdict: Status
    flip: Flip
    register: Register
    datum: Datum
    bounds: Bounds
    mistakes: tuple[Mistake, ...]
    findings: tuple[Finding, ...]

    @property
    def diagnosis(self) -> str | None:
        """The likely mistake and what to do, in words; None where there is none."""
        return joined_sentence(self.mistakes)

    @property
    def in_register(self) -> bool | None:
        """True and False where register is shown or disproved, None where it cannot be determined."""
        return {Status.PASS: True, Status.FAIL: False}.get(self.verdict)
