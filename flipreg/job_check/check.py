"""The check of a whole job: every setup's programs, where the job lays them on the blank.

What a pass means: every setup is connected with every other one by evidence that agrees, front against back of one
section by `flipreg.register.check`, setups of one face by holes that both make; nothing disagrees, and no setup cuts
off the blank. It says nothing about what is not compared, about the machine, or about how the blank is laid down. What
is left of the wood is checked too; it may fail although everything is in register.
"""

from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path as FilePath

from flipreg.findings import Finding, Status
from flipreg.geometry.pose import Pose
from flipreg.job.job import Job
from flipreg.job.layout import Layout
from flipreg.job.problem import JobFileError, Problem
from flipreg.job.rules import obeyed, with_layout
from flipreg.job.setup import SetupProgram
from flipreg.job_check.clamps import clamp_findings
from flipreg.job_check.common_holes import CommonHoles, common_holes, entries
from flipreg.job_check.connection import connected, connection_findings
from flipreg.job_check.diagnosis import explained, grouped, limits
from flipreg.job_check.guesses import guess_findings
from flipreg.job_check.over_zero import over_zero_findings
from flipreg.job_check.pair import compare, opposite
from flipreg.job_check.program_remarks import program_remarks
from flipreg.job_check.report import JobReport, PairReport, SetupReport
from flipreg.job_check.times import setup_times
from flipreg.job_check.travel import travel_findings
from flipreg.names import bare_name
from flipreg.program.face import FaceProgram
from flipreg.program.face_program import face_program
from flipreg.program.setup_face import Reader, SetupFace, setup_face
from flipreg.progress import Progress
from flipreg.register.decision.mistake import Mistake, joined_words
from flipreg.register.faces.bounds import Box
from flipreg.register.faces.datum import datum_of, offset_findings
from flipreg.rs274.read.program import ProgramFile
from flipreg.second_process import SecondProcess
from flipreg.stock.check import check_wood
from flipreg.stock.findings.floors import depth_findings, floors, seam_findings, seams
from flipreg.stock.findings.inside import CutExtent, cut_extents, fits_in_inches, inside_findings
from flipreg.units import shown_in, shown_now

__all__ = ["check_job"]

_MOTIONS_BESIDE = 200_000
"""Programs of more motions are compared before the wood is cut and not meanwhile (chosen): both need memory."""
_HOME = "flipreg home"
"""What lets a program end over its zero."""
_BY_MARKS = (
    "by the marks: program zeros, jogs and mark lines agree, and nothing that the programs cut contradicts them; "
    "whether the wood is in register rests on how well the lines are drawn and touched"
)


def check_job(job: Job, *, read: Reader | None = None, progress: Progress | None = None) -> JobReport:
    """Check every setup of a job against the others and against the blank.

    Parameters
    ----------
    job : Job
        What the plan says.
    read : callable, optional
        Reads a program of a setup; without it, the file it names is read.
    progress : callable, optional
        Is told how many of the programs have been compared and run over the wood.

    Returns
    -------
    JobReport
        Its `in_register` is True only by proof.

    Raises
    ------
    JobFileError
        If parts of the job contradict each other, or the programs are far too large for the blank, and would fit if its
        size were in inches.
    ProgramError, RefusedError
        If a program is not legal, or cannot be interpreted.
    """
    with shown_in(inch=job.inch):
        return _checked(job, _read if read is None else read, progress)


def _checked(job: Job, read: Reader, progress: Progress | None) -> JobReport:
    layout = Layout.of(with_layout(job))
    faces = [setup_face(layout, setup, read) for setup in job.setups]
    found = {face.name: cut_extents(face) for face in faces}
    _refuse_other_units(job, [extent for part in found.values() for extent in part], layout)
    # A blank in another unit breaks many rules; that it is in another unit is what helps.
    obeyed(job)
    # In a wrong unit a setup may cut nothing: the comparison tells why.
    both = opposite([face for face in faces if any(bool(one.path.is_cut.any()) for one in face.programs)])
    boxes = {name: [extent.box_mm for extent in part] for name, part in found.items()}
    if both and progress is not None:
        progress("comparing", 0, 0)
    motions = sum(len(program.path) for face in faces for program in face.programs)
    pays = bool(both) and motions <= _MOTIONS_BESIDE
    with SecondProcess([partial(_compared, faces, both, boxes, layout)], pays=pays) as second:
        compared = second.begin(0, is_long=False)
        bounds = [finding for face in faces for finding in inside_findings(face, found[face.name], layout)]
        depths = {face.name: floors(face, found[face.name], layout) for face in faces}
        all_floors = [floor for part in depths.values() for floor in part]
        setups = tuple(_setup_report(face, found[face.name]) for face in faces)
        # A place for every motion: what comes now needs the memory more.
        del found
        wood = check_wood(layout, faces, all_floors, progress=progress)
        pairs, common, mistakes = compared()
    met = [
        seam
        for pair in pairs
        for seam in seams(depths[pair.front], depths[pair.back], layout, wood.edge_left_mm)
    ]
    zeros = [one for face in faces for one in offset_findings(face.programs, "its programs cut", (face.name,))]
    is_one_zero = all(one.status is not Status.NOT_DETERMINED for one in zeros)
    verdict = _verdict(pairs, common, bounds, len(faces), is_one_zero=is_one_zero)
    by_marks = job.by_marks and is_one_zero and verdict is Status.NOT_DETERMINED and not _contradicted(pairs, bounds)
    findings = _diagnoses(mistakes, verdict)
    if by_marks:
        verdict = Status.PASS
        findings.append(Finding("register", Status.PASS, _BY_MARKS))
    for pair in pairs:
        findings += pair.findings()
    findings += connection_findings(faces, pairs, common)
    findings += [*bounds, *(_closure(face) for face in faces), *zeros]
    findings += [*depth_findings(all_floors, layout), *seam_findings(met, layout)]
    findings += program_remarks(faces)
    findings += wood.findings
    findings += [*travel_findings(faces, layout), *clamp_findings(faces, layout), *over_zero_findings(faces, layout)]
    findings += guess_findings(job)
    return JobReport(
        source=job.source,
        name=job.name,
        inch=job.inch,
        tolerance_mm=job.tolerance_mm,
        thickness_mm=layout.thickness_mm,
        verdict=verdict,
        setups=setups,
        pairs=tuple(pairs),
        common_holes=tuple(common),
        floors=tuple(all_floors),
        seams=tuple(met),
        mistakes=mistakes,
        findings=tuple(findings),
        times=setup_times(faces, job.machine),
        faces=tuple(faces),
        left=wood.left,
        held=wood.held,
        stations=wood.stations,
        webs=wood.webs,
        steps=wood.steps,
        bitten=wood.bitten,
        wood_is_known=wood.is_whole,
        by_marks=by_marks,
    )


def _compared(
    faces: Sequence[SetupFace],
    both: Sequence[tuple[SetupFace, SetupFace]],
    boxes: Mapping[str, Sequence[Box]],
    layout: Layout,
) -> tuple[list[PairReport], list[CommonHoles], tuple[tuple[Mistake, ...], ...]]:
    """Return what the setups say of each other: pairs of faces, common holes, and the mistakes that explain them."""
    made = [entries(face) for face in faces if boxes[face.name]]
    pairs = explained([(front, back, compare(front, back, **limits(layout))) for front, back in both], made, layout)
    return pairs, common_holes(made, layout.job.tolerance_mm), grouped(faces, pairs, boxes, layout)


def _read(program: SetupProgram) -> FaceProgram:
    return face_program(ProgramFile(FilePath(program.file), program.file))


def _refuse_other_units(job: Job, found: list[CutExtent], layout: Layout) -> None:
    if found and not job.inch and fits_in_inches(found, layout):
        raise JobFileError(
            job.source,
            [
                Problem(
                    ("units",),
                    "the programs are far too large for the blank of "
                    f"{job.blank.length_mm:g} × {job.blank.width_mm:g} mm, and would fit a blank of that many inches: "
                    "is the job file in inches, or do the programs say the wrong unit (G20 for G21)?",
                )
            ],
        )


def _diagnoses(mistakes: Sequence[Sequence[Mistake]], verdict: Status) -> list[Finding]:
    """Return a finding for each place in which a mistake was made."""
    found = []
    for group in mistakes:
        is_sure = verdict is Status.FAIL or any(mistake.is_certain for mistake in group)
        found.append(Finding("diagnosis", Status.FAIL if is_sure else Status.WARN, joined_words(group)))
    return found


def _verdict(
    pairs: Sequence[PairReport],
    common: Sequence[CommonHoles],
    bounds: Sequence[Finding],
    setups: int,
    *,
    is_one_zero: bool,
) -> Status:
    """Return FAIL if anything disagrees, PASS only if evidence that agrees connects all setups, of one zero each."""
    if any(pair.report.in_register is False for pair in pairs) or any(part.status is Status.FAIL for part in bounds):
        return Status.FAIL
    # A pair that shares nothing may be connected by others; one that shares something and is doubtful may not.
    doubtful = any(pair.report.in_register is None and pair.report.register.worst_mm is not None for pair in pairs)
    if doubtful or not is_one_zero or not any(pair.report.in_register for pair in pairs):
        return Status.NOT_DETERMINED
    return Status.PASS if len(max(connected(pairs, common), key=len)) == setups else Status.NOT_DETERMINED


def _contradicted(pairs: Sequence[PairReport], bounds: Sequence[Finding]) -> bool:
    """Return whether anything speaks against what the marks say."""
    is_off = any(part.status is not Status.PASS for part in bounds)
    return is_off or any(pair.report.is_contradicted for pair in pairs)


def _closure(face: SetupFace) -> Finding:
    """Return whether all programs of a setup end over program zero, where a lost zero would show."""
    away = [stay for stay in datum_of(face.programs, (), None).front if not stay.ends_over_zero]
    x_mm, y_mm, _ = _zero(face)
    shown = shown_now()
    where = f"program zero is at X {shown.bare(x_mm, 3)} Y {shown.bare(y_mm, 3)} of the blank"
    if not away:
        return Finding("datum", Status.PASS, f"{where}; all its programs end over it", setups=(face.name,))
    return Finding(
        "datum",
        Status.NOT_DETERMINED,
        f"{where}; a lost zero would not show at the end of {', '.join(bare_name(stay.program) for stay in away)}, "
        f"which {'does' if len(away) == 1 else 'do'} not end over it; {_HOME} lets "
        f"{'it' if len(away) == 1 else 'them'}",
        setups=(face.name,),
        settle=_HOME,
    )


def _zero(face: SetupFace) -> tuple[float, float, float]:
    """Return a setup's program zero in the blank frame."""
    pose = face.blank_from_program @ Pose.translation(0.0, 0.0, -face.top_mm)
    x_mm, y_mm, z_mm = (round(value, 6) + 0.0 for value in pose.offset_mm)
    return x_mm, y_mm, z_mm


def _setup_report(face: SetupFace, found: Sequence[CutExtent]) -> SetupReport:
    if not found:
        return SetupReport(face.setup, _zero(face), None)
    low_x, low_y, high_x, high_y = zip(*(extent.box_mm for extent in found), strict=True)
    return SetupReport(face.setup, _zero(face), (min(low_x), min(low_y), max(high_x), max(high_y)))
