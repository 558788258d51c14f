"""How panels of one scale share a page: under each other or in a row, as large as the paper allows."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from flipreg.drawing.paper import MARGIN_MM
from flipreg.drawing.section_panel import BELOW_MM, CAPTION_MM, LEFT_MM
from flipreg.drawing.view import PageBox, View

__all__ = ["FOOT_MM", "Spread", "best_spread"]

FOOT_MM = 4.0
_TITLE_MM = 18.5
_BETWEEN_MM = 3.0
_NARROW_MM, _ROOM_MM = 25.0, 16.0
"""A panel that is less wide than this has room beside it for names and numbers, up to as much (chosen)."""


@dataclass(frozen=True, slots=True)
class Spread:
    """How panels share a page.

    Attributes
    ----------
    page_mm : (float, float)
        Width and height of the page.
    scale : float
        Millimetres of paper for one of wood.
    views : tuple of View
        Where each panel is.
    rooms : tuple of PageBox
        Where the names and numbers of each panel may stand: over it, and beside it if it is narrow.
    """

    page_mm: tuple[float, float]
    scale: float
    views: tuple[View, ...]
    rooms: tuple[PageBox, ...]

    @property
    def width_mm(self) -> float:
        """Width of the page between its margins."""
        return self.page_mm[0] - 2 * MARGIN_MM


def best_spread(
    boxes: Sequence[PageBox], pages_mm: Sequence[tuple[float, float]], legend_mm: Callable[[float], float]
) -> Spread:
    """Return how to place panels so that they are largest.

    Parameters
    ----------
    boxes : sequence of PageBox
        What each panel shows.
    pages_mm : sequence of (float, float)
        Pages to choose from.
    legend_mm : callable
        Height of what stands below the panels, given its width.
    """
    spreads = [
        _spread(boxes, page_mm, legend_mm, is_upright=is_upright, is_row=is_row)
        for page_mm in pages_mm
        for is_upright in (False, True)
        for is_row in (False, True)
    ]
    return max(spreads, key=lambda spread: spread.scale)


def _spread(
    boxes: Sequence[PageBox],
    page_mm: tuple[float, float],
    legend_mm: Callable[[float], float],
    *,
    is_upright: bool,
    is_row: bool,
) -> Spread:
    """Return panels under each other, or in a row, as large as the page allows."""
    sizes = [(x1 - x0, y1 - y0) if is_upright else (y1 - y0, x1 - x0) for x0, y0, x1, y1 in boxes]
    count = len(sizes)
    width = page_mm[0] - 2 * MARGIN_MM
    height = page_mm[1] - 2 * MARGIN_MM - _TITLE_MM - FOOT_MM - legend_mm(width) - _BETWEEN_MM
    beside, above = LEFT_MM + _BETWEEN_MM, CAPTION_MM + BELOW_MM
    wide, high = [size[0] for size in sizes], [size[1] for size in sizes]
    if is_row:
        scale = min((width - count * beside) / sum(wide), (height - above) / max(high))
    else:
        scale = min((width - beside) / max(wide), (height - count * above) / sum(high))
    scale = max(scale, 1e-3)
    used = count * beside + scale * sum(wide) if is_row else count * above + scale * sum(high)
    spare = max(0.0, min(_ROOM_MM, ((width if is_row else height) - used) / count))
    views, rooms = [], []
    x, top = MARGIN_MM, page_mm[1] - MARGIN_MM - _TITLE_MM
    for box, (across, up) in zip(boxes, sizes, strict=True):
        view = View(box, scale, (x + LEFT_MM, top - CAPTION_MM - up * scale), is_upright)
        views.append(view)
        x0, y0, x1, y1 = view.page_box
        if min(x1 - x0, y1 - y0) >= _NARROW_MM:
            rooms.append(view.page_box)
        elif is_row:
            rooms.append((x0, y0, x1 + spare, y1))
        else:
            rooms.append((x0, y0 - BELOW_MM - spare, x1, y1 + CAPTION_MM))
        if is_row:
            x += beside + across * scale + spare
        else:
            top -= above + up * scale + spare
    return Spread(page_mm, scale, tuple(views), tuple(rooms))
