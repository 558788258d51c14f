"""What the check of a job finds about the wood: run all programs, then ask each question of what is left."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from flipreg.cut.thickness import Web
from flipreg.findings import Finding, Status
from flipreg.job.layout import Layout
from flipreg.program.setup_face import SetupFace
from flipreg.progress import Progress
from flipreg.stock.cutting.at_once import at_once
from flipreg.stock.cutting.bite import Bitten
from flipreg.stock.cutting.collisions import IN_THE_AIR, crash_findings, left_out_findings
from flipreg.stock.cutting.parting import Stage
from flipreg.stock.cutting.simulation import Carved, LeftOut, carve, is_for_two
from flipreg.stock.findings.bite_limit import bite_findings
from flipreg.stock.findings.edge_step import EdgeStep, edge_step, step_findings
from flipreg.stock.findings.floors import Floor
from flipreg.stock.findings.lost_tabs import lift_findings
from flipreg.stock.findings.openings import breakthrough_findings, openings
from flipreg.stock.findings.skin import skin_findings
from flipreg.stock.findings.spoilboard import spoilboard_findings
from flipreg.stock.findings.support import holding_findings
from flipreg.stock.findings.tabs import held_after
from flipreg.stock.findings.walls import wall_findings
from flipreg.stock.findings.web import web_findings, webs
from flipreg.stock.sections.kerf import Kerf
from flipreg.stock.sections.remaining import PartSupport, RemainingStock, Thickness
from flipreg.stock.sections.section import SectionCuts, section_name
from flipreg.stock.stations import station_findings, stations

__all__ = ["Wood", "check_wood"]

_OF_MAPS = frozenset(
    {"rapid", "plunge", "drill", "bite", "order", "holding", "breakthrough", "web", "wall", "skin", "step"}
)
"""Codes of findings that hold for the motions in the maps."""
_MORE_CUTS_MAY_MEND = frozenset({"rapid", "plunge", "drill", "bite", "order", "skin", "wall"})
"""Codes that fail for wood that is there, which a motion that is left out may have taken away."""
_MAY_TURN = (Status.PASS, Status.NOT_DETERMINED)
"""What ends so may end otherwise with the motions that are left out."""


@dataclass(frozen=True, slots=True, eq=False)
class Wood:
    """What is left of the wood, and what that means.

    Attributes
    ----------
    left : tuple of RemainingStock
        By section.
    held : tuple of PartSupport
        By setup and piece.
    stations : tuple of Thickness
        In the order of the job.
    webs : tuple of (str, Web)
        The thinnest web of each section that has one, with the section's name.
    steps : tuple of EdgeStep
        By section that has an edge cut from both faces.
    bitten : tuple of Bitten
        By section, in the order they run.
    edge_left_mm : mapping
        Of each setup that cuts along a part's edge, by name, what its lowest cut there leaves to the opposite face.
    is_whole : bool
        Whether the maps hold all that is cut: False where a program cuts at places that nobody knows.
    findings : tuple of Finding
        Of the codes 'rapid', 'plunge', 'drill', 'bite', 'order', 'holding', 'breakthrough', 'web', 'wall', 'skin',
        'step', 'spoilboard', 'station' and 'map'.
    """

    left: tuple[RemainingStock, ...]
    held: tuple[PartSupport, ...]
    stations: tuple[Thickness, ...]
    webs: tuple[tuple[str, Web], ...]
    steps: tuple[EdgeStep, ...]
    bitten: tuple[Bitten, ...]
    edge_left_mm: Mapping[str, float]
    is_whole: bool
    findings: tuple[Finding, ...]


def check_wood(
    layout: Layout, faces: Sequence[SetupFace], floors: Sequence[Floor], *, progress: Progress | None = None
) -> Wood:
    """Run a job's programs over its blank and check what is left.

    Parameters
    ----------
    layout : Layout
        Of the job.
    faces : sequence of SetupFace
        Its setups, in order.
    floors : sequence of Floor
        The lowest cut of every program.
    progress : callable, optional
        Is told how many programs have been run.
    """
    carved = carve(layout, faces, progress=progress)
    partial = [part.cut for part in carved.left_out if part.is_fed]
    parts = list(zip(carved.left, carved.sections, carved.kerfs, carved.stages, strict=True))
    with at_once(pays=is_for_two(carved.sections)) as ask:
        asked_held = [ask(_held, stages, section, kerf, layout) for _, section, kerf, stages in parts]
        asked_thin = [ask(_thin, left, section, kerf, layout, carved) for left, section, kerf, _ in parts]
        asked_standing = [ask(_standing, left, section, kerf, layout) for left, section, kerf, _ in parts]
        asked_lifted = [
            ask(lift_findings, left, section, kerf, opened_by)
            for (left, section, kerf, _), opened_by in zip(parts, carved.opened_by, strict=True)
        ]
        asked_steps = [ask(edge_step, section, kerf) for _, section, kerf, _ in parts]
        asked_stations = ask(stations, layout, faces, carved.sections)
    held = [one for asked in asked_held for one in asked.result()]
    held.sort(key=lambda one: [face.name for face in faces].index(one.setup))
    findings = [*crash_findings(carved, layout), *bite_findings(carved.bitten, layout), *carved.order]
    findings += holding_findings(carved, held, [asked.result() for asked in asked_lifted], layout)
    thinnest: list[tuple[str, Web]] = []
    for left, thin, standing in zip(carved.left, asked_thin, asked_standing, strict=True):
        web, found = thin.result()
        thinnest += [] if web is None else [(left.name, web)]
        findings += [*found, *standing.result()]
    steps = [step for asked in asked_steps if (step := asked.result()) is not None]
    at_stations = asked_stations.result()
    findings += [*step_findings(steps, layout), *spoilboard_findings(floors, layout)]
    findings += station_findings(at_stations)
    findings = _without_what_is_left_out(findings, carved.left_out)
    findings += left_out_findings(carved)
    left_mm = _edge_left_mm(carved.kerfs, layout)
    return Wood(
        left=carved.left,
        held=tuple(held),
        stations=tuple(at_stations),
        webs=tuple(thinnest),
        steps=tuple(steps),
        bitten=carved.bitten,
        edge_left_mm=left_mm,
        is_whole=not partial,
        findings=tuple(findings),
    )


def _held(stages: Sequence[Stage], section: SectionCuts, kerf: Kerf, layout: Layout) -> list[PartSupport]:
    return [one for stage in stages for one in held_after(stage, section, kerf, layout.thickness_mm)]


def _thin(
    left: RemainingStock, section: SectionCuts, kerf: Kerf, layout: Layout, carved: Carved
) -> tuple[Web | None, list[Finding]]:
    """Return the thinnest web of a section, and the findings on wood that is missing or too thin."""
    released = [one for one in carved.released if one.cut in section.cuts]
    partial = [part.cut for part in carved.left_out if part.is_fed and part.cut in section.cuts]
    found = openings(left, section, kerf, released, partial)
    thin = webs(left, section, kerf, layout, found.cells)
    missing = breakthrough_findings(left, section, found, thin.thinnest)
    return thin.thinnest, [*missing, *web_findings(left, thin, layout)]


def _standing(left: RemainingStock, section: SectionCuts, kerf: Kerf, layout: Layout) -> list[Finding]:
    """Return the findings on wood that stands where it should not, or that will not stand."""
    return [*wall_findings(left, layout), *skin_findings(left, section, kerf, layout)]


def _edge_left_mm(kerfs: Sequence[Kerf], layout: Layout) -> dict[str, float]:
    found: dict[str, float] = {}
    for edge in (edge for kerf in kerfs for edge in kerf.profiles):
        lowest = float(np.minimum(edge.way.start[edge.is_edge, 2], edge.way.end[edge.is_edge, 2]).min())
        name = edge.cut.face.name
        found[name] = min(found.get(name, np.inf), round(lowest + layout.thickness_mm, 6) + 0.0)
    return found


def _without_what_is_left_out(findings: Sequence[Finding], left_out: Sequence[LeftOut]) -> list[Finding]:
    """Return findings in which nothing passes, or fails for wood that is in the way, where motions are left out.

    What is not determined for another reason says so too: what it asks for may be among those motions.

    Traverses are no cuts: where only those are left out, only the finding on traverses is in doubt.
    """
    fed = {section_name(part.cut.face.bend) for part in left_out if part.is_fed}
    out = []
    for one in findings:
        doubtful = one.status in _MAY_TURN or (one.status is Status.FAIL and one.check in _MORE_CUTS_MAY_MEND)
        touched = bool(left_out) if one.section is None else one.section in fed
        if one.check in _OF_MAPS and doubtful and touched:
            says = f"{one.says}; that is without the motions that are left out (see map)"
            settle = IN_THE_AIR if one.check == "rapid" and not fed else one.settle
            out.append(replace(one, status=Status.NOT_DETERMINED, says=says, settle=settle))
        else:
            out.append(one)
    return out
