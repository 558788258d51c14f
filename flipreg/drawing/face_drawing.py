"""One face of the blank as a dimensioned drawing: the near end to the left, the face towards you."""

from dataclasses import dataclass
from typing import overload

import numpy as np
from numpy.typing import NDArray

from flipreg.align.marking_sheet import DrawnMark, FaceSheet, MarkingSheet
from flipreg.drawing.faces_panel import draw_zero
from flipreg.drawing.page import (
    Align,
    Dash,
    Label,
    Page,
    Stroke,
    Strokes,
    shortened,
    spread,
    text_width_mm,
)
from flipreg.job.blank import Edge
from flipreg.report.marks import bare_length

__all__ = ["Drawn", "draw_face", "is_crowded"]

_LEFT_MM, _RIGHT_MM = 30.0, 34.0
"""Room beside the blank: for dimensions across, and for what its edge and line are called."""
_HEAD_MM, _LABELS_MM, _BELOW_MM = 8.0, 20.0, 14.0
_FOOT_MM = 16.0
"""From the blank to the far end of upright labels; labels stand upright where too many would lie side by side."""
_NAME_MM = 30.0
"""A longer name is cut short here; the sheet as text has it whole."""
_GAP_MM = 3.0
_SIZE_PT = 9.5
_ROW_MM = 4.4
_CUT_INK, _CLAMP_INK = "#6a6a6a", "#8a4b00"


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """What is drawn of a face beside its marks: distances from the near end and from the reference edge.

    Attributes
    ----------
    edges_mm : tuple of float64 arrays, shape (n, 2)
        Lines round what is cut.
    clamps_mm : tuple of float64 arrays, shape (5, 2)
        Closed outlines of clamps.
    zeros_mm : tuple of (float, float)
        Program zeros.
    """

    edges_mm: tuple[NDArray[np.float64], ...] = ()
    clamps_mm: tuple[NDArray[np.float64], ...] = ()
    zeros_mm: tuple[tuple[float, float], ...] = ()


def draw_face(
    page: Page,
    sheet: MarkingSheet,
    face: FaceSheet,
    low: tuple[float, float],
    high: tuple[float, float],
    drawn: Drawn,
) -> None:
    """Draw a face into a part of a page, given by its lower left and upper right corner."""
    (x0, y0), (x1, y1) = low, high
    side = "top" if face.edge_is is Edge.LEFT else "bottom"
    title = f"{face.face.value.upper()}: near end to the left, reference edge (thick) at the {side}"
    page.add(Label((x0, y1 - 3), title, 11.0, bold=True))
    texts = [_texts(mark, sheet) for mark in face.marks]
    sizes = _sizes(texts)
    upright = is_crowded(sheet, face, x1 - x0)
    labels_mm = max(sizes) + _FOOT_MM if upright else _LABELS_MM
    room = (x1 - x0 - _LEFT_MM - _RIGHT_MM, y1 - y0 - _HEAD_MM - labels_mm - _BELOW_MM)
    scale = min(room[0] / sheet.size_mm[0], room[1] / sheet.size_mm[1])
    view = _View(page, sheet, face, scale, (x0 + _LEFT_MM, y1 - _HEAD_MM - labels_mm))
    view.drawn(drawn)
    view.blank()
    view.across()
    view.along()
    if upright:
        sizes = [_ROW_MM * len(t) + 1.5 for t in texts]
    view.zeros(drawn)
    view.marks(texts, spread([view.x(mark.along_mm) for mark in face.marks], sizes, x0, x1), upright=upright)


def is_crowded(sheet: MarkingSheet, face: FaceSheet, width_mm: float) -> bool:
    """Whether the names of a face's marks do not fit a width side by side, and have to stand upright."""
    return sum(_sizes([_texts(mark, sheet) for mark in face.marks])) > width_mm


def _sizes(texts: list[list[str]]) -> list[float]:
    """Return the room that each label takes along the blank when it is written along it."""
    return [max(text_width_mm(text, _SIZE_PT, bold=not row) for row, text in enumerate(t)) + _GAP_MM for t in texts]


def _texts(mark: DrawnMark, sheet: MarkingSheet) -> list[str]:
    texts = [shortened(mark.name, _NAME_MM, _SIZE_PT, bold=True), bare_length(mark.along_mm, inch=sheet.inch)]
    if not mark.on_centre_line:
        texts.append(f"from edge {bare_length(mark.from_edge_mm, inch=sheet.inch)}")
    return texts


class _View:
    """A face at a scale, its upper left corner at a place of the page."""

    def __init__(
        self, page: Page, sheet: MarkingSheet, face: FaceSheet, scale: float, corner: tuple[float, float]
    ) -> None:
        self._page, self._sheet, self._face, self._scale = page, sheet, face, scale
        self._left, self._top = corner
        self._right = self._left + sheet.size_mm[0] * scale
        self._bottom = self._top - sheet.size_mm[1] * scale

    @overload
    def x(self, along_mm: float) -> float: ...
    @overload
    def x(self, along_mm: NDArray[np.float64]) -> NDArray[np.float64]: ...
    def x(self, along_mm: float | NDArray[np.float64]) -> float | NDArray[np.float64]:
        """Return where a distance from the near end is on the page."""
        return self._left + along_mm * self._scale

    @overload
    def y(self, from_edge_mm: float) -> float: ...
    @overload
    def y(self, from_edge_mm: NDArray[np.float64]) -> NDArray[np.float64]: ...
    def y(self, from_edge_mm: float | NDArray[np.float64]) -> float | NDArray[np.float64]:
        """Return where a distance from the reference edge is on the page."""
        if self._face.edge_is is Edge.LEFT:
            return self._top - from_edge_mm * self._scale
        return self._bottom + from_edge_mm * self._scale

    def drawn(self, drawn: Drawn) -> None:
        """Draw what is cut, as far as it is on the blank, and the clamps, which may stand out of it a little."""
        within = (self._left, self._bottom, self._right, self._top)
        edges = tuple(self._placed(line) for line in drawn.edges_mm)
        clamps = tuple(self._placed(line) for line in drawn.clamps_mm)
        beside = (self._left - 6, self._bottom - 3, self._right + 4, self._top + 3)
        self._page.add(Strokes(edges, 0.18, ink=_CUT_INK, within=within))
        self._page.add(Strokes(clamps, 0.5, Dash.DASHED, _CLAMP_INK, within=beside))

    def zeros(self, drawn: Drawn) -> None:
        """Draw the program zeros that are on the blank."""
        for along, from_edge in drawn.zeros_mm:
            at = (self.x(along), self.y(from_edge))
            if self._left <= at[0] <= self._right and self._bottom <= at[1] <= self._top:
                draw_zero(self._page, at, "black")

    def _placed(self, line: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.column_stack([self.x(line[:, 0]), self.y(line[:, 1])])

    def blank(self) -> None:
        """Draw the outline, the reference edge and the centre line, and say what they are."""
        page, edge, centre = self._page, self.y(0.0), self.y(self._sheet.centre_line_mm)
        page.rectangle((self._left, self._bottom), (self._right, self._top), width_mm=0.35)
        page.add(Stroke(((self._left, edge), (self._right, edge)), 1.2))
        page.add(Stroke(((self._left - 3, centre), (self._right + 3, centre)), 0.25, Dash.CHAIN))
        named = sorted([(edge, "reference edge"), (centre, "centre line")])
        places = spread([place for place, _ in named], [_ROW_MM] * 2, self._bottom - 20, self._top + 20)
        for (_, name), place in zip(named, places, strict=True):
            page.add(Label((self._right + 5, place), name, _SIZE_PT))

    def across(self) -> None:
        """Dimension the centre line and the width, to the left of the near end."""
        page, edge, inch = self._page, self.y(0.0), self._sheet.inch
        for column, size in ((9.0, self._sheet.centre_line_mm), (20.0, self._sheet.size_mm[1])):
            x, end = self._left - column, self.y(size)
            page.add(Stroke(((x - 1.5, end), (self._left - 0.5, end)), 0.13))
            page.add(Stroke(((x - 1.5, edge), (self._left - 0.5, edge)), 0.13))
            page.arrow((x, edge), (x, end), both=True)
            text = bare_length(size, inch=inch)
            # Where the text is longer than what it measures, it stands beside the middle all the same.
            page.add(Label((x - 3, (edge + end) / 2), text, _SIZE_PT, Align.MIDDLE, upright=True))

    def along(self) -> None:
        """Dimension the length and the corners of the face, below it."""
        page, inch = self._page, self._sheet.inch
        rows = [(corner, f"planes meet {bare_length(corner, inch=inch)}") for corner in self._face.corners_mm]
        rows.sort()
        sizes = [text_width_mm(text, _SIZE_PT) + _GAP_MM for _, text in rows]
        places = spread([self.x(corner) for corner, _ in rows], sizes, self._left, self._right + _RIGHT_MM)
        for (corner, text), place in zip(rows, places, strict=True):
            x = self.x(corner)
            page.add(Stroke(((x, self._top), (x, self._bottom - 1.5)), 0.25, Dash.DOTTED))
            page.add(Label((place, self._bottom - 4), text, _SIZE_PT, Align.MIDDLE))
        y = self._bottom - 10
        for x in (self._left, self._right):
            page.add(Stroke(((x, self._bottom - (6.5 if rows else 0.5)), (x, y - 1.5)), 0.13))
        text = bare_length(self._sheet.size_mm[0], inch=inch)
        half = text_width_mm(text, _SIZE_PT) / 2 + 1.5
        middle = (self._left + self._right) / 2
        if self._right - self._left > 2 * half + 10:
            page.arrow((middle - half, y), (self._left, y))
            page.arrow((middle + half, y), (self._right, y))
        page.add(Label((middle, y), text, _SIZE_PT, Align.MIDDLE))

    def marks(self, texts: list[list[str]], places: list[float], *, upright: bool) -> None:
        """Draw each mark's line, and its name and distance above it."""
        page, foot = self._page, self._top + (_FOOT_MM - 4 if upright else 5)
        for mark, lines, place in zip(self._face.marks, texts, places, strict=True):
            x, y = self.x(mark.along_mm), self.y(mark.from_edge_mm)
            page.add(Stroke(((x, self._bottom), (x, self._top), (x, self._top + 1.5), (place, foot)), 0.2))
            page.add(Stroke(((x - 1.8, y), (x + 1.8, y)), 0.5), Stroke(((x, y - 1.8), (x, y + 1.8)), 0.5))
            for row, text in enumerate(lines):
                if upright:
                    column = place + (row - (len(lines) - 1) / 2) * _ROW_MM
                    page.add(Label((column, foot + 1), text, _SIZE_PT, bold=not row, upright=True))
                else:
                    height = foot + 2.6 + (len(lines) - 1 - row) * _ROW_MM
                    page.add(Label((place, height), text, _SIZE_PT, Align.MIDDLE, bold=not row))
