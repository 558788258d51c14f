"""Which mistakes explain that the setups of a job do not fit each other, or not their blank.

What two setups share is explained as for two programs. Besides, a job can be wrong as a whole (its unit), and a setup
along Z. Mistakes in different places add up: each is a group of its own, with the hypotheses of which any would do.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache
from math import hypot

from flipreg.findings import Status
from flipreg.geometry.pose import Pose
from flipreg.job.layout import Layout
from flipreg.job_check.common_holes import Entries, common_holes
from flipreg.job_check.pair import compare
from flipreg.job_check.report import PairReport
from flipreg.job_check.setup_advice import SetupAdvice
from flipreg.job_check.z_zero import z_zero_mistakes
from flipreg.program.setup_face import SetupFace
from flipreg.register.check import reported
from flipreg.register.decision.mistake import Change, Mistake, Way
from flipreg.register.faces.bounds import Box
from flipreg.register.placing.judge import Judged
from flipreg.stock.findings.inside import cut_extents, inside_findings
from flipreg.stock.sections.section import section_name
from flipreg.units import INCH_MM

__all__ = ["explained", "grouped", "limits"]

Compared = tuple[SetupFace, SetupFace, Judged]

_TOO_SMALL = 1.0 / 8.0
"""Programs that reach over less of the blank's length and width may be for a blank in another unit (chosen)."""


def explained(compared: Sequence[Compared], made: Sequence[Entries], layout: Layout) -> list[PairReport]:
    """Return the reports of all pairs of a job, each with the mistakes that would explain it.

    Parameters
    ----------
    compared : sequence of (front, back, evidence)
        All setups that were compared face against face.
    made : sequence of Entries
        The holes of all setups.
    layout : Layout
        Of the job.
    """

    def is_inside(face: SetupFace) -> bool:
        return next(inside_findings(face, cut_extents(face), layout)).status is Status.PASS

    @cache
    def inside() -> dict[str, bool]:
        return {one.face.name: is_inside(one.face) for one in made}

    def agreeing(moved: SetupFace) -> int:
        """Return how many pairs, common holes and extents agree with one setup moved."""
        count = 0
        for front, back, judged in compared:
            if moved.name in (front.name, back.name):
                ours, theirs = (moved if face.name == moved.name else face for face in (front, back))
                judged = compare(ours, theirs, **limits(layout))
            count += judged.comparison.register.status is Status.PASS
        holes = [one.moved_with(moved) if one.face.name == moved.name else one for one in made]
        count += sum(common.agrees for common in common_holes(holes, layout.job.tolerance_mm))
        # A setup that cuts off the blank as the job has it is the wrong one more likely than any other.
        return count + is_inside(moved) + sum(fits for name, fits in inside().items() if name != moved.name)

    return [
        PairReport(
            front.name,
            back.name,
            section_name(front.bend),
            reported(judged, SetupAdvice(front, back, layout, agreeing)),
        )
        for front, back, judged in compared
    ]


def grouped(
    faces: Sequence[SetupFace], pairs: Sequence[PairReport], boxes: Mapping[str, Sequence[Box]], layout: Layout
) -> tuple[tuple[Mistake, ...], ...]:
    """Return the mistakes of a job: of each group one was made.

    Parameters
    ----------
    faces : sequence of SetupFace
        All setups.
    pairs : sequence of PairReport
        All that were compared, with their mistakes.
    boxes : mapping
        Extents of what the programs of each setup cut, by its name.
    layout : Layout
        Of the job.
    """
    unit = _job_unit(faces, boxes, layout)
    if unit is not None:
        return ((unit,),)
    return (*((mistake,) for mistake in z_zero_mistakes(faces, layout)), *_of_pairs(pairs))


def _of_pairs(pairs: Sequence[PairReport]) -> Iterator[tuple[Mistake, ...]]:
    """Yield the mistakes of each pair; one that explains more than one pair is told once."""
    told: set[tuple[str, str | None]] = set()
    for pair in pairs:
        mistakes = pair.report.mistakes
        same = {(mistake.sentence, mistake.setup) for mistake in mistakes}
        if mistakes and not same <= told:
            told |= same
            yield mistakes


def _job_unit(
    faces: Sequence[SetupFace], boxes_of: Mapping[str, Sequence[Box]], layout: Layout
) -> Mistake | None:
    """Try the job's own lengths in millimetres, if its programs are far too small for a blank in inches."""
    cut = [face for face in faces if boxes_of[face.name]]
    boxes = [box for part in boxes_of.values() for box in part]
    blank = layout.job.blank
    if not (layout.job.inch and boxes):
        return None
    size = max(box[2] - box[0] for box in boxes) / blank.width_mm, max(box[3] - box[1] for box in boxes) / (
        blank.length_mm
    )
    if max(size) > _TOO_SMALL:
        return None
    small = [_in_millimetres(face) for face in cut]
    fronts, backs = [face for face in small if face.is_front], [face for face in small if not face.is_front]
    in_mm = {name: value / INCH_MM for name, value in limits(layout).items()}
    both = [(front, back) for front in fronts for back in backs if front.bend == back.bend]
    if any(compare(front, back, **in_mm).comparison.register.status is Status.FAIL for front, back in both):
        return None
    return Mistake(
        "job units",
        'the job file has units = "inch", but its programs cut only a small part of a blank that is '
        f"{blank.length_mm / INCH_MM:g} × {blank.width_mm / INCH_MM:g} inches large, and would fit one of so many "
        "millimetres",
        (Way('set units = "mm"', (Change("job", (), {"units": "mm"}),)),),
        is_certain=True,
    )


def _in_millimetres(face: SetupFace) -> SetupFace:
    """Return a setup as if the job's lengths, which are all in its poses, were millimetres and not inches."""

    def smaller(pose: Pose) -> Pose:
        x_mm, y_mm, z_mm = pose.offset_mm
        return replace(pose, offset_mm=(x_mm / INCH_MM, y_mm / INCH_MM, z_mm / INCH_MM))

    return replace(
        face,
        section_from_program=smaller(face.section_from_program),
        blank_from_program=smaller(face.blank_from_program),
    )


def limits(layout: Layout) -> dict[str, float]:
    """Return what `compare` has to know of a job."""
    blank = layout.job.blank
    return {
        "tolerance_mm": layout.job.tolerance_mm,
        "thickness_mm": layout.thickness_mm,
        "blank_mm": hypot(blank.length_mm, blank.width_mm),
    }
