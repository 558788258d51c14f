"""Arrows that show how far and which way one face lies off the other, longer than it is."""

from collections.abc import Sequence

import numpy as np

from flipreg.drawing.page import Area, Page
from flipreg.drawing.view import PageBox, View
from flipreg.job_check.displacement import Displacements

__all__ = ["arrow_box", "arrows", "draw_arrow"]

_ARROW_MM = 0.45


def arrows(
    moved: Sequence[Displacements], view: View, exaggeration: float
) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Return the start and the end of each arrow on the page."""
    out = []
    for one in moved:
        starts, ends = view.apply(one.at_mm).tolist(), view.apply(one.at_mm + exaggeration * one.by_mm).tolist()
        out += [((x0, y0), (x1, y1)) for (x0, y0), (x1, y1) in zip(starts, ends, strict=True)]
    return out


def arrow_box(start: tuple[float, float], end: tuple[float, float]) -> PageBox:
    """Return what an arrow covers of the page."""
    (x0, y0), (x1, y1) = start, end
    return min(x0, x1) - 1.0, min(y0, y1) - 1.0, max(x0, x1) + 1.0, max(y0, y1) + 1.0


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
