"""Both faces at their true size on A4 pages that overlap, to be printed at 100 %, joined and laid on the blank."""

from math import ceil

from flipreg.align.marking_sheet import FaceSheet, MarkingSheet
from flipreg.drawing.labels import Labels
from flipreg.drawing.page import Dash, Label, Page, Stroke, shortened
from flipreg.drawing.paper import draw_bar
from flipreg.drawing.view import PageBox
from flipreg.errors import UsageError
from flipreg.job.blank import Edge
from flipreg.report.marks import bare_length

__all__ = ["tile_pages"]

Point = tuple[float, float]

_A4_MM = (297.0, 210.0)
_MARGIN_MM = 10.0
_FOOT_MM = 9.0
"""Room below the drawing, for the page's name and the measure to check the printer by."""
_OVERLAP_MM = 10.0
_NAME_PT = 10.0
_NAME_MM = 40.0
_CROSS_MM = 4.0
"""Half of the cross that is drawn at a mark."""
_MOST_PAGES = 400
"""A board of ten metres by half a metre takes about 300 (chosen)."""
_FREE_MM = 4.0
"""How far the outline stays off the first page's border, so that it is seen whole."""


def tile_pages(sheet: MarkingSheet) -> list[Page]:
    """Lay out the pages, row by row from the upper left, the front before the back.

    Raises
    ------
    UsageError
        If there would be more pages than anybody joins.
    """
    _, columns, rows = _fewest(sheet)
    pages = len(sheet.faces) * columns * rows
    if pages > _MOST_PAGES:
        sizes = " × ".join(f"{bare_length(size, inch=sheet.inch)}" for size in sheet.size_mm[:2])
        unit = "inch" if sheet.inch else "mm"
        raise UsageError(
            f"a blank of {sizes} {unit} takes {pages} pages at true scale, and {_MOST_PAGES} are the most; draw it "
            "without --true-scale"
        )
    return [page for face in sheet.faces for page in _face_tiles(sheet, face)]


def _face_tiles(sheet: MarkingSheet, face: FaceSheet) -> list[Page]:
    paper, columns, rows = _fewest(sheet)
    window, strokes = _window(paper), _figure(sheet, face)
    pages = []
    for row in range(rows):
        for column in range(columns):
            left = column * (window[0] - _OVERLAP_MM) - _FREE_MM
            top = sheet.size_mm[1] + _FREE_MM - row * (window[1] - _OVERLAP_MM)
            box = (left, top - window[1], left + window[0], top)
            page = _tile(paper, box, strokes)
            joins = _join_marks(page, window, (column > 0, column < columns - 1), (row > 0, row < rows - 1))
            _names(page, box, sheet, face, joins)
            name = f"{face.face.value.upper()}  row {row + 1} of {rows}, page {column + 1} of {columns}"
            _foot(page, sheet, name, window)
            pages.append(page)
    return pages


def _fewest(sheet: MarkingSheet) -> tuple[Point, int, int]:
    """Return the paper, lying or standing, that takes fewer pages, and how many columns and rows of it."""
    choices = []
    for paper in (_A4_MM, (_A4_MM[1], _A4_MM[0])):
        columns, rows = (
            max(1, ceil((size + 2 * _FREE_MM - _OVERLAP_MM) / (part - _OVERLAP_MM)))
            for size, part in zip(sheet.size_mm[:2], _window(paper), strict=True)
        )
        choices.append((paper, columns, rows))
    return min(choices, key=lambda choice: choice[1] * choice[2])


def _window(paper: Point) -> Point:
    """Return the part of a page that shows the blank."""
    return paper[0] - 2 * _MARGIN_MM, paper[1] - 2 * _MARGIN_MM - _FOOT_MM


def _figure(sheet: MarkingSheet, face: FaceSheet) -> list[Stroke]:
    """Return the face at true size, the near end at x = 0 and its lower edge at y = 0."""
    long, wide, _ = sheet.size_mm
    centre, edge = (_height(size, sheet, face) for size in (sheet.centre_line_mm, 0.0))
    strokes = [
        Stroke(((0.0, 0.0), (long, 0.0), (long, wide), (0.0, wide), (0.0, 0.0)), 0.25),
        Stroke(((0.0, edge), (long, edge)), 1.0),
        Stroke(((0.0, centre), (long, centre)), 0.2, Dash.CHAIN),
        *(Stroke(((corner, 0.0), (corner, wide)), 0.2, Dash.DOTTED) for corner in face.corners_mm),
    ]
    for mark in face.marks:
        x, at = mark.along_mm, _height(mark.from_edge_mm, sheet, face)
        strokes.append(Stroke(((x, 0.0), (x, wide)), 0.2))
        strokes.append(Stroke(((x - _CROSS_MM, at), (x + _CROSS_MM, at)), 0.3))
        strokes.append(Stroke(((x, at - _CROSS_MM), (x, at + _CROSS_MM)), 0.3))
    return strokes


def _height(from_edge_mm: float, sheet: MarkingSheet, face: FaceSheet) -> float:
    return sheet.size_mm[1] - from_edge_mm if face.edge_is is Edge.LEFT else from_edge_mm


def _tile(paper: Point, box: PageBox, strokes: list[Stroke]) -> Page:
    """Return the page that shows a part of the figure."""
    page = Page(*paper)
    move = _from_figure(box)
    for stroke in strokes:
        for start, end in zip(stroke.points, stroke.points[1:], strict=False):
            inside = _clipped(start, end, box)
            if inside is not None:
                points = tuple((x + move[0], y + move[1]) for x, y in inside)
                page.add(Stroke(points, stroke.width_mm, stroke.dash))
    return page


def _from_figure(box: PageBox) -> Point:
    return _MARGIN_MM - box[0], _MARGIN_MM + _FOOT_MM - box[1]


def _names(page: Page, box: PageBox, sheet: MarkingSheet, face: FaceSheet, joins: list[Point]) -> None:
    """Write on a page what its crosses, lines, bends and its thick edge are."""
    (dx, dy), (long, wide, _) = _from_figure(box), sheet.size_mm
    room = (_MARGIN_MM, _MARGIN_MM + _FOOT_MM, page.width_mm - _MARGIN_MM, page.height_mm - _MARGIN_MM)
    shown = [mark for mark in face.marks if box[0] <= mark.along_mm <= box[2]]
    crosses = [(mark, (mark.along_mm + dx, _height(mark.from_edge_mm, sheet, face) + dy)) for mark in shown]
    named = [(mark, at) for mark, at in crosses if room[1] <= at[1] <= room[3]]
    places = [*(at for _, at in named), *joins]
    taken = [(x - _CROSS_MM, y - _CROSS_MM, x + _CROSS_MM, y + _CROSS_MM) for x, y in places]
    labels = Labels(page, room, (dx, dy, dx + long, dy + wide), taken)
    for mark, at in named:
        name = shortened(mark.name, _NAME_MM, _NAME_PT)
        labels.beside_cross(at, f"{name}  {bare_length(mark.along_mm, inch=sheet.inch)}")
    low, high = max(dy, room[1]), min(wide + dy, room[3])
    # A line whose cross is on another page: its distance alone, because marks of several crosses may share it.
    for along_mm in dict.fromkeys(mark.along_mm for mark in shown):
        if all(mark.along_mm != along_mm for mark, _ in named):
            labels.beside_line(along_mm + dx, (low, high), bare_length(along_mm, inch=sheet.inch))
    for corner_mm in face.corners_mm:
        if box[0] <= corner_mm <= box[2]:
            says = f"bend: planes meet {bare_length(corner_mm, inch=sheet.inch)}"
            labels.beside_line(corner_mm + dx, (low, high), says)
    edge = _height(0.0, sheet, face) + dy
    if room[1] < edge < room[3]:
        labels.beside_edge(edge, -1.0 if face.edge_is is Edge.LEFT else 1.0, (max(room[0], dx), room[2]))


def _clipped(start: Point, end: Point, box: PageBox) -> tuple[Point, Point] | None:
    """Return the part of a line along X or Y that lies in a box."""
    x0, x1 = sorted((start[0], end[0]))
    y0, y1 = sorted((start[1], end[1]))
    low = (max(x0, box[0]), max(y0, box[1]))
    high = (min(x1, box[2]), min(y1, box[3]))
    return (low, high) if low[0] <= high[0] and low[1] <= high[1] else None


def _join_marks(page: Page, window: Point, beside: tuple[bool, bool], above: tuple[bool, bool]) -> list[Point]:
    """Draw crosses in the overlaps, where the neighbour's page has them too, to join them by; return where."""
    x0, y0 = _MARGIN_MM, _MARGIN_MM + _FOOT_MM
    x1, y1 = x0 + window[0], y0 + window[1]
    half = _OVERLAP_MM / 2
    columns = [x for x, there in ((x0 + half, beside[0]), (x1 - half, beside[1])) if there]
    rows = [y for y, there in ((y1 - half, above[0]), (y0 + half, above[1])) if there]
    places = [(x, y) for x in columns for y in (y0 + 30, y1 - 30)]
    places += [(x, y) for y in rows for x in (x0 + 40, x1 - 40)]
    for x, y in places:
        page.add(Stroke(((x - 4, y), (x + 4, y)), 0.18), Stroke(((x, y - 4), (x, y + 4)), 0.18))
        page.add(Stroke(((x - 2, y - 2), (x + 2, y - 2), (x + 2, y + 2), (x - 2, y + 2), (x - 2, y - 2)), 0.18))
    for x, there in ((x0 + _OVERLAP_MM, beside[0]), (x1 - _OVERLAP_MM, beside[1])):
        if there:
            page.add(Stroke(((x, y0), (x, y1)), 0.13, Dash.DASHED))
    for y, there in ((y1 - _OVERLAP_MM, above[0]), (y0 + _OVERLAP_MM, above[1])):
        if there:
            page.add(Stroke(((x0, y), (x1, y)), 0.13, Dash.DASHED))
    page.rectangle((x0, y0), (x1, y1), width_mm=0.13)
    return places


def _foot(page: Page, sheet: MarkingSheet, name: str, window: Point) -> None:
    y = _MARGIN_MM + 4.5
    page.add(Label((_MARGIN_MM, y), name, 10.0, bold=True), Label((_MARGIN_MM, y - 5), sheet.job, 9.0))
    draw_bar(page, _MARGIN_MM + window[0], y - 1, inch=sheet.inch)
