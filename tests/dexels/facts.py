"""What the simulator says of a job, and whether that is what its maker planted."""

import math
from dataclasses import dataclass

import shapely

from tests.dexels.board import Job
from tests.dexels.part import Opening, Tab, inside, openings, tabs, thinnest_web, thinnest_wood
from tests.dexels.simulate import Event, Outcome, simulate
from tests.dexels.wood import Wood

LEAST_OPENING_MM2 = 2.0
LEAST_INNER_MM2 = 4.0
NEAR_MM = 6.0
"""A tab this near to where one is planned is that one."""


@dataclass(frozen=True)
class Facts:
    loose: list[Event]
    """Those that may not fall."""
    traverses: list[Event]
    openings: list[Opening]
    """Those that nobody meant."""
    meant: list[Opening]
    web: float | None
    thinnest: float
    tabs: list[Tab]
    gone: list[tuple[float, float]]
    """Where a tab was planned and none is."""
    bites: dict[tuple[str, str], float]
    wrong: list[Event]
    late: list[str]
    """Programs that take nothing, or that cut in a part that a program of their setup has cut round before."""


def facts(job: Job) -> Facts:
    outcome = simulate(job.bench, job.grid)
    found = [opening for opening in openings(outcome.wood, job.part) if opening.area_mm2 >= LEAST_OPENING_MM2]
    meant = [o for o in found if any(o.covers(place, job.grid) for place in job.meant)]
    left = [tab for contour in job.contours for tab in tabs(outcome.wood, contour.region, contour.kerf)]
    planned = [place for contour in job.contours for place in contour.tabs]
    gone = [place for place in planned if all(math.dist(place, tab.at) > NEAR_MM for tab in left)]
    return Facts(
        [piece for piece in outcome.loose if all(math.dist(piece.at, place) > NEAR_MM / 2 for place in job.may_fall)],
        outcome.traverses,
        [opening for opening in found if opening not in meant],
        meant,
        thinnest_web(outcome.wood, job.part),
        thinnest_wood(outcome.wood, job.part),
        left,
        gone,
        outcome.bites,
        outcome.wrong,
        _late(job, outcome),
    )


def _late(job: Job, outcome: Outcome) -> list[str]:
    found = []
    for setup in job.bench.setups:
        first = outcome.states[setup.programs[0].file][0]
        for program in setup.programs:
            before, after = outcome.states[program.file]
            taken = inside(before, job.part, job.grid) & (before.left - after.left > 0.1)
            cuts = {tool.shape for tool in program.tools.values()} - {"drill"}
            inner = bool(cuts) and taken.sum() * job.grid**2 > LEAST_INNER_MM2
            around = inner and _cut_round(job, before) and not _cut_round(job, first)
            if around or not any(file == program.file for file, _ in outcome.bites):
                found.append(program.file)
    return found


def _cut_round(job: Job, wood: Wood) -> bool:
    """Whether the kerf of the part's profile is mostly through."""
    if not job.contours:
        return False
    profile = job.contours[0]
    middle = sum(profile.kerf) / 2
    line = shapely.get_coordinates(shapely.segmentize(profile.region.buffer(middle).exterior, 0.5))
    rows, columns = wood.cell(line[:, 0], line[:, 1])
    return float((wood.left[rows, columns] > 0).mean()) < 0.5


def kinds(job: Job, seen: Facts) -> set[str]:
    """Return what is wrong in the wood: the same words as a job's planted faults."""
    thickness, width = job.least_tab
    found = set()
    if seen.loose:
        found.add("loose")
    if seen.traverses:
        found.add("rapid")
    if seen.openings:
        found.add("opening")
    if seen.web is not None and seen.web < job.least_web:
        found.add("web")
    if any(tab.thickness < thickness or tab.width < width for tab in seen.tabs):
        found.add("tab")
    if seen.late:
        found.add("order")
    if seen.wrong:
        found.add("wrong way")
    flutes = {tool.name: tool.flutes for s in job.bench.setups for p in s.programs for tool in p.tools.values()}
    if any(depth > (flutes[tool] or math.inf) for (_, tool), depth in seen.bites.items()):
        found.add("bite")
    if seen.gone and seen.tabs:
        found.add("tab gone")
    if seen.thinnest < 0.6 and "web" not in found:
        found.add("skin")
    return found


def confirmed(job: Job, seen: Facts) -> bool:
    """Whether the wood shows what was planted, and in a right job nothing."""
    found = kinds(job, seen)
    if "meet" in job.faults:
        return bool(found & {"opening", "web"})
    if "tab" in job.faults and "loose" in found:
        # Round a corner nothing may be left of a tab that is to be some tenths wide.
        return True
    return job.faults <= found if job.faults else not found
