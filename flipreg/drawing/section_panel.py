"""One section of the blank in the picture of a check: its thickness map, the edges and holes of both faces, numbers."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.drawing.badges import RING_MM, Badge, BadgeKind, draw_badge, draw_ring, place_badges
from flipreg.drawing.face_edges import FaceEdges
from flipreg.drawing.page import Align, Area, Dash, Label, Page, Stroke, Strokes, shortened
from flipreg.drawing.thickness_map import Bands, map_raster, nice_step
from flipreg.drawing.view import Box, View
from flipreg.job_check.displacement import Displacements
from flipreg.stock.remaining import RemainingStock
from flipreg.units import INCH_MM

__all__ = ["BACK_INK", "CAPTION_MM", "FRONT_INK", "Panel", "arrows", "draw_arrow", "draw_hole", "draw_panel"]

Floats = NDArray[np.float64]

FRONT_INK, BACK_INK = "#10275c", "#b8420a"
"""A dark blue and a burnt orange, which all kinds of colour vision tell apart; line styles say it too."""

CAPTION_MM = 14.5
"""Room above a panel for what it shows."""
LEFT_MM, BELOW_MM = 15.0, 10.0
"""Room beside and below a panel for its numbers."""

_SIZE_PT = 8.5
_LINE_MM = 0.3
_HALO_MM = 0.6
_LEAST_HOLE_MM = 0.9
_LEAST_CAPTION_MM = 55.0
_TICKS = 6
_ARROW_MM = 0.45


@dataclass(frozen=True, slots=True, eq=False)
class Panel:
    """What is drawn of one section.

    Attributes
    ----------
    title, setups : str
        Which section, and the setups in which it lies flat.
    box_mm : Box
        The section of the blank, in its own frame.
    left : RemainingStock or None
        Its maps; None where there are none.
    front, back : tuple of FaceEdges
        Of each setup of either face.
    moved : tuple of Displacements
        Of every two setups of opposite faces.
    exaggeration : float
        How many times longer than they are displacements are drawn.
    badges : tuple of (BadgeKind, str, (x, y))
        Numbers and places in the frame of the section.
    inch : bool
        Whether the numbers along its edges are inches.
    """

    title: str
    setups: str
    box_mm: Box
    left: RemainingStock | None
    front: tuple[FaceEdges, ...]
    back: tuple[FaceEdges, ...]
    moved: tuple[Displacements, ...]
    exaggeration: float
    badges: tuple[tuple[BadgeKind, str, tuple[float, float]], ...]
    inch: bool


def draw_panel(page: Page, panel: Panel, view: View, bands: Bands) -> list[str]:
    """Draw a section; return the numbers for which no room was found."""
    x0, y0, x1, y1 = view.page_box
    page.add(Label((x0, y1 + CAPTION_MM - 2.5), panel.title, 9.5, bold=True))
    setups = shortened(panel.setups, max(x1 - x0, _LEAST_CAPTION_MM), _SIZE_PT)
    page.add(Label((x0, y1 + CAPTION_MM - 7.0), setups, _SIZE_PT))
    if panel.left is not None:
        page.add(map_raster(panel.left, bands, view))
    _draw_numbers(page, panel, view)
    _draw_faces(page, panel, view)
    page.rectangle((x0, y0), (x1, y1), width_mm=0.35)
    taken = [
        _around(at, _LEAST_HOLE_MM + 1.0) for face in (*panel.front, *panel.back) for at in view.apply(face.holes_mm)
    ]
    badges = [Badge(kind, text, view.point(at)) for kind, text, at in panel.badges]
    for badge in badges:
        if badge.kind is BadgeKind.WORST:
            draw_ring(page, badge.at, RING_MM)
    for start, end in arrows(panel.moved, view, panel.exaggeration):
        draw_arrow(page, start, end)
        taken.append(
            (min(start[0], end[0]) - 1, min(start[1], end[1]) - 1, max(start[0], end[0]) + 1, max(start[1], end[1]) + 1)
        )
    homeless = []
    for badge, middle in zip(badges, place_badges(badges, view.page_box, taken), strict=True):
        if middle is None:
            homeless.append(badge.text)
        else:
            draw_badge(page, badge, middle)
    return homeless


def arrows(
    moved: Sequence[Displacements], view: View, exaggeration: float
) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Return the start and the end of each arrow on the page."""
    out = []
    for one in moved:
        starts, ends = view.apply(one.at_mm).tolist(), view.apply(one.at_mm + exaggeration * one.by_mm).tolist()
        out += [((x0, y0), (x1, y1)) for (x0, y0), (x1, y1) in zip(starts, ends, strict=True)]
    return out


def _draw_faces(page: Page, panel: Panel, view: View) -> None:
    """Draw edges and holes of the front, then those of the back over them."""
    within = view.page_box
    for faces, ink, dash in ((panel.front, FRONT_INK, Dash.SOLID), (panel.back, BACK_INK, Dash.DASHED)):
        lines = tuple(view.apply(line) for face in faces for line in face.lines)
        if dash is Dash.SOLID:
            page.add(Strokes(lines, _HALO_MM, ink="white", within=within))
        page.add(Strokes(lines, _LINE_MM, dash, ink, within))
        for face in faces:
            sizes = np.nan_to_num(face.diameters_mm) * view.scale / 2
            for (x, y), size in zip(view.apply(face.holes_mm).tolist(), sizes.tolist(), strict=True):
                draw_hole(page, (x, y), max(size, _LEAST_HOLE_MM), is_front=dash is Dash.SOLID)


def draw_hole(page: Page, at: tuple[float, float], radius: float, *, is_front: bool) -> None:
    """Draw a hole: with an upright cross on the front, a slanting one on the back, so that both can be seen at once."""
    x, y = at
    turns = np.linspace(0.0, 2 * np.pi, 29)
    ring = np.stack([x + radius * np.cos(turns), y + radius * np.sin(turns)], axis=1)
    arm = radius + 0.9
    ways = ((1.0, 0.0), (0.0, 1.0)) if is_front else ((0.71, 0.71), (0.71, -0.71))
    cross = [np.array([[x - arm * dx, y - arm * dy], [x + arm * dx, y + arm * dy]]) for dx, dy in ways]
    ink = FRONT_INK if is_front else BACK_INK
    if is_front:
        page.add(Strokes((ring, *cross), 0.7, ink="white"))
    page.add(Strokes((ring, *cross), 0.25, ink=ink))


def draw_arrow(page: Page, start: tuple[float, float], end: tuple[float, float]) -> None:
    """Draw a thick black arrow with a white edge."""
    along = np.subtract(end, start)
    length = float(np.hypot(*along))
    if length < 1.0:
        return
    along = along / length
    side = np.array([-along[1], along[0]])
    head = min(2.6, 0.6 * length)
    neck = end - head * along
    for grown, grey in ((0.35, 1.0), (0.0, 0.0)):
        half, wide = _ARROW_MM / 2 + grown, 0.38 * head + 1.6 * grown
        corners = (
            start - grown * along + half * side,
            neck + half * side,
            neck - grown * along + wide * side,
            end + 2.4 * grown * along,
            neck - grown * along - wide * side,
            neck - half * side,
            start - grown * along - half * side,
        )
        page.add(Area(tuple((float(x), float(y)) for x, y in corners), grey))


def _draw_numbers(page: Page, panel: Panel, view: View) -> None:
    """Draw a grid of thin lines over the map, and the numbers at its ends."""
    unit_mm = INCH_MM if panel.inch else 1.0
    x0, y0, x1, y1 = panel.box_mm
    left, bottom, right, top = view.page_box
    step_mm = nice_step(max(y1 - y0, x1 - x0) / unit_mm / _TICKS / 1.5) * unit_mm
    while step_mm * view.scale < 11.0:
        step_mm = nice_step(step_mm / unit_mm * 1.01) * unit_mm
    grid: list[Floats] = []
    for at_mm in _multiples(x0, x1, step_mm):
        ends = view.apply(np.array([[at_mm, y0], [at_mm, y1]]))
        grid.append(ends)
        _number(page, (float(ends[0, 0]), float(ends[0, 1])), at_mm / unit_mm, is_below=view.is_upright)
    for at_mm in _multiples(y0, y1, step_mm):
        ends = view.apply(
            np.array([[x1, at_mm], [x0, at_mm]]) if not view.is_upright else np.array([[x0, at_mm], [x1, at_mm]])
        )
        grid.append(ends)
        _number(page, (float(ends[0, 0]), float(ends[0, 1])), at_mm / unit_mm, is_below=not view.is_upright)
    page.add(Strokes(tuple(grid), 0.1, Dash.SOLID, "#00000055"))
    unit = "inch" if panel.inch else "mm"
    across, along = (f"X, {unit}", f"Y, {unit}")
    below, beside = (across, along) if view.is_upright else (along, across)
    page.add(Label(((left + right) / 2, bottom - 7.6), below, _SIZE_PT, Align.MIDDLE))
    page.add(Label((left - 12.8, (bottom + top) / 2), beside, _SIZE_PT, Align.MIDDLE, upright=True))


def _around(at: Floats, half_mm: float) -> Box:
    x, y = at.tolist()
    return x - half_mm, y - half_mm, x + half_mm, y + half_mm


def _number(page: Page, at: tuple[float, float], value: float, *, is_below: bool) -> None:
    x, y = at
    text = f"{value + 0.0:g}"
    if is_below:
        page.add(Stroke(((x, y), (x, y - 1.2)), 0.2), Label((x, y - 3.4), text, _SIZE_PT, Align.MIDDLE))
    else:
        page.add(Stroke(((x, y), (x - 1.2, y)), 0.2), Label((x - 1.8, y), text, _SIZE_PT, Align.RIGHT))


def _multiples(low: float, high: float, step: float) -> Sequence[float]:
    return [
        round(index * step, 9)
        for index in range(int(np.ceil(low / step - 1e-9)), int(np.floor(high / step + 1e-9)) + 1)
    ]
