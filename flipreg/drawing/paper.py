"""The papers that sheets are printed on, and the bar that shows whether they were printed at their true size."""

from enum import Enum

from flipreg.drawing.page import Align, Label, Page, Stroke, text_width_mm
from flipreg.units import INCH_MM

__all__ = ["MARGIN_MM", "Paper", "draw_bar"]

MARGIN_MM = 12.0
"""Of all pages but those that are joined, which need the room."""

_SIZE_PT = 8.5


class Paper(Enum):
    """A size of paper; the value is the word of the command line."""

    A4 = "a4"
    """210 × 297 mm, after ISO 216."""
    LETTER = "letter"
    """8.5 × 11 inches, after ANSI/ASME Y14.1."""

    @property
    def standing_mm(self) -> tuple[float, float]:
        """Width and height."""
        return (210.0, 297.0) if self is Paper.A4 else (8.5 * INCH_MM, 11.0 * INCH_MM)

    @property
    def lying_mm(self) -> tuple[float, float]:
        """Width and height, turned by a quarter."""
        width, height = self.standing_mm
        return height, width


def draw_bar(page: Page, right: float, y: float, *, inch: bool) -> None:
    """Draw a bar of 100 mm, or of 4 inches, that ends at the right, to be held against a rule."""
    length, text = (4 * INCH_MM, "exactly 4 in") if inch else (100.0, "exactly 100 mm")
    left = right - length
    page.add(Stroke(((left, y - 2), (left, y + 2)), 0.25), Stroke(((right, y - 2), (right, y + 2)), 0.25))
    text = f"print at 100 %: {text}"
    half, middle = text_width_mm(text, _SIZE_PT) / 2 + 2, (left + right) / 2
    page.arrow((middle - half, y), (left, y))
    page.arrow((middle + half, y), (right, y))
    page.add(Label((middle, y), text, _SIZE_PT, Align.MIDDLE))
