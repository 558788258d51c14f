"""Text that flows down pages of one paper and goes on over the next page, with boxes to tick."""

from collections.abc import Callable, Sequence

from flipreg.drawing.page import POINT_MM, Label, Page, Stroke, shortened, wrapped
from flipreg.drawing.paper import MARGIN_MM, Paper

__all__ = ["FOOT_MM", "TICK_MM", "Flow", "draw_tick"]

FOOT_MM = 12.0
"""Below what flows: the bar and the number of the page."""
TICK_MM = 3.4
"""Side of a box to tick; millimetres (chosen): a pencil's cross."""
_SIZE_PT = 9.5
_LINE = 1.3


class Flow:
    """Pages that fill from the top.

    Parameters
    ----------
    paper : Paper
        Standing.
    head : callable
        Writes the head of a new page, given the page and its number from 1; returns the height below it.
    """

    def __init__(self, paper: Paper, head: Callable[[Page, int], float]) -> None:
        self._paper, self._head = paper, head
        self.pages: list[Page] = []
        self.left = MARGIN_MM
        self.y = 0.0
        self.next_page()

    @property
    def page(self) -> Page:
        """The page that is being filled."""
        return self.pages[-1]

    @property
    def right(self) -> float:
        """Where lines end."""
        return self.page.width_mm - MARGIN_MM

    @property
    def width(self) -> float:
        """How long lines may be."""
        return self.right - self.left

    def next_page(self) -> None:
        """Go on at the top of a new page, over its whole width."""
        self.pages.append(Page(*self._paper.standing_mm))
        self.left = MARGIN_MM
        self.y = self._head(self.page, len(self.pages))

    def keep(self, height_mm: float) -> None:
        """Go on to the next page if a height is not left on this one."""
        if self.y - height_mm < MARGIN_MM + FOOT_MM:
            self.next_page()

    def heading(self, text: str, *, keep_mm: float = 14.0) -> None:
        """Write a heading, and keep so much room that it does not stand alone."""
        self.keep(keep_mm)
        self.y -= 3.0
        self.page.add(Label((self.left, self.y), text, 10.5, bold=True))
        self.y -= 5.4

    def text(self, text: str, *, size_pt: float = _SIZE_PT, bold: bool = False, mark: str = "") -> None:
        """Write a paragraph, after a mark if there is one; a long one goes on over the page."""
        indent = 0.0 if not mark else 8.0
        lines = _lines(text, self.width - indent, size_pt, bold=bold)
        step = size_pt * POINT_MM * _LINE
        self.keep(step * min(len(lines), 3))
        for number, line in enumerate(lines):
            self.keep(step)
            if mark and number == 0:
                self.page.add(Label((self.left, self.y), mark, size_pt, bold=True))
            self.page.add(Label((self.left + indent, self.y), line, size_pt, bold=bold))
            self.y -= step
        self.y -= 1.2

    def tick(self, text: str, *, bold: bool = False) -> None:
        """Write something that a person does, after a box to tick."""
        indent = TICK_MM + 2.6
        lines = _lines(text, self.width - indent, _SIZE_PT, bold=bold)
        step = _SIZE_PT * POINT_MM * _LINE
        self.keep(step * len(lines))
        draw_tick(self.page, (self.left, self.y - TICK_MM / 2))
        self.y = self.page.paragraph((self.left + indent, self.y), lines, size_pt=_SIZE_PT, bold=bold) - 1.6

    def row(self, cells: Sequence[tuple[float, str]], *, bold: bool = False, size_pt: float = 9.0) -> None:
        """Write cells at distances from the left into one line, and go to the next."""
        for at, text in cells:
            self.page.add(Label((self.left + at, self.y), text, size_pt, bold=bold))
        self.y -= 4.6


def _lines(text: str, width_mm: float, size_pt: float, *, bold: bool) -> list[str]:
    """Return lines that fit a width; a word that is too long for it loses its middle."""
    # Bold letters are wider by a tenth at most; a line is measured again in the end.
    narrow = width_mm / 1.1 if bold else width_mm
    return [shortened(line, width_mm, size_pt, bold=bold) for line in wrapped(text, narrow, size_pt=size_pt)]


def draw_tick(page: Page, low: tuple[float, float]) -> None:
    """Draw a box to tick, given by its lower left corner."""
    x, y = low
    corners = ((x, y), (x + TICK_MM, y), (x + TICK_MM, y + TICK_MM), (x, y + TICK_MM), (x, y))
    page.add(Stroke(corners, 0.3))
