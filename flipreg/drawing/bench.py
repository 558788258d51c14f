"""The bench sheet as a drawing: the verdict and the files, both faces with their marks, and each setup to tick off."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from flipreg.drawing.bench_cover import cover_pages
from flipreg.drawing.bench_setup import setup_pages
from flipreg.drawing.face_drawing import Drawn
from flipreg.drawing.face_edges import FaceEdges, face_edges
from flipreg.drawing.page import Align, Area, Label, Page, shortened
from flipreg.drawing.paint import Drawing, demand_pdf, paint
from flipreg.drawing.paper import MARGIN_MM, Paper, draw_bar
from flipreg.drawing.setup_plan import Plan
from flipreg.drawing.sheet import face_pages
from flipreg.drawing.template_pages import template_pages
from flipreg.errors import UsageError
from flipreg.job.bend import FaceLine
from flipreg.job.blank import BlankFace
from flipreg.job.job import Job
from flipreg.job.layout import Layout
from flipreg.program.setup_face import SetupFace
from flipreg.report.bench_sheet import BenchSheet
from flipreg.stock.cross_section import cross_sections

__all__ = ["NOT_CHECKED", "bench_pages", "draw_bench"]

Floats = NDArray[np.float64]

NOT_CHECKED = "NOT CHECKED"
_LEGEND = "Grey: what is cut. Ring with two black quarters: program zero."
_CLAMPS = " Broken outline: a clamp."
_STAMP_MM = 8.0
_PALE = 0.85


def draw_bench(
    job: Job, sheet: BenchSheet, name: str, *, paper: Paper = Paper.A4, templates: bool = False
) -> Drawing:
    """Draw the bench sheet of a job.

    Parameters
    ----------
    job : Job
        The job.
    sheet : BenchSheet
        Of the job.
    name : str
        Of the file that the drawing is for.
    paper : Paper
        What it is printed on.
    templates : bool
        Whether sections of the part at its stations are drawn as well, at true size.

    Raises
    ------
    UsageError
        If the name does not end in .pdf: a sheet has pages and a size. If templates are asked for, and there is no
        station at which the thickness is known.
    """
    demand_pdf(name, "the bench sheet")
    pages = bench_pages(job, sheet, paper, templates=templates)
    return paint(pages, "pdf", title=f"Bench sheet: {sheet.marking.job}")


def bench_pages(job: Job, sheet: BenchSheet, paper: Paper, *, templates: bool = False) -> list[Page]:
    """Lay out the pages: the verdict, both faces, the setups, then the templates if they are asked for."""
    layout = Layout.of(job)
    edges = {setup.face.name: face_edges(setup.face) for setup in sheet.setups}
    pages = cover_pages(sheet, paper)
    faces = face_pages(sheet.marking, paper, _drawn(layout, sheet, edges))
    legend = _LEGEND + (_CLAMPS if any(setup.clamps for setup in sheet.setups) else "")
    for page in faces:
        page.add(Label((MARGIN_MM, MARGIN_MM + 4.8), legend, 8.5))
    pages += faces
    for number, setup in enumerate(sheet.setups, 1):
        pages += setup_pages(sheet, number, Plan(setup, edges[setup.face.name], job.blank.edge), paper)
    if templates:
        pages += _templates(layout, sheet, paper)
    for number, page in enumerate(pages, 1):
        _foot(page, sheet, f"page {number} of {len(pages)}")
        if not sheet.passes:
            _stamp(page)
    return pages


def _templates(layout: Layout, sheet: BenchSheet, paper: Paper) -> list[Page]:
    found = list(cross_sections(layout, [setup.face for setup in sheet.setups], sheet.left, sheet.stations))
    if not found:
        raise UsageError(
            f"{sheet.source}: templates are sections at stations, and there is none with a known thickness; name "
            "places of the part under [[stations]]"
        )
    return template_pages(found, paper, sheet.marking.job, inch=sheet.marking.inch)


def _drawn(layout: Layout, sheet: BenchSheet, edges: Mapping[str, FaceEdges]) -> dict[BlankFace, Drawn]:
    """Return what each face shows beside its marks."""
    found = {}
    for side in BlankFace:
        faces = [setup.face for setup in sheet.setups if setup.sheet.up is side]
        lines = [_on_face(layout, face, line) for face in faces for line in edges[face.name].all_lines]
        clamps = [
            _on_face(layout, face, face.in_section((*clamp.corners_mm, clamp.corners_mm[0])))
            for face in faces
            for clamp in face.setup.clamps
        ]
        zeros = [_on_face(layout, face, face.in_section([(0.0, 0.0)]))[0].tolist() for face in faces]
        found[side] = Drawn(tuple(lines), tuple(clamps), tuple((along, across) for along, across in zeros))
    return found


def _on_face(layout: Layout, face: SetupFace, points_mm: Floats) -> Floats:
    """Return points of a section as distances from the near end and from the reference edge, on the face that is up."""
    bend, up = layout.bend_of(face.setup), face.setup.up
    # Both distances grow by a millimetre a millimetre.
    along = layout.along_mm(FaceLine(up, bend, 0.0)) + points_mm[:, 1]
    across = layout.job.blank.from_edge_mm(0.0)
    slope = layout.job.blank.from_edge_mm(1.0) - across
    return np.column_stack([along, across + slope * points_mm[:, 0]])


def _foot(page: Page, sheet: BenchSheet, number: str) -> None:
    y, right = MARGIN_MM - 5.0, page.width_mm - MARGIN_MM
    room = right - MARGIN_MM - 110.0
    page.add(Label((MARGIN_MM, y), shortened(f"{number}; checked on {sheet.checked_on}", room, 8.5), 8.5))
    draw_bar(page, right, y, inch=sheet.marking.inch)


def _stamp(page: Page) -> None:
    """Write across a page that the check did not pass: large, with all else on top of it, and in its head."""
    middle, x = page.width_mm / 2, page.width_mm - MARGIN_MM
    letters = [
        Label((middle, page.height_mm * share), NOT_CHECKED, 62.0, Align.MIDDLE, bold=True, ink="#dcdcdc")
        for share in (0.22, 0.5, 0.78)
    ]
    # What is filled in pale grey is ground: the letters stand on it, and all else stands on them.
    ground = [item for item in page.items if isinstance(item, Area) and _PALE < item.grey < 1.0]
    page.items[:] = [*ground, *letters, *(item for item in page.items if item not in ground)]
    low = page.height_mm - _STAMP_MM
    page.add(Area(((MARGIN_MM, low), (x, low), (x, page.height_mm - 1.5), (MARGIN_MM, page.height_mm - 1.5)), 0.0))
    words = f"{NOT_CHECKED}: the check of this job did not pass; do not cut by this sheet"
    page.add(Label((middle, (low + page.height_mm - 1.5) / 2), words, 9.5, Align.MIDDLE, bold=True, ink="white"))
