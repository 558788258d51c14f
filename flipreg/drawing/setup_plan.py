"""A setup as it lies on the table, seen from above and from where you stand: X to the right, Y away from you."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.align.marking_sheet import TableSide
from flipreg.drawing.face_edges import FaceEdges
from flipreg.drawing.faces_panel import draw_zero
from flipreg.drawing.page import Align, Area, Dash, Label, Page, Stroke, Strokes, shortened, spread, text_width_mm
from flipreg.drawing.view import ratio_text
from flipreg.job.blank import Edge
from flipreg.report.bench_sheet import BenchSetup

__all__ = ["PLAN_BESIDE_MM", "Plan"]

Floats = NDArray[np.float64]
Point = tuple[float, float]

PLAN_BESIDE_MM = 82.0
"""Width of a plan that stands beside the text."""
_LONGEST_MM = 95.0
"""Height of a plan above the text, at most."""
_NAMES_MM = 32.0
_AROUND_MM = 8.0
_SIZE_PT = 8.5
_ROW_MM = 4.2
_CUT_INK, _CLAMP_INK = "#2f2f2f", "#8a4b00"


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """The plan of a setup.

    Attributes
    ----------
    setup : BenchSetup
        The setup.
    edges : FaceEdges
        What it cuts, in the frame of its section.
    edge : Edge
        The reference edge, as seen on the front.
    """

    setup: BenchSetup
    edges: FaceEdges
    edge: Edge

    @property
    def stands(self) -> bool:
        """Whether it is higher than wide, and so goes beside the text."""
        width, height = np.ptp(self._points(), axis=0).tolist()
        return bool(height > 1.2 * width)

    def draw(self, page: Page, left: float, right: float, top: float, bottom: float) -> float:
        """Draw it as large as the room allows, from the top down; return the height below it."""
        low, high = self._points().min(axis=0), self._points().max(axis=0)
        width, height = (high - low).tolist()
        beside = self._names_mm() if self.stands else _AROUND_MM
        above = _AROUND_MM if self.stands else 14.0
        room_y = top - bottom if self.stands else min(top - bottom, _LONGEST_MM)
        scale = min((right - left - _AROUND_MM - beside) / width, (room_y - _AROUND_MM - above - 5.0) / height)
        origin = np.array([left + _AROUND_MM, top - above - height * scale])
        view = _View(page, scale, origin - low * scale)
        self._blank(view)
        edges = tuple(view.apply(self._in_program(line)) for line in self.edges.all_lines)
        page.add(Strokes(edges, 0.25, ink=_CUT_INK))
        for clamp, _ in self.setup.clamps:
            corners = view.points(clamp.corners_mm)
            page.add(Area(corners, 0.75), Stroke((*corners, corners[0]), 0.5, Dash.DASHED, _CLAMP_INK))
        self._names(view, (left, right), (origin[1], origin[1] + height * scale), float(origin[0] + width * scale))
        foot = float(origin[1]) - _AROUND_MM - 2.0
        page.arrow((left, foot), (left + 7, foot))
        page.arrow((left, foot), (left, foot + 7))
        page.add(Label((left + 8, foot), "X", _SIZE_PT, bold=True))
        page.add(Label((left, foot + 9), "Y", _SIZE_PT, Align.MIDDLE, bold=True))
        page.add(Label((left + 13, foot), f"you stand here; {ratio_text(scale)}", _SIZE_PT))
        return foot - 6.0

    def _names_mm(self) -> float:
        """Return the room that names beside a plan need, up to a limit."""
        marks, clamps = (jog.mark for jog in self.setup.sheet.jogs), (clamp.name for clamp, _ in self.setup.clamps)
        names = ["program zero", *marks, *clamps]
        return min(_NAMES_MM, max(text_width_mm(name, _SIZE_PT, bold=True) for name in names) + 6.0)

    def _points(self) -> Floats:
        """Return all that has to be in it, in the program's numbers."""
        found = [point for outline in self.setup.sheet.outlines_mm for point in outline]
        for clamp, _ in self.setup.clamps:
            found += [(clamp.x_mm[0], clamp.y_mm[0]), (clamp.x_mm[1], clamp.y_mm[1])]
        return np.array([*found, (0.0, 0.0)], dtype=np.float64)

    def _in_program(self, points_mm: Floats) -> Floats:
        """Return points of the section in the program's numbers: the inverse of a turn or mirror is its transpose."""
        seen = self.setup.face.seen_from_above
        return np.asarray((points_mm - seen.offset_mm[:2]) @ seen.matrix, dtype=np.float64)

    def _blank(self, view: "_View") -> None:
        ends = (0, 3) if self.edge is Edge.LEFT else (1, 2)
        for number, outline in enumerate(self.setup.sheet.outlines_mm):
            corners = view.points(outline)
            view.page.add(Area(corners, 0.96 if number == 0 else 0.88), Stroke((*corners, corners[0]), 0.35))
            view.page.add(Stroke((corners[ends[0]], corners[ends[1]]), 1.3))
        corners = view.points([point for outline in self.setup.sheet.outlines_mm for point in outline])
        x0, x1 = min(x for x, _ in corners), max(x for x, _ in corners)
        y0, y1 = min(y for _, y in corners), max(y for _, y in corners)
        side = self.setup.sheet.near_end_lies
        at = {
            TableSide.LEFT: (x0 - 3.0, (y0 + y1) / 2),
            TableSide.RIGHT: (x1 + 3.0, (y0 + y1) / 2),
            TableSide.NEAR: ((x0 + x1) / 2, y0 - 3.0),
            TableSide.FAR: ((x0 + x1) / 2, y1 + 3.0),
        }[side]
        view.page.add(
            Label(at, "near end", _SIZE_PT, Align.MIDDLE, upright=side in (TableSide.LEFT, TableSide.RIGHT))
        )

    def _names(self, view: "_View", across: Point, along: Point, end: float) -> None:
        """Mark the marks, the zero and the clamps, and write their names beside the plan, with lines to them."""
        jogs = self.setup.sheet.jogs
        marks = [(view.point((0.0 - jog.by_mm[0], 0.0 - jog.by_mm[1])), jog.mark, jog.is_reference) for jog in jogs]
        zero = view.point((0.0, 0.0))
        draw_zero(view.page, zero, "black")
        # On top: a mark that is near to zero is seen all the same.
        for (x, y), _, _ in marks:
            view.page.add(Stroke(((x - 2.2, y), (x + 2.2, y)), 1.0, ink="white"))
            view.page.add(Stroke(((x, y - 2.2), (x, y + 2.2)), 1.0, ink="white"))
            view.page.add(Stroke(((x - 2, y), (x + 2, y)), 0.5), Stroke(((x, y - 2), (x, y + 2)), 0.5))
        clamps = [
            (view.point(((clamp.x_mm[0] + clamp.x_mm[1]) / 2, (clamp.y_mm[0] + clamp.y_mm[1]) / 2)), clamp.name, False)
            for clamp, _ in self.setup.clamps
        ]
        named = [(zero, "program zero", True), *marks, *clamps]
        if self.stands:
            most = int((along[1] - along[0]) / _ROW_MM)
            self._beside(view.page, sorted(named[:most], key=lambda one: one[0][1]), along, end + 5.0, across[1])
        else:
            self._above(view.page, named, across, along[1] + 9.0)

    @staticmethod
    def _beside(page: Page, named: Sequence[tuple[Point, str, bool]], along: Point, x: float, end: float) -> None:
        places = spread([at[1] for at, _, _ in named], [_ROW_MM] * len(named), along[0] - 4.0, along[1] + 6.0)
        for (at, name, bold), place in zip(named, places, strict=True):
            page.add(Stroke((at, (x - 0.8, place)), 0.13))
            page.add(Label((x, place), shortened(name, end - x, _SIZE_PT, bold=bold), _SIZE_PT, bold=bold))

    @staticmethod
    def _above(page: Page, named: Sequence[tuple[Point, str, bool]], across: Point, y: float) -> None:
        shown: list[tuple[Point, str, bool]] = []
        sizes: list[float] = []
        for at, name, bold in named:
            short = shortened(name, 30.0, _SIZE_PT, bold=bold)
            size = text_width_mm(short, _SIZE_PT, bold=bold) + 3.0
            if sum(sizes) + size <= across[1] - across[0]:
                shown.append((at, short, bold))
                sizes.append(size)
        order = sorted(range(len(shown)), key=lambda place: shown[place][0][0])
        places = spread([shown[one][0][0] for one in order], [sizes[one] for one in order], *across)
        for one, place in zip(order, places, strict=True):
            at, name, bold = shown[one]
            page.add(Stroke((at, (place, y - 2.0)), 0.13), Label((place, y), name, _SIZE_PT, Align.MIDDLE, bold=bold))


@dataclass(frozen=True, slots=True, eq=False)
class _View:
    """The program's numbers on a page."""

    page: Page
    scale: float
    shift: Floats

    def apply(self, points_mm: Floats) -> Floats:
        return np.asarray(points_mm * self.scale + self.shift, dtype=np.float64)

    def point(self, at_mm: Point) -> Point:
        x, y = self.apply(np.array(at_mm, dtype=np.float64)).tolist()
        return x, y

    def points(self, places_mm: Sequence[Point]) -> tuple[Point, ...]:
        return tuple(self.point(at) for at in places_mm)
