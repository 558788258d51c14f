"""Findings on what both faces leave between them: breakthroughs, thin webs, skins in through cuts."""

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.regions import Region, label, regions_of
from flipreg.cut.thickness import skins, thinnest_web
from flipreg.job.layout import Layout
from flipreg.job.tool import ToolShape
from flipreg.verify.finding import Finding, Status
from flipreg.verify.kerf import Kerf
from flipreg.verify.left import SectionLeft
from flipreg.verify.section import SectionCut, SectionCuts, passed

__all__ = ["beside_edges", "breakthrough_findings", "skin_findings", "web_findings"]

Bools = NDArray[np.bool_]
Singles = NDArray[np.float32]

_LEVEL_MM = np.float32(0.05)
"""A profile cut this close to its lowest floor goes all the way down there, and is no tab; ours."""
_LEAST_CELLS = 4
"""Fewer cells in a row of their own are the grid's ragged edge; ours."""


def breakthrough_findings(
    left: SectionLeft, section: SectionCuts, kerf: Kerf | None, edges: Bools
) -> Iterator[Finding]:
    """Yield findings of the code 'breakthrough': cuts of both faces that meet where they should not.

    `edges` is `beside_edges` of the section.
    """
    faces = left.faces
    both = ~faces.is_left & ~faces.is_through
    met, count = label(both & left.known)
    if not section.of(is_front=True) or not section.of(is_front=False):
        return
    drilled = _drilled(section)
    profile = np.zeros_like(drilled) if kerf is None else kerf.cells
    meant = np.unique(met[drilled | profile])
    found = [part for part in regions_of(met, count, faces.left_mm, left.grid) if part.cells >= _LEAST_CELLS]
    closed = [part for part in found if part.number not in meant]
    if kerf is None and closed:
        yield _met(
            left, closed, Status.NOT_DETERMINED, "whether they should is not known; it would need profile = true"
        )
        return
    in_part = set(np.unique(met[left.part]).tolist()) if left.part.any() else {part.number for part in closed}
    wrong = [part for part in closed if part.number in in_part]
    waste = [part for part in closed if part.number not in in_part]
    if wrong:
        yield _met(left, wrong, Status.FAIL, "the part gets a hole there")
    if waste:
        yield _met(left, waste, Status.WARN, "that is outside the part")
    inside = both & left.part & np.isin(met, meant) & ~drilled & ~edges
    labels, count = label(inside)
    opened = [part for part in regions_of(labels, count, faces.left_mm, left.grid) if part.cells >= _LEAST_CELLS]
    if opened:
        yield _met(left, opened, Status.WARN, "the part's edge is open there, more than a cutter inside the profile")
    if not closed and not opened:
        yield Finding(
            "breakthrough",
            Status.PASS,
            f"{left.name} section: cuts of both faces meet nowhere but along the profile and in holes of both",
            section=left.name,
        )


def web_findings(left: SectionLeft, kerf: Kerf | None, edges: Bools, layout: Layout) -> Iterator[Finding]:
    """Yield findings of the code 'web': the thinnest place between two cuts.

    `edges` is `beside_edges` of the section.
    """
    thin, plain = left.thin, left.faces
    where = left.known & plain.is_left & (thin.front_mm < 0.0) & (thin.back_mm > -thin.blank_mm)
    where &= ~edges
    if kerf is not None and kerf.pieces:
        where &= left.part
    web = thinnest_web(thin, where=where)
    if web is None:
        return
    x_mm, y_mm = web.at_mm
    web_mm = max(0.0, web.left_mm)
    least = layout.job.limits.least_web_mm
    says = (
        f"{left.name} section: the thinnest web is {web_mm:.2f} mm, at X {x_mm:.1f} Y {y_mm:.1f}, front cut to "
        f"{-web.front_mm:.2f} mm and back to {thin.blank_mm + web.back_mm:.2f} mm"
    )
    if least is None:
        status, says = Status.NOT_DETERMINED, f"{says}; whether that is enough would need least_web in [check]"
    else:
        status = Status.PASS if web_mm >= least else Status.FAIL
        says = f"{says} (at least {least:g} mm wanted)"
    yield Finding("web", status, says, section=left.name, at_mm=(x_mm, y_mm))


def skin_findings(left: SectionLeft, kerf: Kerf | None) -> Iterator[Finding]:
    """Yield findings of the code 'skin': whether profile cuts go through where they are meant to."""
    if kerf is None:
        return
    meant = _lowest(kerf) & left.known
    overlap = -left.faces.left_mm
    if not bool(meant.any()):
        yield Finding(
            "skin",
            Status.NOT_DETERMINED,
            f"{left.name} section: the profile cuts of both faces do not lie over each other",
            section=left.name,
        )
        return
    found = [part for part in skins(left.faces, meant) if part.cells >= _LEAST_CELLS]
    if not found:
        least = float(np.where(meant, overlap, np.float32(np.inf)).min())
        yield Finding(
            "skin",
            Status.PASS,
            f"{left.name} section: the profile cuts go through everywhere but at tabs, by {max(0.0, least):.2f} mm or "
            "more",
            section=left.name,
        )
        return
    worst = max(found, key=lambda part: part.most_mm)
    x_mm, y_mm = worst.most_at_mm
    yield Finding(
        "skin",
        Status.FAIL,
        f"{left.name} section: the profile cuts leave a skin of up to {worst.most_mm:.2f} mm over "
        f"{sum(part.area_mm2 for part in found):.0f} mm², thickest at X {x_mm:.1f} Y {y_mm:.1f}",
        section=left.name,
        at_mm=(x_mm, y_mm),
    )


def _met(left: SectionLeft, found: Sequence[Region], status: Status, says: str) -> Finding:
    worst = min(found, key=lambda part: part.least_mm)
    x_mm, y_mm = worst.at_mm
    places = "" if len(found) == 1 else f" at {len(found)} places"
    return Finding(
        "breakthrough",
        status,
        f"{left.name} section: cuts of both faces meet{places} over {sum(part.area_mm2 for part in found):.0f} mm², "
        f"deepest by {-worst.least_mm:.2f} mm at X {x_mm:.1f} Y {y_mm:.1f}; {says}",
        section=left.name,
        at_mm=(x_mm, y_mm),
    )


def _lowest(kerf: Kerf) -> Bools:
    """Return the cells that profile cuts should go through: where they are as low as they get, both faces if both cut.

    What is lowest is asked of each kerf that hangs together, for a slot may be of another depth than the outside.
    """
    labels, count = label(kerf.cells)
    lowest = np.ones_like(kerf.cells)
    for side in (kerf.front, kerf.back):
        if bool((side < 0.0).any()):
            lowest &= _at_lowest(side, labels, count)
    return np.logical_and(lowest, kerf.cells)


def _at_lowest(heights: Singles, labels: NDArray[np.int32], count: int) -> Bools:
    floor = np.zeros(count + 1, np.float32)
    np.minimum.at(floor, labels.ravel(), heights.ravel())
    return np.logical_and(heights < 0.0, heights <= floor[labels] + _LEVEL_MM)


def beside_edges(section: SectionCuts) -> Bools:
    """Return the cells of profile cuts and drills, and those within a cutter's diameter of a profile cut.

    There a rounded edge runs out to nothing, and a hole is meant to.
    """
    widest_mm = max(cut.tool.diameter_mm for cut in section.cuts)
    profiles = [cut for cut in section.cuts if cut.is_profile]
    # The thin maps see a hole wider by a cell's half diagonal; a cell more leaves its rim out.
    rim_mm = section.grid.reach_mm + section.grid.step_mm
    edges = passed(profiles, section.grid, around_mm=widest_mm)
    return np.less(np.minimum(edges, passed(_drills(section.cuts), section.grid, around_mm=rim_mm)), 0.0)


def _drilled(section: SectionCuts) -> Bools:
    """Return the cells that drills of both faces come over."""
    front, back = (passed(_drills(section.of(is_front=is_front)), section.grid) for is_front in (True, False))
    return np.less(np.maximum(front, back), 0.0)


def _drills(cuts: Sequence[SectionCut]) -> list[SectionCut]:
    return [cut for cut in cuts if cut.tool.shape is ToolShape.DRILL]
