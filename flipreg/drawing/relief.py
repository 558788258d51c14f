"""Either face of each section in relief, as the programs leave it: lit from the upper left, where the map has it.

The back is shown as it is seen when the blank is turned over like a page. Where nothing is left the paper shows; what
is not determined is hatched.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from flipreg.drawing.page import Label, Page, Raster, shortened
from flipreg.drawing.paper import MARGIN_MM
from flipreg.drawing.section_panel import CAPTION_MM
from flipreg.drawing.thickness_map import hatched, map_cells
from flipreg.drawing.view import View
from flipreg.stock.sections.remaining import RemainingStock

__all__ = ["ReliefPanel", "relief_page", "relief_raster"]

_Value = TypeVar("_Value", bound=np.generic)
Floats = NDArray[np.float64]
Indices = NDArray[np.intp]

_WOOD = (244.0, 222.0, 186.0)
_LIGHT = np.array([-1.0, 1.0, 1.6]) / np.sqrt(1.0 + 1.0 + 1.6**2)
"""Towards the light: to the left, up on the page, and out of the wood (chosen): about 48 degrees above the face."""
_LEVEL = 0.86
"""How bright a level face is, against the brightest (chosen): slopes towards the light are brighter still."""
_DIFFUSE = 0.35
"""How much of the light comes from everywhere (chosen): so that slopes away from it are dark and not black."""
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
    view : View
        Where it is on the page: as on the page of its map, so that pages can be held against each other.
    left : RemainingStock
        What is left of it.
    """

    title: str
    view: View
    left: RemainingStock


def relief_page(name: str, panels: Sequence[ReliefPanel], page_mm: tuple[float, float], *, is_front: bool) -> Page:
    """Lay out one face of each section on a page."""
    page = Page(*page_mm)
    width, top = page_mm[0] - 2 * MARGIN_MM, page_mm[1] - MARGIN_MM
    face = "front" if is_front else "back"
    title = shortened(f"{name}: the {face} as the programs leave it", width, 14.0, bold=True)
    page.add(Label((MARGIN_MM, top - 3), title, 14.0, bold=True))
    said = "Light from the upper left; scale and place are those of the map" + (
        "." if is_front else "; seen with the blank turned over like a page."
    )
    page.add(Label((MARGIN_MM, top - 9.5), shortened(said, width, _SIZE_PT), _SIZE_PT))
    for panel in panels:
        x0, y0, x1, y1 = panel.view.page_box
        page.add(relief_raster(panel.left, panel.view, is_front=is_front))
        page.rectangle((x0, y0), (x1, y1), width_mm=0.3)
        page.add(Label((x0, y1 + CAPTION_MM - 2.5), panel.title, _SIZE_PT, bold=True))
    return page


def relief_raster(section: RemainingStock, view: View, *, is_front: bool) -> Raster:
    """Return a face of a section in relief, as it lies on the page."""
    # Slopes are those between cells: pixels that show one cell would make steps of it.
    (rows, of_row), (columns, of_column) = (np.unique(cells, return_inverse=True) for cells in map_cells(section, view))
    crossing = np.ix_(rows, columns)
    faces = section.faces
    front, back = faces.front_mm[crossing].astype(np.float64), faces.back_mm[crossing].astype(np.float64)
    height = front if is_front else -back - faces.blank_mm
    known = section.known[crossing]
    level = [np.abs(cells - cells[0]) * section.grid.step_mm for cells in (rows, columns)]
    if not is_front:
        level[1] = level[1][-1] - level[1][::-1]
    if view.is_upright:
        level[0] = level[0][-1] - level[0][::-1]
    places = (level[0], level[1]) if view.is_upright else (level[1], level[0])
    shade = _shade(_on_page(height, view, is_front=is_front), places, faces.blank_mm)
    pixels = np.round(shade[..., np.newaxis] * np.array(_WOOD)).astype(np.uint8)
    pixels[_on_page(front <= back, view, is_front=is_front)] = 255
    shown = np.ix_(*_of_pixels(of_row, of_column, view, is_front=is_front))
    pixels, is_unknown = pixels[shown], _on_page(~known, view, is_front=is_front)[shown]
    pixels[is_unknown] = hatched(is_unknown.shape)[is_unknown]
    box = view.page_box
    return Raster(np.ascontiguousarray(pixels), box[:2], box[2:])


def _on_page(layer: NDArray[_Value], view: View, *, is_front: bool) -> NDArray[_Value]:
    """Return a map, row along Y, as rows of the page from the top; the back with its X the other way round."""
    seen = layer if is_front else layer[:, ::-1]
    return seen[::-1] if view.is_upright else seen.T


def _of_pixels(of_row: Indices, of_column: Indices, view: View, *, is_front: bool) -> tuple[Indices, Indices]:
    """Return, for each row and each column of pixels, which one of the cells on the page it shows."""
    across = of_column if is_front else of_column.max() - of_column[::-1]
    return (of_row.max() - of_row[::-1], across) if view.is_upright else (across, of_row)


def _shade(height_mm: Floats, places_mm: tuple[Floats, Floats], blank_mm: float) -> Floats:
    """Return how bright each cell is, 0 to 1, by the angle between the face and the light, and by its depth.

    Parameters
    ----------
    height_mm : float64, shape (rows, columns)
        Height over the face, negative in it; rows from the top of the page.
    places_mm : pair of float64 arrays
        How far each row is from the first one down the page, and each column from the first one to the right.
    blank_mm : float
        Thickness of the blank.
    """
    down, right = (np.gradient(height_mm, places, axis=axis) if len(places) > 1 else np.zeros_like(height_mm)
                   for axis, places in enumerate(places_mm))  # fmt: skip
    # The nearest cell stands for all beyond the map, where nothing is cut and nothing slopes.
    for slope in (down, right):
        slope[[0, -1]] = 0.0
        slope[:, [0, -1]] = 0.0
    # Rows run down the page: a face that rises downwards looks up the page.
    lit = (-right * _LIGHT[0] + down * _LIGHT[1] + _LIGHT[2]) / np.sqrt(right**2 + down**2 + 1.0)
    bright = _LEVEL * (_DIFFUSE + (1.0 - _DIFFUSE) * np.maximum(lit, 0.0) / _LIGHT[2])
    return np.asarray(np.clip(bright * (1.0 - _DEEP * np.clip(-height_mm / blank_mm, 0.0, 1.0)), 0.0, 1.0), np.float64)
