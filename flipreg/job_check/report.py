"""Everything the check of a job found out, for every way of showing it."""

from dataclasses import dataclass, replace

from flipreg.cut.holding import Tab
from flipreg.cut.thickness import Web
from flipreg.findings import Finding, Status
from flipreg.job.setup import Setup
from flipreg.job_check.common_holes import CommonHoles
from flipreg.job_check.times import SetupTime
from flipreg.program.setup_face import SetupFace
from flipreg.register.decision.mistake import Mistake, groups_sentence
from flipreg.register.faces.bounds import Box
from flipreg.register.report import Report
from flipreg.stock.cutting.bite import Bitten
from flipreg.stock.findings.edge_step import EdgeStep
from flipreg.stock.findings.floors import Floor, Seam
from flipreg.stock.sections.remaining import PartSupport, RemainingStock, Thickness

__all__ = ["JobReport", "PairReport", "SetupReport"]

_ORDER = (Status.FAIL, Status.WARN, Status.NOT_DETERMINED)


@dataclass(frozen=True, slots=True)
class SetupReport:
    """One setup.

    Attributes
    ----------
    setup : Setup
        As the job has it.
    zero_mm : three floats
        Its program zero in the blank frame.
    cut_mm : Box or None
        Extents of its cutting, of the tool's centre, in the frame of the section that lies flat; None if it cuts
        nothing.
    """

    setup: Setup
    zero_mm: tuple[float, float, float]
    cut_mm: Box | None


@dataclass(frozen=True, slots=True)
class PairReport:
    """Two setups of opposite faces.

    Attributes
    ----------
    front, back : str
        Names of the setups.
    section : str
        The one that lies flat in both, by what the job file calls it.
    report : Report
        Of their check, in the frame of the section: the blank frame for the straight one, the flat frame for a bent
        one.
    """

    front: str
    back: str
    section: str
    report: Report

    def findings(self) -> list[Finding]:
        """Return the check's findings that say something about a job, each with the setups' names."""
        passed = self.report.in_register is True
        # The first of them says which flip was used, which the job says itself; others doubt it.
        used = next((finding for finding in self.report.findings if finding.check == "flip"), None)
        found: list[Finding] = []
        for finding in self.report.findings:
            idle = finding is used or (finding.check == "flip" and passed)
            idle |= finding.check == "bounds" and (passed or finding.status is not Status.FAIL)
            # What to do is told once for the whole job, and what is said of zeros for each setup.
            idle |= finding.check in ("diagnosis", "datum")
            if not idle:
                section = None if finding.at_mm is None else self.section
                found.append(replace(finding, setups=(self.front, self.back), section=section))
        return found


@dataclass(frozen=True, slots=True)
class JobReport:
    """The whole check of a job.

    Attributes
    ----------
    source, name : str
        The job file and the name of the part.
    tolerance_mm, thickness_mm : float
        What was allowed, and the thickness the blank was taken to have.
    verdict : Status
        PASS, FAIL or NOT_DETERMINED, for the register of all setups.
    setups : tuple of SetupReport
        In the order of the job.
    pairs : tuple of PairReport
        Every two setups that could be compared face against face.
    common_holes : tuple of CommonHoles
        Every two setups with the same face up.
    floors : tuple of Floor
        The lowest cut of each program.
    seams : tuple of Seam
        Where front and back cuts meet.
    mistakes : tuple of tuples of Mistake
        The likely mistakes: of each group one was made, and of which any alone would explain what it explains.
    findings : tuple of Finding
        All results of all checks.
    times : tuple of SetupTime
        How long each setup takes; empty where the machine's speed is not said.
    faces : tuple of SetupFace
        Every setup with its programs, in the order of the job.
    left : tuple of RemainingStock
        What is left of each section that a setup cuts.
    held : tuple of PartSupport
        How the pieces that are cut out hang in the blank after each setup.
    stations : tuple of Thickness
        The finished thickness where the job asks for it.
    webs : tuple of (str, Web)
        The thinnest web of each section that has one, with the section's name.
    steps : tuple of EdgeStep
        The step at the seam along edges cut from both faces.
    bitten : tuple of Bitten
        How deep each program bites with each of its tools, by section, in the order they run.
    wood_is_known : bool
        False where a program cuts at places that nobody knows, so that the wood was not judged.
    inch : bool
        Whether the job's lengths are inches, and people are told inches; the fields are millimetres all the same.
    by_marks : bool
        Whether register rests on the marks, because the programs cannot show it.
    """

    source: str
    name: str
    tolerance_mm: float
    thickness_mm: float
    verdict: Status
    setups: tuple[SetupReport, ...]
    pairs: tuple[PairReport, ...]
    common_holes: tuple[CommonHoles, ...]
    floors: tuple[Floor, ...]
    seams: tuple[Seam, ...]
    mistakes: tuple[tuple[Mistake, ...], ...]
    findings: tuple[Finding, ...]
    times: tuple[SetupTime, ...] = ()
    faces: tuple[SetupFace, ...] = ()
    left: tuple[RemainingStock, ...] = ()
    held: tuple[PartSupport, ...] = ()
    stations: tuple[Thickness, ...] = ()
    webs: tuple[tuple[str, Web], ...] = ()
    steps: tuple[EdgeStep, ...] = ()
    bitten: tuple[Bitten, ...] = ()
    wood_is_known: bool = True
    inch: bool = False
    by_marks: bool = False

    @property
    def remarks(self) -> tuple[Finding, ...]:
        """The findings a person has to read, in order; reports and pictures number them from 1 in this order.

        What fails comes first, then what to look at, what is not determined, and the guesses of the job file.
        """
        # What is likely wrong is told in full above.
        open_ones = [one for one in self.findings if one.status is not Status.PASS and one.check != "diagnosis"]
        return tuple(sorted(open_ones, key=lambda one: (one.check == "guess", _ORDER.index(one.status))))

    @property
    def guesses(self) -> tuple[Finding, ...]:
        """What the job file says and nobody has confirmed."""
        return tuple(one for one in self.findings if one.check == "guess")

    @property
    def diagnosis(self) -> str | None:
        """The likely mistakes and what to do, in words; None where there are none."""
        return groups_sentence(self.mistakes)

    @property
    def in_register(self) -> bool | None:
        """True and False where register is shown or disproved, None where it cannot be determined."""
        return {Status.PASS: True, Status.FAIL: False}.get(self.verdict)

    @property
    def tabs(self) -> tuple[tuple[str, Tab], ...]:
        """The tabs when all setups have run, each with its section; reports and pictures number them from 1."""
        last = {one.section: one.setup for one in self.held}
        final = [one for one in self.held if last[one.section] == one.setup]
        return tuple(dict.fromkeys((one.section, tab) for one in final for tab in one.tabs))

    @property
    def fails(self) -> bool:
        """Whether any check failed, in register or not."""
        return any(finding.status is Status.FAIL for finding in self.findings)

    @property
    def passes(self) -> bool:
        """Whether register is shown, no check failed, all cuts were judged, and no value of the job is a guess."""
        return self.in_register is True and not self.fails and self.wood_is_known and not self.guesses

    @property
    def worst(self) -> PairReport | None:
        """The pair that is furthest out of register; None where nothing was compared."""
        compared = [pair for pair in self.pairs if pair.report.register.worst_mm is not None]
        return max(compared, key=lambda pair: pair.report.register.worst_mm or 0.0, default=None)
