"""Faces over one another in one frame: their edges and holes, where they coincide, and which way one is off."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor, log10, radians

import numpy as np
from numpy.typing import NDArray

from flipreg.drawing.arrows import arrow_box, draw_arrow
from flipreg.drawing.badges import RING_MM, draw_ring
from flipreg.drawing.face_edges import FaceEdges
from flipreg.drawing.labels import Labels
from flipreg.drawing.page import Align, Area, Dash, Label, Page, Stroke, Strokes
from flipreg.drawing.section_panel import BACK_INK, FRONT_INK, draw_hole
from flipreg.drawing.view import PageBox, View

__all__ = ["SHARED_INK", "FacesPanel", "draw_zero"]

Floats = NDArray[np.float64]
Point = tuple[float, float]

SHARED_INK = "#c4c4c4"
SHARED_MM = 2.0
"""Width on paper of the band under what coincides."""
_AROUND_MM = 10.0
"""Room round the faces, on paper, for what arrows and labels need."""
_FAR = 1.0
"""What lies farther off than this many times the size of the part is told in words instead (chosen)."""
_EVERY_MM = 0.5
"""Distance on paper of the points at which edges are held against each other."""
_LONGEST_ARROW_MM, _LEAST_SHOWN_MM = 14.0, 0.002
_ARROWS = 14
_LEAST_HOLE_MM = 0.9
_KEPT_CLEAR_MM = 3.0
"""Distance on paper of the places of edges that labels stay off (chosen): letters are about as high."""
_ZERO_MM, _AXIS_MM = 2.0, 9.0


@dataclass(slots=True)
class FacesPanel:
    """A part of a page on which faces are drawn in one frame.

    Attributes
    ----------
    page : Page
        The page.
    room : PageBox
        What the panel may cover of it.
    view : View
        From the frame to the page.
    taken : list of PageBox
        What labels must not cover.
    """

    page: Page
    room: PageBox
    view: View
    taken: list[PageBox]

    @classmethod
    def of(cls, page: Page, room: PageBox, faces: Sequence[FaceEdges], also_mm: Sequence[Point]) -> "FacesPanel":
        """Return a panel with all of the faces, and of other places those that are not too far off."""
        points = np.concatenate([np.zeros((0, 2)), *(at for face in faces for at in (*face.lines, face.holes_mm))])
        if not len(points):
            points = np.array([[-10.0, -10.0], [10.0, 10.0]])
        low, high = points.min(axis=0), points.max(axis=0)
        reach = _FAR * float(max(*(high - low), 10.0))
        near = [np.array(at) for at in also_mm if (low - reach <= at).all() and (at <= high + reach).all()]
        low, high = np.min([low, *near], axis=0), np.max([high, *near], axis=0)
        wide, tall = room[2] - room[0] - 2 * _AROUND_MM, room[3] - room[1] - 2 * _AROUND_MM
        size = np.maximum(high - low, 1.0)
        upright = min(wide / size[0], tall / size[1])
        lying = min(wide / size[1], tall / size[0])
        scale, is_upright = (upright, True) if upright >= 0.8 * lying else (lying, False)
        box = (float(low[0]), float(low[1]), float(low[0] + size[0]), float(low[1] + size[1]))
        view = View(box, scale, (0.0, 0.0), is_upright)
        x = (room[0] + room[2] - view.size[0]) / 2
        y = (room[1] + room[3] - view.size[1]) / 2
        return cls(page, room, View(box, scale, (x, y), is_upright), [])

    def shows(self, at_mm: Point) -> bool:
        """Return whether a place is within what is shown."""
        x, y = self.view.point(at_mm)
        return self.room[0] <= x <= self.room[2] and self.room[1] <= y <= self.room[3]

    def draw_face(self, face: FaceEdges, *, is_front: bool) -> None:
        """Draw edges and holes: of the front solid with upright crosses, of the back broken with slanting ones."""
        lines = tuple(self.view.apply(line) for line in face.lines)
        if is_front:
            self.page.add(Strokes(lines, 0.3, Dash.SOLID, FRONT_INK, self.room))
        else:
            self.page.add(Strokes(lines, 0.35, Dash.DASHED, BACK_INK, self.room))
        for line in lines:
            length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
            along = np.arange(0.0, length[-1], _KEPT_CLEAR_MM)
            at = np.stack([np.interp(along, length, line[:, axis]) for axis in (0, 1)], axis=1)
            self.taken += [(x, y, x, y) for x, y in at.tolist()]
        sizes = np.nan_to_num(face.diameters_mm) * self.view.scale / 2
        for (x, y), size in zip(self.view.apply(face.holes_mm).tolist(), sizes.tolist(), strict=True):
            radius = max(size, _LEAST_HOLE_MM)
            draw_hole(self.page, (x, y), radius, is_front=is_front)
            self.taken.append((x - radius - 1.0, y - radius - 1.0, x + radius + 1.0, y + radius + 1.0))

    def draw_shared(self, front: FaceEdges, back: FaceEdges, *, within_mm: float) -> bool:
        """Lay a grey band under edges and holes of both faces that coincide; return whether any do."""
        runs: list[Floats] = []
        if front.lines and back.lines:
            import shapely

            other = shapely.multilinestrings([shapely.LineString(line) for line in back.lines])
            shapely.prepare(other)
            for line in front.lines:
                dense = shapely.get_coordinates(
                    shapely.segmentize(shapely.linestrings(line), max(_EVERY_MM / self.view.scale, 1e-3))
                )
                near = np.asarray(shapely.dwithin(shapely.points(dense), other, within_mm))
                runs += [dense[run] for run in _runs(near) if len(run) > 1]
        self.page.add(Strokes(tuple(self.view.apply(run) for run in runs), SHARED_MM, ink=SHARED_INK, within=self.room))
        pairs = np.zeros(0, np.intp)
        if len(front.holes_mm) and len(back.holes_mm):
            apart = np.linalg.norm(front.holes_mm[:, np.newaxis] - back.holes_mm, axis=2)
            pairs = np.flatnonzero(apart.min(axis=1) <= within_mm)
        for row in pairs.tolist():
            radius = max(float(np.nan_to_num(front.diameters_mm[row])) * self.view.scale / 2, _LEAST_HOLE_MM)
            self.page.add(Area(_circle(self.view.point(tuple(front.holes_mm[row])), radius + SHARED_MM / 2), 0.77))
        return bool(runs) or len(pairs) > 0

    def draw_line(self, ends_mm: tuple[Point, Point]) -> None:
        """Draw a centre line between two places, over the whole panel."""
        (x0, y0), (x1, y1) = (self.view.point(end) for end in ends_mm)
        self.page.add(Stroke(((x0, y0), (x1, y1)), 0.25, Dash.CHAIN))

    def draw_misfit(self, front: FaceEdges, moved_mm: Point, turn_deg: float) -> float:
        """Draw arrows from where the front has a place to where the back has it; return how many times too long.

        Parameters
        ----------
        front : FaceEdges
            Arrows start on it.
        moved_mm : (float, float)
            Shift of the back.
        turn_deg : float
            Its turn before that, about the zero of the frame.

        Returns
        -------
        float
            0 where there is nothing to draw.
        """
        at = _spread(np.concatenate([np.zeros((0, 2)), front.holes_mm, *front.lines]), _ARROWS)
        turn = radians(turn_deg)
        rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        by = at @ rotation.T - at + np.array(moved_mm)
        longest = float(np.hypot(*by.T).max(initial=0.0))
        if longest <= _LEAST_SHOWN_MM:
            return 0.0
        most = _LONGEST_ARROW_MM / (longest * self.view.scale)
        power = 10.0 ** floor(log10(most))
        factor = max(max(step for step in (1.0, 2.0, 5.0) if step * power <= most * (1 + 1e-9)) * power, 1.0)
        starts, ends = self.view.apply(at).tolist(), self.view.apply(at + factor * by).tolist()
        for (x0, y0), (x1, y1) in zip(starts, ends, strict=True):
            draw_arrow(self.page, (x0, y0), (x1, y1))
            self.taken.append(arrow_box((x0, y0), (x1, y1)))
        return factor

    def draw_axes(self) -> None:
        """Draw the directions of +X and +Y of the frame into the lower left corner."""
        x0, y0, _, _ = self.room
        # X may run down the page.
        origin = (x0 + 4.0, y0 + 3.0) if self.view.is_upright else (x0 + 4.0, y0 + 3.0 + _AXIS_MM)
        ways = {"X": (1.0, 0.0), "Y": (0.0, 1.0)} if self.view.is_upright else {"X": (0.0, -1.0), "Y": (1.0, 0.0)}
        for name, (right, up) in ways.items():
            tip = (origin[0] + _AXIS_MM * right, origin[1] + _AXIS_MM * up)
            self.page.arrow(origin, tip)
            self.page.add(Label((tip[0] + 2.6 * right, tip[1] + 2.6 * up), name, 8.5, Align.MIDDLE))
        self.taken.append((x0, y0, x0 + _AXIS_MM + 10.0, y0 + _AXIS_MM + 8.0))

    def draw_ring(self, at_mm: Point) -> Point:
        """Draw the ring round the worst place; return its middle on the page."""
        x, y = self.view.point(at_mm)
        draw_ring(self.page, (x, y), RING_MM)
        self.taken.append((x - RING_MM, y - RING_MM, x + RING_MM, y + RING_MM))
        return x, y

    def write(self, named: Sequence[tuple[Point, str]]) -> None:
        """Write names beside places of the page, none over another and none over what was drawn to be seen."""
        crosses = [(x - 2.5, y - 2.5, x + 2.5, y + 2.5) for (x, y), _ in named]
        labels = Labels(self.page, self.room, self.room, [*self.taken, *crosses])
        for at, text in named:
            labels.beside_cross(at, text)


def draw_zero(page: Page, at: Point, ink: str) -> None:
    """Draw the mark of a program zero: a circle with two opposite quarters filled."""
    x, y = at
    page.add(Area(_circle(at, _ZERO_MM + 0.3), 1.0))
    for start in (0.0, np.pi):
        arc = np.linspace(start, start + np.pi / 2, 9)
        edge = [(x + _ZERO_MM * float(np.cos(turn)), y + _ZERO_MM * float(np.sin(turn))) for turn in arc]
        page.add(Area(((x, y), *edge), 0.0, ink))
    ring = _circle(at, _ZERO_MM)
    page.add(Stroke((*ring, ring[0]), 0.3, ink=ink))


def _circle(at: Point, radius: float) -> tuple[Point, ...]:
    turns = np.linspace(0.0, 2 * np.pi, 33)[:-1]
    return tuple((at[0] + radius * float(np.cos(turn)), at[1] + radius * float(np.sin(turn))) for turn in turns)


def _runs(is_in: NDArray[np.bool_]) -> list[NDArray[np.intp]]:
    rows = np.flatnonzero(is_in)
    return np.split(rows, np.flatnonzero(np.diff(rows) > 1) + 1) if len(rows) else []


def _spread(points: Floats, most: int) -> Floats:
    """Return points far from one another, the first one first."""
    if not len(points):
        return points
    rows = [0]
    away = np.hypot(*(points - points[0]).T)
    while len(rows) < most and float(away.max()) > 0.0:
        rows.append(int(away.argmax()))
        away = np.minimum(away, np.hypot(*(points - points[rows[-1]]).T))
    return points[rows]
