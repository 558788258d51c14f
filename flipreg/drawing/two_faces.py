"""The picture of the check of two faces: both in the front's numbers, what coincides, and which way the back is off."""

from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from flipreg.drawing.arrows import draw_arrow
from flipreg.drawing.badges import draw_ring
from flipreg.drawing.face_edges import FaceEdges, program_edges
from flipreg.drawing.faces_panel import SHARED_INK, FacesPanel, draw_zero
from flipreg.drawing.page import Dash, Label, Page, Stroke, Strokes, shortened, text_width_mm
from flipreg.drawing.paint import Drawing, file_format, paint
from flipreg.drawing.paper import MARGIN_MM
from flipreg.drawing.section_panel import BACK_INK, FRONT_INK, draw_hole
from flipreg.drawing.view import ratio_text
from flipreg.geometry.isometry import Isometry
from flipreg.program.face import Face
from flipreg.register.report import FlipChoice, Report
from flipreg.report.verdict import VERDICTS
from flipreg.units import length_text, limit_text, place_text, shown_in, shown_now

__all__ = ["draw_two_faces", "two_faces_page"]

Floats = NDArray[np.float64]
Point = tuple[float, float]

_PAGE_MM = (297.0, 210.0)
_HEAD_MM, _FOOT_MM = 26.0, 16.0
_LEAST_WITHIN_MM = 0.02
"""Edges closer than this are drawn as coinciding, however small the tolerance: they are drawn with chords (chosen)."""
_LEAST_WORST_MM = 0.002
_SIZE_PT = 8.5
_CAUTION = "Worked out from programs; it does not say that a cut is safe. Try every program above the work first."


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
    """Lay out the picture: the faces over one another, or beside each other where no flip is known."""
    page = Page(*_PAGE_MM)
    choice = report.flip.choice
    placed = _front_from_back(choice)
    with shown_in(inch=report.inch):
        if placed is None or choice.datum_mm is None:
            _draw_apart(page, front, back, report)
        else:
            edges = program_edges(front, Isometry()), program_edges(back, placed)
            _draw_together(page, *edges, report, choice.datum_mm)
    page.add(Label((MARGIN_MM, MARGIN_MM - 2.0), _CAUTION, _SIZE_PT))
    return page


def _draw_together(page: Page, front: FaceEdges, back: FaceEdges, report: Report, datum_mm: Point) -> None:
    panel = FacesPanel.of(page, _room(), [front, back], [(0.0, 0.0), datum_mm])
    shared = panel.draw_shared(front, back, within_mm=max(report.tolerance_mm, _LEAST_WITHIN_MM))
    line = _flip_line(panel, report.flip.choice)
    if line is not None:
        panel.draw_line(line)
    panel.draw_face(front, is_front=True)
    panel.draw_face(back, is_front=False)
    panel.draw_axes()
    register = report.register
    factor = 0.0
    if register.dx_mm is not None and register.dy_mm is not None:
        factor = panel.draw_misfit(front, (register.dx_mm, register.dy_mm), register.rotation_deg or 0.0)
    named: list[tuple[Point, str]] = []
    far: list[str] = []
    for at_mm, what, ink in (((0.0, 0.0), "front zero", FRONT_INK), (datum_mm, "back zero", BACK_INK)):
        if panel.shows(at_mm):
            at = panel.view.point(at_mm)
            draw_zero(page, at, ink)
            named.append((at, what))
        else:
            far.append(f"{what} at {place_text(at_mm, 2)} is off the picture")
    worst_mm = register.worst_mm or 0.0
    is_off = worst_mm > _LEAST_WORST_MM and register.worst_at_mm is not None
    if is_off and register.worst_at_mm is not None and panel.shows(register.worst_at_mm):
        named.append((panel.draw_ring(register.worst_at_mm), f"worst {length_text(worst_mm, 3)}"))
    if line is not None:
        letter, value = ("X", line[0][0]) if line[0][0] == line[1][0] else ("Y", line[0][1])
        named.append((panel.view.point(line[1]), f"flip line {letter} {shown_now().number(value)}"))
    panel.write(named)
    _draw_head(page, report, [f"Both faces in the front's numbers, {ratio_text(panel.view.scale)} on A4", *far])
    marks = ["shared"] * shared + ["line"] * (line is not None) + ["ring"] * is_off
    _draw_legend(page, marks, f"back against front, {factor:g} × as long as it is" if factor else "")


def _draw_apart(page: Page, front: Face, back: Face, report: Report) -> None:
    x0, y0, x1, y1 = _room()
    middle = (x0 + x1) / 2
    boxes = (x0, y0, middle - 3.0, y1 - 6.0), (middle + 3.0, y0, x1, y1 - 6.0)
    for programs, box, is_front in zip((front, back), boxes, (True, False), strict=True):
        edges = program_edges(programs, Isometry())
        panel = FacesPanel.of(page, box, [edges], [(0.0, 0.0)])
        panel.draw_face(edges, is_front=is_front)
        panel.draw_axes()
        name, ink = ("front", FRONT_INK) if is_front else ("back", BACK_INK)
        page.add(Label((box[0], y1 - 2.0), f"The {name}, in its own numbers", 9.5, bold=True))
        if panel.shows((0.0, 0.0)):
            at = panel.view.point((0.0, 0.0))
            draw_zero(page, at, ink)
            panel.write([(at, f"{name} zero")])
    _draw_head(page, report, ["How the blank is flipped is not known, so that the faces are drawn beside each other"])
    _draw_legend(page, [], "")


def _room() -> tuple[float, float, float, float]:
    width, height = _PAGE_MM
    return MARGIN_MM, MARGIN_MM + _FOOT_MM, width - MARGIN_MM, height - MARGIN_MM - _HEAD_MM


def _front_from_back(choice: FlipChoice) -> Isometry | None:
    """Return the map from the back's numbers to the front's; None where it isn't known or goes about no main axis."""
    if choice.datum_mm is None or choice.axis is None:
        return None
    x_mm, y_mm = (Decimal(repr(round(value, 9))) for value in choice.datum_mm)
    if choice.axis == "none":
        return Isometry.translation(x_mm, y_mm) @ Isometry.rotation(180.0 if choice.half_turn else 0.0)
    mirror = Isometry.mirror_x if choice.axis == "y" else Isometry.mirror_y
    return ~mirror(datum_mm=(x_mm, y_mm))


def _flip_line(panel: FacesPanel, choice: FlipChoice) -> tuple[Point, Point] | None:
    """Return the ends of the flip line within the panel; None where there is none, or it is off the picture."""
    if choice.datum_mm is None or choice.axis not in ("x", "y"):
        return None
    x0, y0, x1, y1 = panel.view.box_mm
    room = 5.0 / panel.view.scale
    if choice.axis == "y":
        x = choice.datum_mm[0] / 2
        return ((x, y0 - room), (x, y1 + room)) if x0 - room <= x <= x1 + room else None
    y = choice.datum_mm[1] / 2
    return ((x0 - room, y), (x1 + room, y)) if y0 - room <= y <= y1 + room else None


def _draw_head(page: Page, report: Report, lines: list[str]) -> None:
    width, top = _PAGE_MM[0] - 2 * MARGIN_MM, _PAGE_MM[1] - MARGIN_MM
    names = f"{', '.join(report.front)} | {', '.join(report.back)}"
    title = VERDICTS[report.in_register]
    page.add(Label((MARGIN_MM, top - 3.0), title, 14.0, bold=True))
    beside = text_width_mm(title, 14.0, bold=True) + 5.0
    page.add(Label((MARGIN_MM + beside, top - 3.0), shortened(names, width - beside, 9.5), 9.5))
    register = report.register
    said = [f"Flip: {report.flip.choice.words}"]
    if register.worst_mm is not None:
        limit = limit_text(report.tolerance_mm)
        said.append(f"the faces are up to {length_text(register.worst_mm, 3)} apart (allowed {limit})")
    if register.dx_mm is not None and register.dy_mm is not None:
        turn_deg, off_mm = register.rotation_deg or 0.0, (register.dx_mm, register.dy_mm)
        said.append(f"the back lies off by {place_text(off_mm, 3)} {shown_now().name}, turned {turn_deg:z.3f}°")
    text = [shortened(line, width, 9.5) for line in ("; ".join(said), "; ".join(lines))]
    page.paragraph((MARGIN_MM, top - 10.5), text)


def _draw_legend(page: Page, marks: list[str], arrows: str) -> None:
    """Explain the lines and marks that are drawn, and no others."""
    y = MARGIN_MM + 7.0
    x = MARGIN_MM
    entries = [("front", "front: edge, hole"), ("back", "back: edge, hole")]
    entries += [(mark, {"shared": "coincide", "line": "flip line", "ring": "worst place"}[mark]) for mark in marks]
    entries += [("arrow", arrows)] if arrows else []
    for mark, text in entries:
        _draw_sample(page, mark, (x, y))
        page.add(Label((x + 13.5, y), text, _SIZE_PT))
        x += 13.5 + text_width_mm(text, _SIZE_PT) + 6.0


def _draw_sample(page: Page, mark: str, at: Point) -> None:
    x, y = at
    line = np.array([[x, y], [x + 8.0, y]])
    if mark in ("front", "back"):
        is_front = mark == "front"
        dash, ink = (Dash.SOLID, FRONT_INK) if is_front else (Dash.DASHED, BACK_INK)
        page.add(Strokes((line,), 0.3, dash, ink))
        draw_hole(page, (x + 10.6, y), 1.0, is_front=is_front)
    elif mark == "shared":
        page.add(Strokes((line,), 2.0, ink=SHARED_INK), Strokes((line,), 0.3, ink=FRONT_INK))
    elif mark == "line":
        page.add(Stroke(((x, y), (x + 12.0, y)), 0.25, Dash.CHAIN))
    elif mark == "ring":
        draw_ring(page, (x + 6.0, y), 2.1)
    else:
        draw_arrow(page, (x + 1.0, y), (x + 11.0, y))
