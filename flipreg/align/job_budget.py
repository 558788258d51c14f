"""The error budget of a job: which two setups, which marks, which wood."""

from dataclasses import replace
from math import hypot

from flipreg.align.budget import error_budget
from flipreg.align.budget_report import BudgetReport
from flipreg.align.register_model import BlankModel, Laid
from flipreg.align.wood import (
    ALONG_THE_GRAIN_PER_POINT,
    VALID_MOISTURE_PERCENT,
    Provenance,
    equilibrium_moisture_percent,
    movement_of,
)
from flipreg.errors import UsageError
from flipreg.findings import Finding, Status
from flipreg.job.blank import BlankFace, Grain
from flipreg.job.budget import Air
from flipreg.job.job import Job
from flipreg.job.layout import Layout
from flipreg.job.pose import section_from_setup
from flipreg.job.problem import JobFileError, Problem
from flipreg.job.rules import obeyed
from flipreg.job.setup import Setup

__all__ = ["job_budget"]

Point = tuple[float, float]


def job_budget(job: Job) -> BudgetReport:
    """Work out the error budget of a job: its first setups of each face that are not tilted.

    Parameters
    ----------
    job : Job
        With a budget table.

    Returns
    -------
    BudgetReport
        Over the straight section, in the blank frame.

    Raises
    ------
    UsageError
        If the job says nothing to work from: no budget, no pair of setups, or wood whose movement is not known.
    JobFileError
        If features are not on the straight section, the air cannot be, or the wood's moisture leaves the range that its
        movement is known in.
    """
    if job.budget is None:
        raise UsageError(f"{job.source}: $.budget: missing; say how exactly lines, pointer and jog are")
    obeyed(job)
    _within_the_coefficients(job)
    layout = Layout.of(job)
    front, back = (_first(job, face) for face in BlankFace)
    (x0, x1), (y0, y1) = job.blank.x_range_mm, layout.ends_mm(None, BlankFace.FRONT)
    report = error_budget(
        job.budget,
        _laid(layout, front),
        _laid(layout, back),
        BlankModel((job.blank.width_mm, job.blank.length_mm, layout.thickness_mm), _per_point(job)),
        corners_mm=(x0, y0, x1, y1),
        tolerance_mm=job.tolerance_mm,
    )
    return replace(report, findings=(*report.findings, *_wood_findings(job)))


def _first(job: Job, face: BlankFace) -> Setup:
    for setup in job.setups:
        if setup.up is face and setup.tilt is None:
            return setup
    raise UsageError(f"{job.source}: $.setups: a budget needs a setup with the {face.value} up that is not tilted")


def _laid(layout: Layout, setup: Setup) -> Laid:
    """Return how the blank lies: aligned along the centre line, from the reference mark to the end farthest off."""
    job, rows = layout.job, section_from_setup(layout, setup).rows
    x, y, _ = layout.place(job.mark(setup.mark), setup.up).point_mm
    return Laid(
        name=setup.name,
        blank_from_table=((rows[0][0], rows[0][1]), (rows[1][0], rows[1][1])),
        mark_mm=(x, y),
        far_mm=_far_end(layout, setup, (x, y)),
    )


def _far_end(layout: Layout, setup: Setup, mark_mm: Point) -> Point:
    """Return the other end of the line: the farthest mark on it, or the end of the blank where there is no other."""
    x, y = mark_mm
    ys = [
        place.point_mm[1]
        for mark in layout.job.marks
        if setup.up in mark.faces and mark.across_mm == x
        for place in (layout.place(mark, setup.up),)
        if place.line.bend is None and place.point_mm[1] != y
    ]
    return x, max(ys or layout.ends_mm(None, BlankFace.FRONT), key=lambda other: hypot(0.0, other - y))


def _wood_findings(job: Job) -> list[Finding]:
    """Return what to keep in mind about numbers of the wood."""
    if job.budget is None or job.budget.wood is None or job.blank.species is None:
        return []
    row, wood, findings = movement_of(job.blank.species), job.budget.wood, []
    if row.provenance is not Provenance.READ:
        message = f"the movement of {row.species} is {row.provenance.value}, not checked against the printed table"
        findings.append(Finding("coefficient", Status.WARN, message))
    if isinstance(wood, Air):
        message = "the wood is taken to come to rest with the air; thick wood follows weeks later, and moves less"
        findings.append(Finding("air", Status.WARN, message))
    return findings


def _within_the_coefficients(job: Job) -> None:
    """Refuse a moisture content of the wood that the coefficients of its movement are not meant for."""
    wood = None if job.budget is None else job.budget.wood
    low, high = VALID_MOISTURE_PERCENT
    meant = f"the coefficients of the wood's movement are meant for {low:g} to {high:g} % moisture"
    problems: list[Problem] = []
    if isinstance(wood, Air):
        for name, temperature, humidity in (
            ("air_before", wood.temperature_before_c, wood.humidity_before_percent),
            ("air_after", wood.temperature_after_c, wood.humidity_after_percent),
        ):
            moisture = equilibrium_moisture_percent(temperature.value, humidity.value)
            if not low <= moisture <= high:
                message = f"this air brings the wood to {moisture:z.1f} %, and {meant}"
                problems.append(Problem(("budget", name), message))
    elif wood is not None and abs(wood.points.value) > high - low:
        message = f"{wood.points.value:g} points of moisture are more than there can be between: {meant}"
        problems.append(Problem(("budget", "moisture_change"), message))
    if problems:
        raise JobFileError(job.source, problems)


def _per_point(job: Job) -> Point:
    """Return the wood's movement along X and along Y, as a fraction for each point of moisture content."""
    if job.budget is None or job.budget.wood is None:
        return 0.0, 0.0
    missing = [key for key, value in (("species", job.blank.species), ("grain", job.blank.grain)) if value is None]
    if missing or job.blank.species is None:
        raise UsageError(
            f"{job.source}: $.blank: {' and '.join(missing)} missing; the movement of the wood depends on it"
        )
    row = movement_of(job.blank.species)
    across = row.tangential_per_point if job.blank.grain is Grain.FLAT else row.radial_per_point
    return across, ALONG_THE_GRAIN_PER_POINT
