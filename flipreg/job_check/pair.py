"""Two setups that cut opposite faces of one section, compared with each other."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from flipreg.findings import Finding, Status
from flipreg.geometry.isometry import Isometry
from flipreg.program.face import FaceProgram
from flipreg.program.setup_face import SetupFace
from flipreg.program.tool_words import ToolWords
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.judge import Judged, Question, judge
from flipreg.register.placing.other_units import Zeros
from flipreg.register.report import Report
from flipreg.stock.sections.section import section_name

__all__ = ["Pair", "compare", "in_section", "opposite"]

_ZERO = (Decimal(0), Decimal(0))


@dataclass(frozen=True, slots=True, eq=False)
class Pair:
    """A setup with the front up, one with the back up, and their check.

    Attributes
    ----------
    front, back : SetupFace
        The setups; the same section lies flat in both.
    report : Report
        Of the check of the two. Its positions are in the frame of the section: the blank frame for the straight one,
        the flat frame for a bent one.
    """

    front: SetupFace
    back: SetupFace
    report: Report

    @property
    def names(self) -> tuple[str, str]:
        """The names of the two setups."""
        return self.front.name, self.back.name

    def findings(self) -> list[Finding]:
        """Return the check's findings that say something about a job, each with the setups' names."""
        passed = self.report.in_register
        found: list[Finding] = []
        for finding in self.report.findings:
            idle = finding.check in ("flip", "bounds") and (passed or finding.status is not Status.FAIL)
            # What to do is told once for the whole job, and what is said of zeros for each setup.
            idle |= finding.check in ("diagnosis", "datum")
            if not idle:
                section = None if finding.at_mm is None else section_name(self.front.bend)
                found.append(replace(finding, setups=self.names, section=section))
        return found


def opposite(faces: Sequence[SetupFace]) -> list[tuple[SetupFace, SetupFace]]:
    """Return the setups that can be compared face against face: one section, front and back."""
    fronts = [face for face in faces if face.is_front]
    backs = [face for face in faces if not face.is_front]
    return [(front, back) for front in fronts for back in backs if front.bend == back.bend]


def compare(front: SetupFace, back: SetupFace, *, tolerance_mm: float, thickness_mm: float, blank_mm: float) -> Judged:
    """Return the evidence on two setups of one section, where the job lays them.

    Parameters
    ----------
    front, back : SetupFace
        The setups.
    tolerance_mm, thickness_mm : float
        As for `flipreg.register.check.check`.
    blank_mm : float
        The blank's diagonal.
    """
    as_said = Placement.of(Isometry.mirror_x(datum_mm=_ZERO))
    zeros = Zeros(_zero_in_section(front), _zero_in_section(back))
    seen = _seen_from_its_side(front), _seen_from_its_side(back)
    question = Question(tolerance_mm, as_said, thickness_mm=thickness_mm, zeros=zeros, largest_mm=blank_mm, seen=seen)
    return judge(in_section(front), in_section(back), question)


def in_section(face: SetupFace) -> list[FaceProgram]:
    """Return a setup's programs in the frame of the section, seen from the side that is cut, without their remarks.

    For the back that is the section's frame turned over like a page, however the blank was turned over really: the
    pose has done that already, and the check wants both faces as two people would see them.
    """
    seen = _seen_from_its_side(face)
    return [
        replace(program, path=program.path.transformed(seen), words=ToolWords(), findings=(), lengths=())
        for program in face.programs
    ]


def _seen_from_its_side(face: SetupFace) -> Isometry:
    seen = face.seen_from_above
    return seen if face.is_front else Isometry.mirror_x(datum_mm=_ZERO) @ seen


def _zero_in_section(face: SetupFace) -> tuple[float, float, float]:
    """Return where the zero that a setup's programs count from is among the motions of `in_section`."""
    x_mm, y_mm, _ = _seen_from_its_side(face).offset_mm.tolist()
    return x_mm, y_mm, -face.top_mm
