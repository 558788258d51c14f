"""The picture of the check of two faces: both in the front's numbers, what coincides, and which way the back is off."""

from dataclasses import dataclass, replace
from decimal import Decimal
from math import cos, floor, log10, radians, sin

import numpy as np
from numpy.typing import NDArray

from flipreg.drawing.face_edges import FaceEdges, program_edges
from flipreg.drawing.labels import Labels
from flipreg.drawing.page import Dash, Label, Page, Stroke, Strokes, shortened, wrapped
from flipreg.drawing.paint import Drawing, file_format, paint
from flipreg.drawing.section_panel import BACK_INK, FRONT_INK, draw_arrow, draw_hole
from flipreg.drawing.view import Box, View
from flipreg.geometry.isometry import Isometry
from flipreg.program.face import Face
from flipreg.register.report import Report

__all__ = ["draw_two_faces", "two_faces_page"]

Floats = NDArray[np.float64]

_PAGE_MM = (297.0, 210.0)
_MARGIN_MM = 12.0
_HEAD_MM, _FOOT_MM = 27.0, 21.0
_AROUND_MM = 9.0
"""Room round the faces for what arrows and labels need."""
_FAR_ZERO = 1.0
"""A zero or flip line farther off than this many times the part's size is not drawn, but told; ours."""
_EVERY_MM = 0.4
"""Distance on paper of the points at which edges are held against each other."""
_SHARE_MM = 2.2
_LONGEST_ARROW_MM = 14.0
_LEAST_SHOWN_MM = 0.002
_ARROWS = 14
_INK_SHARED = "#bdbdbd"
_VERDICTS = {True: "IN REGISTER", False: "NOT IN REGISTER", None: "REGISTER NOT DETERMINED"}
_CAUTION = (
    "Worked out from programs; it does not say that a cut is safe. Try every program above the work first."
)


def draw_two_faces(front: Face, back: Face, report: Report, name: str) -> Drawing:
    """Draw two faces as their check found them; the ending of the file's name says in which format.

    Parameters
    ----------
    front, back : sequence of FaceProgram
        The programs of each face.
    report : Report
        Of their check.
    name : str
        Of the file that the drawing is for.

    Raises
    ------
    UsageError
        If the name ends in none of .pdf, .svg and .png.
    """
    kind = file_format(name)
    return paint([two_faces_page(front, back, report)], kind, title="Check of two faces")


def two_faces_page(front: Face, back: Face, report: Report) -> Page:
    """Lay out the picture: the faces over one another; side by side where no flip is known."""
    page = Page(*_PAGE_MM)
    _draw_head(page, report)
    flip = _flip_of(report)
    width, height = _PAGE_MM
    room = (_MARGIN_MM, _MARGIN_MM + _FOOT_MM, width - _MARGIN_MM, height - _MARGIN_MM - _HEAD_MM)
    still = Isometry()
    if flip is None:
        middle = width / 2
        for edges, box, is_front in (
            (program_edges(front, still), (*room[:2], middle - 3.0, room[3]), True),
            (program_edges(back, still), (middle + 3.0, room[1], *room[2:]), False),
        ):
            sheet = _Sheet.of(page, box, [edges], [])
            sheet.draw_face(edges, is_front=is_front)
            title = "Front, in its own numbers" if is_front else "Back, in its own numbers, as its program has it"
            page.add(Label((box[0], box[3] + 3.0), title, 9.0, bold=True))
            sheet.draw_zero((0.0, 0.0), "front zero" if is_front else "back zero", is_front=is_front)
        _draw_legend(page, arrows="", shared=False, line=False)
        return page
    faces = program_edges(front, still), program_edges(back, ~flip)
    back_zero = (float(flip.dx_mm), float(flip.dy_mm)) if report.flip.choice.axis == "none" else _datum(report)
    sheet = _Sheet.of(page, room, list(faces), [(0.0, 0.0), back_zero])
    shared = sheet.draw_shared(*faces, within_mm=max(report.tolerance_mm, 0.02))
    line = sheet.draw_flip_line(report)
    for edges, is_front in zip(faces, (True, False), strict=True):
        sheet.draw_face(edges, is_front=is_front)
    arrows = sheet.draw_misfit(faces, report)
    sheet.draw_labels(report, back_zero, line=line)
    _draw_legend(page, arrows=arrows, shared=shared, line=line is not None)
    return page


def _flip_of(report: Report) -> Isometry | None:
    """Return the map from the front's numbers to the back's, None where it isn't known or goes about no main axis."""
    choice = report.flip.choice
    if choice.datum_mm is None or choice.axis is None:
        return None
    x_mm, y_mm = (Decimal(repr(round(value, 9))) for value in choice.datum_mm)
    if choice.axis == "none":
        return ~Isometry.translation(x_mm, y_mm)
    mirror = Isometry.mirror_x if choice.axis == "y" else Isometry.mirror_y
    return mirror(datum_mm=(x_mm, y_mm))
