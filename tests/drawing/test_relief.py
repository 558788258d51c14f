"""The relief: which slopes are bright, which side is which on the back, and what is shown where nothing is left."""

import numpy as np
import pytest
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.thickness import BothFaces
from flipreg.drawing.relief import relief_raster
from flipreg.drawing.view import View
from flipreg.stock.sections.remaining import RemainingStock

_BOX = (-20.0, -20.0, 20.0, 20.0)
_VIEWS = [View(_BOX, 1.0, (0.0, 0.0), is_upright) for is_upright in (True, False)]


def section(front_mm: NDArray[np.float64], back_mm: NDArray[np.float64] | None = None) -> RemainingStock:
    """Return a section of 40 by 40 mm and 20 mm thickness, its middle at the origin."""
    grid = Grid(-19.75, -19.75, 0.5, (80, 80))
    back = np.full((80, 80), -20.0) if back_mm is None else back_mm
    faces = BothFaces(grid, front_mm.astype(np.float32), back.astype(np.float32), 20.0)
    nothing = np.zeros(grid.shape, np.bool_)
    return RemainingStock("straight", None, ("front",), grid, faces, faces, ~nothing, nothing, nothing)


def hill() -> NDArray[np.float64]:
    """Return heights of a hill that is cut out of a face 8 mm deep."""
    x, y = np.meshgrid(np.linspace(-1, 1, 80), np.linspace(-1, 1, 80))
    return np.maximum(-8.0, -8.0 * np.hypot(x, y))


def quarters(pixels: NDArray[np.uint8]) -> tuple[float, float]:
    """Return how bright the upper left and the lower right of a picture are."""
    rows, columns = pixels.shape[0] // 2, pixels.shape[1] // 2
    return float(pixels[:rows, :columns].mean()), float(pixels[rows:, columns:].mean())


@pytest.mark.parametrize("view", _VIEWS)
@pytest.mark.parametrize("side", ["front", "back"])
def test_the_slope_that_looks_to_the_upper_left_is_the_bright_one(view: View, side: str) -> None:
    flat = np.zeros((80, 80))
    stock = section(hill()) if side == "front" else section(flat, -20.0 - hill())
    lit, dark = quarters(relief_raster(stock, view, is_front=side == "front").pixels)
    assert lit > dark + 20.0


def test_the_front_is_seen_from_the_front_and_the_back_turned_over_like_a_page() -> None:
    # Deep at the right edge of the front (+X) and at its far end (+Y), on both faces.
    x, y = np.meshgrid(np.arange(80), np.arange(80))
    deep = np.where((x >= 60) & (y >= 60), 9.0, 0.0)
    stock = section(-deep, -20.0 + deep)
    upright = {is_front: relief_raster(stock, _VIEWS[0], is_front=is_front).pixels for is_front in (True, False)}
    assert upright[True][15, -15].sum() < upright[True][15, 15].sum()
    assert upright[False][15, 15].sum() < upright[False][15, -15].sum()
    # Lying, with Y to the right: X runs down for the front, and up for the back.
    lying = {is_front: relief_raster(stock, _VIEWS[1], is_front=is_front).pixels for is_front in (True, False)}
    assert lying[True][-15, -15].sum() < lying[True][15, -15].sum()
    assert lying[False][15, -15].sum() < lying[False][-15, -15].sum()


def test_the_paper_shows_where_nothing_is_left() -> None:
    front = np.zeros((80, 80))
    front[30:50, 30:50] = -25.0
    pixels = relief_raster(section(front), _VIEWS[0], is_front=True).pixels
    middle = pixels.shape[0] // 2
    assert (pixels[middle - 10 : middle + 10, middle - 10 : middle + 10] == 255).all()
    assert pixels[5, 5].tolist() != [255, 255, 255]
