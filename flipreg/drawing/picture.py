"""The picture of a job's check: each section seen from the front, with both faces, what is left, and numbered problems.

All sections have one scale. Numbers in round badges are those of the report; the pages after the picture say them in
words.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from flipreg.drawing.arrows import arrows
from flipreg.drawing.badges import KINDS, BadgeKind
from flipreg.drawing.face_edges import FaceEdges, edges_of_cells, face_edges
from flipreg.drawing.legend import Legend
from flipreg.drawing.page import Label, Page, shortened
from flipreg.drawing.paint import Drawing, file_format, paint
from flipreg.drawing.paper import MARGIN_MM
from flipreg.drawing.relief import ReliefPanel, relief_page
from flipreg.drawing.remark_pages import remark_pages
from flipreg.drawing.section_panel import Panel, draw_panel
from flipreg.drawing.signs import section_clamps, signs_of
from flipreg.drawing.spread import FOOT_MM, Spread, best_spread
from flipreg.drawing.thickness_map import Bands
from flipreg.drawing.view import PageBox, View, ratio_text
from flipreg.job.job import Job
from flipreg.job.layout import Layout
from flipreg.job_check.displacement import Displacements, displacements
from flipreg.job_check.report import JobReport
from flipreg.program.setup_face import SetupFace
from flipreg.report.tab_name import tab_name
from flipreg.report.verdict import VERDICTS
from flipreg.stock.sections.remaining import RemainingStock
from flipreg.stock.sections.section import section_name
from flipreg.units import length_text, limit_text, shown_in

__all__ = ["check_pages", "draw_check"]

_A4_MM = (297.0, 210.0)
_A3_MM = (420.0, 297.0)
_SMALLEST = 0.2
"""Below this scale on A4, the picture goes on A3 (chosen): a kerf of 6 mm is then a line of one millimetre."""
_LONGEST_ARROW_MM, _SHORTEST_ARROW_MM = 15.0, 4.0
_LEAST_SHOWN_MM = 0.005
"""Displacements up to this come from the last decimals of the programs (chosen)."""

_CUT_MM = 0.01
"""Cells lowered by less than this count as not cut (chosen): single precision and rounding lower them as much."""

_CAUTION = (
    "Worked out from programs and the job file; it does not say that a cut is safe. "
    "Try every program above the work first."
)


def draw_check(job: Job, report: JobReport, name: str) -> Drawing:
    """Draw what the check of a job found out; the ending of the file's name says in which format.

    Parameters
    ----------
    job : Job
        The job.
    report : JobReport
        Of its check.
    name : str
        Of the file that the drawing is for.

    Raises
    ------
    UsageError
        If the name ends in none of .pdf, .svg and .png.
    """
    kind = file_format(name)
    return paint(check_pages(job, report), kind, title=f"Check: {report.name}")


def check_pages(job: Job, report: JobReport) -> list[Page]:
    """Lay out the pages: the picture, both faces in relief, then the numbers in words."""
    with shown_in(inch=job.inch):
        return _pages(job, report)


def _pages(job: Job, report: JobReport) -> list[Page]:
    layout = Layout.of(job)
    sections = _sections(job, report, layout)
    bands = Bands.of(report.thickness_mm, inch=job.inch)
    moved = {name: _moved(report, name) for name in sections}
    kinds = list(dict.fromkeys(kind for section in sections.values() for kind, _, _ in section.badges))
    signs = list(dict.fromkeys(sign.kind for section in sections.values() for sign in section.signs))
    clamps = any(section.clamps for section in sections.values())
    boxes = [section.box_mm for section in sections.values()]
    best = _best_spread(boxes, Legend(bands, kinds, signs, "0" * 60, clamps=clamps))
    factor = _exaggeration([(several, view) for several, view in zip(moved.values(), best.views, strict=True)])
    words = f"back against front, {factor:g} × as long as it is" if factor else ""
    legend = Legend(bands, kinds, signs, words, clamps=clamps)
    page = Page(*best.page_mm)
    _draw_head(page, report, best)
    homeless = []
    for (name, section), view, room in zip(sections.items(), best.views, best.rooms, strict=True):
        panel = replace(section, moved=moved[name] if factor else (), exaggeration=factor)
        homeless += draw_panel(page, panel, view, bands, room)
    legend.draw(page, (MARGIN_MM, MARGIN_MM + FOOT_MM + legend.height_mm(best.width_mm)), best.width_mm)
    page.add(Label((MARGIN_MM, MARGIN_MM - 2), shortened(_CAUTION, best.width_mm, 8.5), 8.5))
    relief = [
        ReliefPanel(one.title, view, one.left)
        for one, view in zip(sections.values(), best.views, strict=True)
        if one.left is not None
    ]
    pages = [page, *(relief_page(report.name, relief, best.page_mm, is_front=side) for side in (True, False) if relief)]
    return [*pages, *remark_pages(report, best.page_mm, homeless)]


def _best_spread(boxes: Sequence[PageBox], legend: Legend) -> Spread:
    """Return how to place the sections on a page so that they are largest; on A3 where A4 is too small."""
    for page_mm in (_A4_MM, _A3_MM):
        best = best_spread(boxes, (page_mm, page_mm[::-1]), legend.height_mm)
        if best.scale >= _SMALLEST:
            break
    return best


def _sections(job: Job, report: JobReport, layout: Layout) -> dict[str, Panel]:
    """Return the panels of the sections by name, without what moved."""
    lefts = {left.name: left for left in report.left}
    found: dict[str, Panel] = {}
    for bend in dict.fromkeys(face.bend for face in report.faces):
        faces = [face for face in report.faces if face.bend == bend]
        name = section_name(bend)
        left = lefts.get(name)
        front, back = (tuple(face_edges(face) for face in faces if face.is_front is side) for side in (True, False))
        if left is not None:
            # Without programs that are named as profiles, the edge of all that a face cuts is the best there is.
            if front and not _has_profile(faces, is_front=True):
                front = (*front, _cut_edges(left, left.faces.front_mm))
            if back and not _has_profile(faces, is_front=False):
                back = (*back, _cut_edges(left, -left.faces.back_mm - left.faces.blank_mm))
        found[name] = Panel(
            title=_title(faces, len(report.setups)),
            setups=_setups(faces),
            box_mm=layout.section_box_mm(bend),
            left=left,
            front=front,
            back=back,
            moved=(),
            exaggeration=0.0,
            badges=_badges(report, name),
            signs=signs_of(job, report, layout, bend, name),
            clamps=section_clamps(faces),
            edge=job.blank.edge,
            inch=job.inch,
        )
    return found


def _has_profile(faces: Sequence[SetupFace], *, is_front: bool) -> bool:
    return any(named.profile for face in faces if face.is_front is is_front for named in face.setup.programs)


def _cut_edges(left: RemainingStock, surface_mm: NDArray[np.float32]) -> FaceEdges:
    """Return the edge of all that a face cuts, for a face that has neither profile nor closed contour."""
    lines = edges_of_cells(np.less(surface_mm, -_CUT_MM), left.grid)
    return FaceEdges(lines, np.empty((0, 2)), np.empty(0))


def _title(faces: Sequence[SetupFace], setups: int) -> str:
    bend = faces[0].bend
    if bend is None:
        return "Blank" if len(faces) == setups else "Straight section"
    return f"Bent section, {bend.section.value} end"


def _setups(faces: Sequence[SetupFace]) -> str:
    names = [face.name for side in (True, False) for face in faces if face.is_front is side]
    return f"cut in: {', '.join(names)}"


def _moved(report: JobReport, section: str) -> tuple[Displacements, ...]:
    faces = {face.name: face for face in report.faces}
    return tuple(
        displacements(
            faces[pair.front],
            faces[pair.back],
            tolerance_mm=report.tolerance_mm,
            worst_at_mm=pair.report.register.worst_at_mm,
        )
        for pair in report.pairs
        if (pair.report.register.worst_mm or 0.0) > _LEAST_SHOWN_MM and section_name(faces[pair.front].bend) == section
    )


def _badges(report: JobReport, section: str) -> tuple[tuple[BadgeKind, str, tuple[float, float]], ...]:
    """Return what is numbered on a section: the worst register error, what fails, the tabs, and the rest."""
    faces = {face.name: face for face in report.faces}
    worst = [
        (BadgeKind.WORST, f"worst {length_text(register.worst_mm or 0.0, 3)}", register.worst_at_mm)
        for pair in report.pairs
        if section_name(faces[pair.front].bend) == section
        and (register := pair.report.register).worst_at_mm is not None
        and register.worst_mm is not None
        and register.worst_mm > _LEAST_SHOWN_MM
    ]
    numbered = [
        (KINDS[remark.status], f"{number}", remark.at_mm)
        for number, remark in enumerate(report.remarks, 1)
        if remark.section == section and remark.at_mm is not None
    ]
    numbered.sort(key=lambda badge: list(KINDS.values()).index(badge[0]))
    tabs = [
        (BadgeKind.TAB, tab_name(number), tab.at_mm)
        for number, (name, tab) in enumerate(report.tabs, 1)
        if name == section
    ]
    fails = [badge for badge in numbered if badge[0] is BadgeKind.FAILS]
    return (*worst, *fails, *tabs, *(badge for badge in numbered if badge[0] is not BadgeKind.FAILS))


def _exaggeration(shown: Sequence[tuple[tuple[Displacements, ...], View]]) -> float:
    """Return how many times longer displacements are drawn; 0 where there is nothing to draw."""
    sizes = [float(one.size_mm.max(initial=0.0)) * view.scale for several, view in shown for one in several]
    longest = max(sizes, default=0.0)
    if longest == 0.0:
        return 0.0
    factors = [step * 10.0**power for power in range(5, -1, -1) for step in (5.0, 2.0, 1.0)]
    usual = [factor for factor in factors if factor * longest <= _LONGEST_ARROW_MM] or [1.0]
    # Arrows may stick out of a panel, but not into what is written around it.
    inside = (
        factor
        for factor in usual
        if factor * longest >= _SHORTEST_ARROW_MM and all(_stay(several, view, factor) for several, view in shown)
    )
    return next(inside, usual[0])


def _stay(moved: Sequence[Displacements], view: View, factor: float) -> bool:
    x0, y0, x1, y1 = view.page_box
    return all(x0 - 2.0 <= x <= x1 + 2.0 and y0 - 1.0 <= y <= y1 + 4.0 for _, (x, y) in arrows(moved, view, factor))


def _draw_head(page: Page, report: JobReport, spread: Spread) -> None:
    top = page.height_mm - MARGIN_MM
    title = f"{report.name}: {VERDICTS[report.in_register]}"
    if report.in_register and not report.passes:
        title += ", BUT NOT AS IT SHOULD BE"
    page.add(Label((MARGIN_MM, top - 3), shortened(title, spread.width_mm, 14.0, bold=True), 14.0, bold=True))
    worst = None if report.worst is None else report.worst.report.register.worst_mm
    said = "nothing was compared" if worst is None else f"faces apart by {length_text(worst, 3)} at most"
    lines = (
        f"{report.source}: {said} (allowed {limit_text(report.tolerance_mm)})",
        f"Both faces as seen from the front, {ratio_text(spread.scale)} on {_paper(spread)}",
    )
    page.paragraph((MARGIN_MM, top - 9.5), [shortened(line, spread.width_mm, 9.5) for line in lines])


def _paper(spread: Spread) -> str:
    return "A4" if max(spread.page_mm) == max(_A4_MM) else "A3"
