"""One section of the blank in the picture of a check: its thickness map, the edges and holes of both faces, numbers."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.drawing.arrows import arrow_box, arrows, draw_arrow
from flipreg.drawing.badges import RING_MM, Badge, BadgeKind, draw_badge, draw_leader, draw_ring, place_badges
from flipreg.drawing.face_edges import FaceEdges
from flipreg.drawing.page import Align, Dash, Label, Page, Stroke, Strokes, shortened, text_width_mm
from flipreg.drawing.signs import Clamped, Sign, draw_clamp, draw_sign
from flipreg.drawing.thickness_map import Bands, map_raster, nice_step
from flipreg.drawing.view import PageBox, View
from flipreg.job.blank import Edge
from flipreg.job_check.displacement import Displacements
from flipreg.stock.sections.remaining import RemainingStock
from flipreg.units import INCH_MM

__all__ = ["BACK_INK", "CAPTION_MM", "FRONT_INK", "Panel", "draw_hole", "draw_panel"]

Floats = NDArray[np.float64]

FRONT_INK, BACK_INK = "#10275c", "#b8420a"
"""A dark blue and a burnt orange, which all kinds of colour vision tell apart; line styles say it too."""

CAPTION_MM = 13.0
"""Room above a panel for what it shows."""
LEFT_MM, BELOW_MM = 15.0, 10.0
"""Room beside and below a panel for its numbers."""

_SIZE_PT = 8.5
_LINE_MM = 0.3
_HALO_MM = 0.6
_LEAST_HOLE_MM = 0.9
_LEAST_CAPTION_MM = 55.0
_EDGE_MM = 1.2
"""How thick the reference edge is drawn."""
_NAME_MM = 60.0
_SAME_SIGN_MM = 1.5
"""Signs closer than this on paper share one label (chosen)."""
_BESIDE_MM = 4.0
"""How far a clamp may stand out of a panel."""
_TICKS = 6


@dataclass(frozen=True, slots=True, eq=False)
class Panel:
    """What is drawn of one section.

    Attributes
    ----------
    title, setups : str
        Which section, and the setups in which it lies flat.
    box_mm : PageBox
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
    signs : tuple of Sign
        Marks, zeros, stations and the thinnest web.
    clamps : tuple of Clamped
        What stands over it in any setup.
    edge : Edge
        The reference edge.
    inch : bool
        Whether the numbers along its edges are inches.
    """

    title: str
    setups: str
    box_mm: PageBox
    left: RemainingStock | None
    front: tuple[FaceEdges, ...]
    back: tuple[FaceEdges, ...]
    moved: tuple[Displacements, ...]
    exaggeration: float
    badges: tuple[tuple[BadgeKind, str, tuple[float, float]], ...]
    signs: tuple[Sign, ...]
    clamps: tuple[Clamped, ...]
    edge: Edge
    inch: bool


def draw_panel(page: Page, panel: Panel, view: View, bands: Bands, room: PageBox) -> list[str]:
    """Draw a section with names and numbers within a room; return those for which there is none."""
    x0, y0, x1, y1 = view.page_box
    page.add(Label((x0, y1 + CAPTION_MM - 2.5), panel.title, 9.5, bold=True))
    setups = shortened(panel.setups, max(x1 - x0, _LEAST_CAPTION_MM), _SIZE_PT)
    page.add(Label((x0, y1 + CAPTION_MM - 7.0), setups, _SIZE_PT))
    if panel.left is not None:
        page.add(map_raster(panel.left, bands, view))
    _draw_numbers(page, panel, view)
    _draw_faces(page, panel, view)
    page.rectangle((x0, y0), (x1, y1), width_mm=0.35)
    page.add(Strokes((_edge_line(panel, view),), _EDGE_MM))
    within = (x0 - _BESIDE_MM, y0 - _BESIDE_MM, x1 + _BESIDE_MM, y1 + _BESIDE_MM)
    for clamp in panel.clamps:
        draw_clamp(page, view.apply(clamp.corners_mm), within)
    for sign in panel.signs:
        draw_sign(page, sign.kind, view.point(sign.at_mm))
    taken = [label.box for label in page.labels] + [_edge_box(panel, view)] + [
        _around(at, _LEAST_HOLE_MM + 1.0) for face in (*panel.front, *panel.back) for at in view.apply(face.holes_mm)
    ]
    badges = [Badge(kind, text, view.point(at)) for kind, text, at in panel.badges]
    for badge in badges:
        if badge.kind is BadgeKind.WORST:
            draw_ring(page, badge.at, RING_MM)
    for start, end in arrows(panel.moved, view, panel.exaggeration):
        draw_arrow(page, start, end)
        taken.append(arrow_box(start, end))
    names, unnamed = _names(panel, view)
    named = _by_weight([*badges, *names])
    places = place_badges(named, room, taken, None if panel.left is None else _on_part(panel.left, view))
    housed = [(badge, middle) for badge, middle in zip(named, places, strict=True) if middle is not None]
    for draw in (draw_leader, draw_badge):
        for badge, middle in housed:
            draw(page, badge, middle)
    return [*(badge.text for badge, middle in zip(named, places, strict=True) if middle is None), *unnamed]


def _by_weight(badges: Sequence[Badge]) -> list[Badge]:
    """Return badges with the first choice for the worst error, what fails and what has a name, in this order."""
    order = {BadgeKind.WORST: 0, BadgeKind.FAILS: 1, BadgeKind.NAME: 2, BadgeKind.TAB: 3}
    return sorted(badges, key=lambda badge: order.get(badge.kind, 4))


def _names(panel: Panel, view: View) -> tuple[list[Badge], list[str]]:
    """Return the names of signs and clamps, and those left over where too many signs lie over one another on paper."""
    together: dict[tuple[float, float], list[str]] = {}
    for sign in panel.signs:
        at = view.point(sign.at_mm)
        near = next((one for one in together if np.hypot(one[0] - at[0], one[1] - at[1]) < _SAME_SIGN_MM), at)
        words = together.setdefault(near, [])
        if sign.text not in words:
            words.append(sign.text)
    x0, y0, x1, y1 = view.page_box
    for clamp in panel.clamps:
        x, y = ((low + high) / 2 for low, high in zip(*_ends(view.apply(clamp.corners_mm)), strict=True))
        together.setdefault((min(max(x, x0), x1), min(max(y, y0), y1)), []).append(clamp.name)
    names, unnamed = [], []
    for at, words in together.items():
        kept = words[:1]
        for word in words[1:]:
            if text_width_mm(", ".join([*kept, word]), _SIZE_PT) <= _NAME_MM:
                kept.append(word)
            else:
                unnamed.append(word)
        names.append(Badge(BadgeKind.NAME, shortened(", ".join(kept), _NAME_MM, _SIZE_PT), at))
    return names, unnamed


def _ends(points: Floats) -> tuple[list[float], list[float]]:
    return points.min(axis=0).tolist(), points.max(axis=0).tolist()


def _on_part(left: RemainingStock, view: View) -> Callable[[Floats], NDArray[np.bool_]]:
    """Return what tells which places of the page are on wood of the part, or where nothing is left."""
    shown = left.part | left.kerf

    def on_part(points: Floats) -> NDArray[np.bool_]:
        at = view.places_mm(points)
        columns = np.clip(np.round((at[:, 0] - left.grid.x_mm) / left.grid.step_mm), 0, shown.shape[1] - 1)
        rows = np.clip(np.round((at[:, 1] - left.grid.y_mm) / left.grid.step_mm), 0, shown.shape[0] - 1)
        x0, y0, x1, y1 = view.page_box
        inside = (points >= (x0, y0)).all(axis=1) & (points <= (x1, y1)).all(axis=1)
        return np.asarray(shown[rows.astype(np.intp), columns.astype(np.intp)]) & inside

    return on_part


def _edge_line(panel: Panel, view: View) -> Floats:
    """Return where the reference edge is drawn: right outside of the map, half its thickness away."""
    x0, y0, x1, y1 = panel.box_mm
    x = x0 if panel.edge is Edge.LEFT else x1
    out = (_EDGE_MM / 2 / view.scale) * (-1.0 if panel.edge is Edge.LEFT else 1.0)
    return view.apply(np.array([[x + out, y0], [x + out, y1]]))


def _edge_box(panel: Panel, view: View) -> PageBox:
    (x0, x1), (y0, y1) = np.sort(_edge_line(panel, view), axis=0).T.tolist()
    half = _EDGE_MM / 2
    return x0 - half, y0 - half, x1 + half, y1 + half


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


def _around(at: Floats, half_mm: float) -> PageBox:
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
