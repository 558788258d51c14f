"""One setup as seen from above: how the blank lies, program zero, and the jog from each mark."""

from math import cos, hypot, pi, sin

from flipreg.align.marking_sheet import MarkingSheet, SetupSheet, TableSide
from flipreg.drawing.page import (
    POINT_MM,
    Align,
    Area,
    Dash,
    Label,
    Page,
    Stroke,
    shortened,
    spread,
    text_width_mm,
    wrapped,
)
from flipreg.job.blank import Edge
from flipreg.names import bare_name
from flipreg.report.marks import bare_length, signed

__all__ = ["SetupCell"]

_PICTURE_MM = (72.0, 44.0)
_WORDS_MM = 92.0
_GAP_MM = 8.0
_SIZE_PT = 9.5
_ROW_MM = _SIZE_PT * POINT_MM * 1.3
_HEAD_MM = 7.0


class SetupCell:
    """A setup that takes the width of a page and the height it needs."""

    def __init__(self, sheet: MarkingSheet, setup: SetupSheet, number: int) -> None:
        self._sheet, self._setup, self._number = sheet, setup, number
        self._words = self._text()

    @property
    def height_mm(self) -> float:
        """How much room it takes."""
        rows = max(len(self._words), len(self._setup.jogs) + 1)
        return _HEAD_MM + max((rows + 1) * _ROW_MM, _PICTURE_MM[1]) + 4

    def draw(self, page: Page, low_x: float, high_x: float, top: float) -> None:
        """Draw it below a height of the page."""
        page.add(Stroke(((low_x, top), (high_x, top)), 0.18))
        page.add(Label((low_x, top - 4), f"SETUP {self._number}: {self._setup.name}", 11.0, bold=True))
        below = top - _HEAD_MM - 2
        self._picture(page, (low_x, below))
        words_x = low_x + _PICTURE_MM[0] + _GAP_MM
        page.paragraph((words_x, below - 1), self._words, size_pt=_SIZE_PT)
        self._jogs(page, words_x + _WORDS_MM + _GAP_MM, high_x, below - 1)

    def _text(self) -> list[str]:
        setup = self._setup
        texts = [f"{step[0].upper()}{step[1:]}." for step in setup.steps]
        texts.append(f"Check: the reference edge (thick) is {setup.edge_lies.value}, the near end")
        texts[-1] += f" {setup.near_end_lies.value}."
        texts.append(f"Z zero: {setup.z_zero}.")
        for file, tool in setup.programs:
            texts.append(f"Run {bare_name(file)} with {tool}.")
        return [line for text in texts for line in wrapped(text, _WORDS_MM, size_pt=_SIZE_PT)]

    def _jogs(self, page: Page, left: float, right: float, top: float) -> None:
        inch = self._sheet.inch
        columns = (left, right - 24, right)
        page.add(Label((columns[0], top), "Jog from", _SIZE_PT, bold=True))
        page.add(Label((columns[1], top), "X", _SIZE_PT, Align.RIGHT, bold=True))
        page.add(Label((columns[2], top), "Y", _SIZE_PT, Align.RIGHT, bold=True))
        y = top
        for jog in self._setup.jogs:
            y -= _ROW_MM
            numbers = [signed(bare_length(part, inch=inch)) for part in jog.by_mm]
            room = columns[1] - columns[0] - max(text_width_mm(numbers[0], _SIZE_PT, bold=jog.is_reference) + 3, 18)
            name = shortened(jog.mark, room, _SIZE_PT, bold=jog.is_reference)
            page.add(Label((columns[0], y), name, _SIZE_PT, bold=jog.is_reference))
            for text, column in zip(numbers, columns[1:], strict=True):
                page.add(Label((column, y), text, _SIZE_PT, Align.RIGHT, bold=jog.is_reference))
        page.add(Label((left, y - _ROW_MM), "bold: the reference mark of this setup", 8.5))

    def _picture(self, page: Page, corner: tuple[float, float]) -> None:
        """Draw the blank from above, to scale, with program zero and the reference mark."""
        jog = next(jog for jog in self._setup.jogs if jog.is_reference)
        mark = (0.0 - jog.by_mm[0], 0.0 - jog.by_mm[1])
        view = _View([point for outline in self._setup.outlines_mm for point in outline], mark, corner)
        edge = (0, 3) if self._sheet.edge is Edge.LEFT else (1, 2)
        for number, outline in enumerate(self._setup.outlines_mm):
            corners = [view.on_page(point) for point in outline]
            page.add(Area(tuple(corners), 0.93 if number == 0 else 0.80), Stroke((*corners, corners[0]), 0.25))
            page.add(Stroke((corners[edge[0]], corners[edge[1]]), 1.0))
        self._near_end(page, [view.on_page(point) for outline in self._setup.outlines_mm for point in outline])
        start, end = view.on_page(mark), view.on_page((0.0, 0.0))
        if hypot(start[0] - end[0], start[1] - end[1]) > 4:
            page.arrow(start, end, dash=Dash.DASHED)
        page.add(_disc(start, 0.9))
        _zero(page, end)
        view.name(page, [(start, jog.mark), (end, "zero")])
        x, y = corner[0] + 2, corner[1] - _PICTURE_MM[1] + 6
        page.arrow((x, y), (x + 7, y))
        page.arrow((x, y), (x, y + 7))
        page.add(Label((x + 8, y), "X", 8.5, bold=True), Label((x, y + 9), "Y", 8.5, Align.MIDDLE, bold=True))

    def _near_end(self, page: Page, corners: list[tuple[float, float]]) -> None:
        low = (min(x for x, _ in corners), min(y for _, y in corners))
        high = (max(x for x, _ in corners), max(y for _, y in corners))
        middle = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
        side = self._setup.near_end_lies
        at = {
            TableSide.LEFT: (low[0] - 3.0, middle[1]),
            TableSide.RIGHT: (high[0] + 3.0, middle[1]),
            TableSide.NEAR: (middle[0], low[1] - 3.0),
            TableSide.FAR: (middle[0], high[1] + 3.0),
        }[side]
        upright = side in (TableSide.LEFT, TableSide.RIGHT)
        page.add(Label(at, "near end", 8.5, Align.MIDDLE, upright=upright))


class _View:
    """The program frame of a setup at a scale that shows the blank, the mark and zero, with room for their names."""

    def __init__(
        self, outline: list[tuple[float, float]], mark: tuple[float, float], corner: tuple[float, float]
    ) -> None:
        points = [*outline, mark, (0.0, 0.0)]
        low = (min(x for x, _ in points), min(y for _, y in points))
        high = (max(x for x, _ in points), max(y for _, y in points))
        width, height = high[0] - low[0], high[1] - low[1]
        self._stands = height >= width
        room = (22.0, _PICTURE_MM[1] - 10) if self._stands else (_PICTURE_MM[0] - 26, _PICTURE_MM[1] - 22)
        self._scale = min(room[0] / width, room[1] / height)
        self._low = low
        size = (width * self._scale, height * self._scale)
        left = corner[0] + 17 + (room[0] - size[0]) / 2
        # Names stand on the right of a blank that stands, and above one that lies.
        self._origin = (left, corner[1] - (5 if self._stands else 12) - (room[1] + size[1]) / 2)
        # Clear of the blank, and of what is written in the middle of its end.
        middle = left + ((min(x for x, _ in outline) + max(x for x, _ in outline)) / 2 - low[0]) * self._scale
        self._beyond = (max(left + size[0] + 4, middle + 9), self._origin[1] + size[1] + 5)
        self._end = corner[0] + _PICTURE_MM[0] + _GAP_MM - 2

    def on_page(self, point: tuple[float, float]) -> tuple[float, float]:
        """Return where a point of the program frame is on the page."""
        return (
            self._origin[0] + (point[0] - self._low[0]) * self._scale,
            self._origin[1] + (point[1] - self._low[1]) * self._scale,
        )

    def name(self, page: Page, named: list[tuple[tuple[float, float], str]]) -> None:
        """Write names beside the blank, each with a line to its place."""
        axis = 1 if self._stands else 0
        named = sorted(named, key=lambda one: one[0][axis])
        room = self._end - self._beyond[0] if self._stands else 26.0
        texts = [shortened(text, room, 8.5) for _, text in named]
        sizes = [4.2 if self._stands else text_width_mm(text, 8.5) + 3 for text in texts]
        low = -1e6 if self._stands else self._origin[0] - 14
        places = spread([at[axis] for at, _ in named], sizes, low, 1e6 if self._stands else self._beyond[0])
        for (at, _), text, place in zip(named, texts, places, strict=True):
            if self._stands:
                end = (self._beyond[0] - 0.8, place)
                page.add(Stroke((at, end), 0.13), Label((self._beyond[0], place), text, 8.5))
            else:
                page.add(Stroke((at, (place, self._beyond[1] - 2)), 0.13))
                page.add(Label((place, self._beyond[1]), text, 8.5, Align.MIDDLE))


def _zero(page: Page, at: tuple[float, float]) -> None:
    """Draw program zero: a ring with two of its quarters filled."""
    x, y = at
    ring = [(x + 1.5 * cos(turn * pi / 12), y + 1.5 * sin(turn * pi / 12)) for turn in range(25)]
    page.add(Area(tuple(ring), 1.0), Area((at, *ring[:7]), 0.0), Area((at, *ring[12:19]), 0.0))
    page.add(Stroke(tuple(ring), 0.25))


def _disc(centre: tuple[float, float], radius: float) -> Area:
    corners = ((1, 0), (0.7, 0.7), (0, 1), (-0.7, 0.7), (-1, 0), (-0.7, -0.7), (0, -1), (0.7, -0.7))
    return Area(tuple((centre[0] + dx * radius, centre[1] + dy * radius) for dx, dy in corners), 0.0)
