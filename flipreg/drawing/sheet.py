"""The marking sheet as a drawing: both faces dimensioned, and each setup as it lies on the table."""

from collections.abc import Mapping
from dataclasses import replace

from flipreg.align.marking_sheet import FaceSheet, MarkingSheet, SetupSheet
from flipreg.drawing.face_drawing import Drawn, draw_face, is_crowded
from flipreg.drawing.page import Label, Page, wrapped
from flipreg.drawing.paint import Drawing, demand_pdf, file_format, paint
from flipreg.drawing.paper import MARGIN_MM, Paper
from flipreg.drawing.setup_drawing import SetupCell
from flipreg.drawing.tiles import tile_pages
from flipreg.job.blank import BlankFace
from flipreg.report.marks import blank_text

__all__ = ["draw_sheet", "draw_true_scale", "face_pages", "sheet_pages"]

_TITLE_MM = 16.0
_MOST_JOGS = 24
_MOST_LABELS = 18
_SLENDER = 0.4
"""Blanks narrower than this part of their length have both faces on a page, if their marks are few."""

_CAUTION = "Touch every mark again with the pointer before the first cut. Not to scale: go by the numbers."


def draw_sheet(sheet: MarkingSheet, name: str) -> Drawing:
    """Draw the marking sheet on A4 pages, lying; the ending of the file's name says in which format.

    Raises
    ------
    UsageError
        If the name ends in none of .pdf, .svg and .png.
    """
    kind = file_format(name)
    return paint(sheet_pages(sheet), kind, title=f"Marking sheet: {sheet.job}")


def draw_true_scale(sheet: MarkingSheet, name: str) -> Drawing:
    """Draw both faces at their true size, tiled over A4 pages that overlap.

    Raises
    ------
    UsageError
        If the name does not end in .pdf: pages are printed one by one, and pictures are printed to fit.
    """
    demand_pdf(name, "true scale")
    return paint(tile_pages(sheet), "pdf", title=f"Both faces 1:1: {sheet.job}")


def sheet_pages(sheet: MarkingSheet) -> list[Page]:
    """Lay out the pages: the faces, then the setups."""
    return [*face_pages(sheet, Paper.A4), *_setup_pages(sheet)]


def face_pages(sheet: MarkingSheet, paper: Paper, drawn: Mapping[BlankFace, Drawn] | None = None) -> list[Page]:
    """Lay out both faces on a paper, lying, with what is drawn of a face beside its marks."""
    width, height = paper.lying_mm
    low, high = MARGIN_MM, width - MARGIN_MM
    top, bottom = height - MARGIN_MM - _TITLE_MM, MARGIN_MM + 4
    faces = [part for face in sheet.faces for part in _face_parts(face)]
    wide = sheet.size_mm[1] > _SLENDER * sheet.size_mm[0]
    share = 1 if wide or any(is_crowded(sheet, face, high - low) for face in faces) else 2
    room = (top - bottom) / share
    pages: list[Page] = []
    for number, face in enumerate(faces):
        if number % share == 0:
            pages.append(_page(sheet, paper))
        above = top - (number % share) * room
        corners = (low, above - room + 2), (high, above)
        draw_face(pages[-1], sheet, face, *corners, (drawn or {}).get(face.face, Drawn()))
    return pages


def _face_parts(face: FaceSheet) -> list[FaceSheet]:
    """Return a face in parts whose labels fit the width of a page."""
    cuts = range(0, max(len(face.marks), 1), _MOST_LABELS)
    return [replace(face, marks=face.marks[at : at + _MOST_LABELS]) for at in cuts]


def _setup_pages(sheet: MarkingSheet) -> list[Page]:
    pages: list[Page] = []
    at = 0.0
    parts = [(number, part) for number, setup in enumerate(sheet.setups, start=1) for part in _parts(setup)]
    for number, part in parts:
        cell = SetupCell(sheet, part, number)
        if at - cell.height_mm < MARGIN_MM + 4:
            pages.append(_page(sheet, Paper.A4))
            at = Paper.A4.lying_mm[1] - MARGIN_MM - _TITLE_MM
        cell.draw(pages[-1], MARGIN_MM, Paper.A4.lying_mm[0] - MARGIN_MM, at)
        at -= cell.height_mm
    return pages


def _parts(setup: SetupSheet) -> list[SetupSheet]:
    """Return a setup in parts whose tables fit a page, each with the reference mark on top."""
    reference, others = setup.jogs[:1], setup.jogs[1:]
    cuts = range(0, max(len(others), 1), _MOST_JOGS)
    return [replace(setup, jogs=(*reference, *others[at : at + _MOST_JOGS])) for at in cuts]


def _page(sheet: MarkingSheet, paper: Paper) -> Page:
    page = Page(*paper.lying_mm)
    top = page.height_mm - MARGIN_MM
    page.add(Label((MARGIN_MM, top - 3), f"Marking sheet: {sheet.job}", 14.0, bold=True))
    said = (
        f"Blank {blank_text(sheet)} (length, width, thickness). Measure across from the reference edge, along from the "
        "near end with the tape on the face."
    )
    page.paragraph((MARGIN_MM, top - 9.5), wrapped(said, page.width_mm - 2 * MARGIN_MM))
    page.add(Label((MARGIN_MM, MARGIN_MM + 0.5), _CAUTION, 8.5))
    return page
