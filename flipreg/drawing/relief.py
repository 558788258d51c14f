"""Both faces of each section in relief, as the programs leave them: lit from the upper left, at one scale.

The back is shown as it is seen when the blank is turned over like a page. Where nothing is left the paper shows; what
is not determined is hatched.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from flipreg.drawing.page import Label, Page, Raster, shortened
from flipreg.drawing.spread import MARGIN_MM, best_spread
from flipreg.drawing.thickness_map import PIXELS, hatched, map_cells
from flipreg.drawing.view import Box, View
from flipreg.stock.remaining import RemainingStock

__all__ = ["ReliefPanel", "relief_page", "relief_raster"]

_Value = TypeVar("_Value", bound=np.generic)

_WOOD = (244.0, 222.0, 186.0)
_LIGHT = np.array([-1.0, 1.0, 1.6]) / np.sqrt(1.0 + 1.0 + 1.6**2)
"""Towards the light: to the left, up on the page, and out of the wood (chosen): about 48 degrees above the face."""
_LEVEL = 0.86
"""How bright a level face is, against the brightest (chosen): slopes towards the light are brighter still."""
_DEEP = 0.22
"""How much darker the deepest cut is than the face (chosen): it tells a recess from a hill."""
_SIZE_PT = 9.5


@dataclass(frozen=True, slots=True, eq=False)
class ReliefPanel:
    """A section whose faces are shown.

    Attributes
    ----------
    title : str
        What it is called.
    box_mm : Box
        What of it is shown.
    left : RemainingStock
        What is left of it.
    """

    title: str
    box_mm: Box
    left: RemainingStock


def relief_page(name: str, panels: Sequence[ReliefPanel], page_mm: tuple[float, float]) -> Page:
    """Lay out the front and the back of each section on a page."""
    page = Page(*page_mm)
    width, top = page_mm[0] - 2 * MARGIN_MM, page_mm[1] - MARGIN_MM
    title = shortened(f"{name}: both faces as the programs leave them", width, 14.0, bold=True)
    page.add(Label((MARGIN_MM, top - 3), title, 14.0, bold=True))
    said = "Light from the upper left, one scale; the back as it is seen when the blank is turned over like a page."
    page.add(Label((MARGIN_MM, top - 9.5), shortened(said, width, _SIZE_PT), _SIZE_PT))
    spread = best_spread([panel.box_mm for panel in panels for _ in range(2)], (page_mm,), lambda _: 0.0)
    for panel, views in zip(panels, zip(spread.views[::2], spread.views[1::2], strict=True), strict=True):
        for view, is_front in zip(views, (True, False), strict=True):
            x0, y0, x1, y1 = view.page_box
            page.add(relief_raster(panel.left, view, is_front=is_front))
            page.rectangle((x0, y0), (x1, y1), width_mm=0.3)
            room = (x1 - x0) if len({one.low[1] for one in spread.views}) == 1 else width
            words = f"{panel.title}, {'front' if is_front else 'back'}"
            page.add(Label((x0, y1 + 3.0), shortened(words, room, _SIZE_PT, bold=True), _SIZE_PT, bold=True))
    return page


def relief_raster(section: RemainingStock, view: View, *, is_front: bool) -> Raster:
    """Return a face of a section in relief, as it lies on the page."""
    rows, columns = map_cells(section, view)
    crossing = np.ix_(rows, columns)
    faces = section.faces
    front, back = faces.front_mm[crossing].astype(np.float64), faces.back_mm[crossing].astype(np.float64)
    height = front if is_front else -back - faces.blank_mm
    height = _on_page(height, view, is_front=is_front)
    is_open, is_unknown = (
        _on_page(cells, view, is_front=is_front) for cells in (front <= back, ~section.known[crossing])
    )
    shade = _shade(height, view.scale * PIXELS, faces.blank_mm)
    pixels = np.round(shade[..., np.newaxis] * np.array(_WOOD)).astype(np.uint8)
    pixels[is_open] = 255
    pixels[is_unknown] = hatched(height.shape)[is_unknown]
    box = view.page_box
    return Raster(np.ascontiguousarray(pixels), box[:2], box[2:])


def _on_page(layer: NDArray[_Value], view: View, *, is_front: bool) -> NDArray[_Value]:
    """Return a map, row along Y, as rows of the page from the top; the back with its X the other way round."""
    seen = layer if is_front else layer[:, ::-1]
    return seen[::-1] if view.is_upright else seen.T


def _shade(height_mm: NDArray[np.float64], pixels_per_mm: float, blank_mm: float) -> NDArray[np.float64]:
    """Return how bright each pixel is, 0 to 1, by the angle between the face and the light, and by its depth."""
    down, right = (np.gradient(height_mm, axis=axis) * pixels_per_mm if height_mm.shape[axis] > 1
                   else np.zeros_like(height_mm) for axis in (0, 1))  # fmt: skip
    # Rows run down the page: a face that rises downwards looks up the page.
    lit = (-right * _LIGHT[0] + down * _LIGHT[1] + _LIGHT[2]) / np.sqrt(right**2 + down**2 + 1.0)
    bright = _LEVEL * np.maximum(lit, 0.0) / _LIGHT[2]
    return np.asarray(np.clip(bright * (1.0 - _DEEP * np.clip(-height_mm / blank_mm, 0.0, 1.0)), 0.0, 1.0), np.float64)
