"""Two setups that cut opposite faces of one section, compared with each other."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from flipreg.geometry.isometry import Isometry
from flipreg.verify.check import check
from flipreg.verify.face import FaceProgram
from flipreg.verify.finding import Finding, Status
from flipreg.verify.report import Report
from flipreg.verify.setup_face import SetupFace
from flipreg.verify.tool_words import ToolWords

__all__ = ["Pair", "compare", "corrected_jogs", "in_section", "opposite"]

_ZERO = (Decimal(0), Decimal(0))

_LEAST_MM = 0.005
"""A jog is not said to be wrong by less than this, in millimetres: it is what programs' last decimals make. Ours."""


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

    def findings(self, *, is_explained: bool) -> list[Finding]:
        """Return the check's findings that say something about a job, each with the setups' names.

        `is_explained` leaves out what to do about the programs: a wrong jog explains what is off.
        """
        passed = self.report.in_register
        found: list[Finding] = []
        is_first_datum = True
        for finding in self.report.findings:
            # Where the zeros are is given by the job here, and closure is told for each setup.
            is_closure, is_first_datum = (
                finding.check == "datum" and is_first_datum,
                (is_first_datum and finding.check != "datum"),
            )
            idle = finding.check in ("flip", "bounds") and (passed or finding.status is not Status.FAIL)
            idle |= is_explained and finding.check == "diagnosis"
            if not (is_closure or idle):
                found.append(replace(finding, message=f"{self.front.name} / {self.back.name}: {finding.message}"))
        return found


def opposite(faces: Sequence[SetupFace]) -> list[tuple[SetupFace, SetupFace]]:
    """Return the setups that can be compared face against face: one section, front and back."""
    fronts = [face for face in faces if face.is_front]
    backs = [face for face in faces if not face.is_front]
    return [(front, back) for front in fronts for back in backs if front.bend == back.bend]


def compare(front: SetupFace, back: SetupFace, *, tolerance_mm: float, thickness_mm: float) -> Pair:
    """Return two setups of one section, compared where the job lays them.

    Parameters
    ----------
    front, back : SetupFace
        The setups.
    tolerance_mm, thickness_mm : float
        As for `flipreg.verify.check.check`.
    """
    report = check(
        in_section(front),
        in_section(back),
        tolerance_mm=tolerance_mm,
        flip=Isometry.mirror_x(datum_mm=_ZERO),
        thickness_mm=thickness_mm,
    )
    return Pair(front, back, report)


def corrected_jogs(pair: Pair, *, tolerance_mm: float) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """Return the front's jog and the back's jog, either of which alone would bring a pair into register.

    None where no shift does, or none is needed.
    """
    found = check(in_section(pair.front), in_section(pair.back), tolerance_mm=tolerance_mm, axis="y")
    datum = found.flip.choice.datum_mm
    if not found.in_register or found.flip.choice.axis != "y" or datum is None:
        return None
    x_mm, y_mm = datum
    if max(abs(x_mm), abs(y_mm)) < _LEAST_MM:
        return None
    # The datum says where the back's zero would have to be; the back lies off by its negative.
    return _jog(pair.front, -x_mm, -y_mm), _jog(pair.back, x_mm, y_mm)


def _jog(face: SetupFace, x_mm: float, y_mm: float) -> tuple[float, float]:
    """Return the jog that moves a setup's cutting by a way in the section's frame, to a hundredth of a millimetre."""
    # The seen motion's inverse, without its offset, is the transposed matrix.
    (xx, xy), (yx, yy) = face.seen_from_above.matrix.tolist()
    zero_x_mm, zero_y_mm = face.setup.zero_mm
    return (
        round(zero_x_mm + xx * x_mm + yx * y_mm, 2) + 0.0,
        round(zero_y_mm + xy * x_mm + yy * y_mm, 2) + 0.0,
    )


def in_section(face: SetupFace) -> list[FaceProgram]:
    """Return a setup's programs in the frame of the section, seen from the side that is cut.

    For the back that is the section's frame turned over like a page, however the blank was turned over really: the
    pose has done that already, and the check wants both faces as two people would see them.
    """
    seen = face.seen_from_above
    if not face.is_front:
        seen = Isometry.mirror_x(datum_mm=_ZERO) @ seen
    return [replace(program, path=program.path.transformed(seen), words=ToolWords()) for program in face.programs]
