"""Everything a check of two faces found out, for every way of showing it."""

from dataclasses import dataclass

from flipreg.findings import Finding, Status
from flipreg.register.decision.directions import Direction
from flipreg.register.decision.mistake import Mistake, joined_sentence
from flipreg.register.faces.bounds import Bounds
from flipreg.register.faces.datum import Datum
from flipreg.register.placing.deviation import Register

__all__ = ["Flip", "FlipChoice", "Report", "Rival", "Vote"]


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
    half_turn : bool
        For a back that is not mirrored: whether it is turned by half a turn besides.
    """

    axis: str | None
    datum_mm: tuple[float, float] | None
    words: str
    half_turn: bool = False


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
class Vote:
    """How much of what both faces show coincides, against chance.

    Attributes
    ----------
    coincide, features : int
        How many of how many features coincide. An outline that agrees all round counts as four.
    by_chance : float
        How many chance would make coincide.
    log10_false_alarms : float
        How often chance would do as well in all the placements that were looked at, as a logarithm.
    others : tuple of Rival
        The other placements in which most coincides, most first.
    pitch_mm : (float, float) or None
        By what shift the pattern repeats; None where it doesn't.
    """

    coincide: int
    features: int
    by_chance: float
    log10_false_alarms: float
    others: tuple["Rival", ...]
    pitch_mm: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class Rival:
    """Another placement, and how much coincides there.

    Attributes
    ----------
    choice : FlipChoice
        The flip.
    coincide : int
        How many features coincide.
    """

    choice: FlipChoice
    coincide: int


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
    directions : tuple of Direction
        Register across the flip line, along it, and in turn, each with what decides it.
    vote : Vote or None
        How much coincides, against chance; None where nothing does.
    datum : Datum
        Where the zeros lie.
    bounds : Bounds
        Extents in the blank frame.
    mistakes : tuple of Mistake
        The mistakes of which each alone would explain it; empty where there is nothing to explain or nothing does.
    findings : tuple of Finding
        All results of all checks.
    is_contradicted : bool
        Whether something speaks against register as it was told, even if it is no disproof.
    inch : bool
        Whether its sentences are told in inches, and its numbers are to be shown so; they are millimetres.
    """

    front: tuple[str, ...]
    back: tuple[str, ...]
    tolerance_mm: float
    verdict: Status
    flip: Flip
    register: Register
    directions: tuple[Direction, ...]
    vote: Vote | None
    datum: Datum
    bounds: Bounds
    mistakes: tuple[Mistake, ...]
    findings: tuple[Finding, ...]
    is_contradicted: bool = False
    inch: bool = False

    @property
    def diagnosis(self) -> str | None:
        """The likely mistake and what to do, in words; None where there is none."""
        return joined_sentence(self.mistakes)

    @property
    def in_register(self) -> bool | None:
        """True and False where register is shown or disproved, None where it cannot be determined."""
        return {Status.PASS: True, Status.FAIL: False}.get(self.verdict)

    @property
    def passes(self) -> bool:
        """Whether the faces are in register and no finding fails, such as one of a single program."""
        return self.in_register is True and all(finding.status is not Status.FAIL for finding in self.findings)
