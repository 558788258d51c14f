import numpy as np
import pytest
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.thickness import BothFaces
from flipreg.drawing.section_panel import BACK_INK, FRONT_INK
from flipreg.drawing.thickness_map import Bands, map_raster, nice_step
from flipreg.drawing.view import View
from flipreg.stock.sections.remaining import RemainingStock

BLANK_MM = 20.0
THICKNESSES = [0.7, 1.0, 3.0, 8.0, 19.0, 22.0, 33.6, 50.0, 101.0]


def section(left_mm: list[list[float]], known: list[list[bool]] | None = None) -> RemainingStock:
    """Return a section of cells of 10 mm with that much left, all of it cut from the front."""
    left = np.array(left_mm, np.float32)
    grid = Grid(5.0, 5.0, 10.0, left.shape)
    faces = BothFaces(grid, left - np.float32(BLANK_MM), np.full(left.shape, -BLANK_MM, np.float32), BLANK_MM)
    nothing = np.zeros(left.shape, np.bool_)
    is_known = np.ones(left.shape, np.bool_) if known is None else np.array(known)
    return RemainingStock("straight", None, ("front",), grid, faces, faces, is_known, nothing, nothing)


def cell(pixels: NDArray[np.uint8], row: int, column: int, shape: tuple[int, int]) -> NDArray[np.uint8]:
    """Return the pixels of one cell, rows from the top."""
    high, wide = pixels.shape[0] // shape[0], pixels.shape[1] // shape[1]
    return pixels[row * high : (row + 1) * high, column * wide : (column + 1) * wide].reshape(-1, 3)


def luminance(colours: NDArray[np.uint8]) -> NDArray[np.float64]:
    """Return the lightness 0 to 100 of sRGB colours (CIE L*, IEC 61966-2-1; formulas from memory)."""
    share = colours / 255.0
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    y = linear @ np.array([0.2126, 0.7152, 0.0722])
    return np.asarray(116.0 * np.cbrt(y) - 16.0)


def test_bands_cover_the_blank_and_are_round() -> None:
    assert Bands.of(22.0, inch=False).limits_mm == (*(2.0 * n for n in range(11)), 22.0)
    assert Bands.of(33.6, inch=False).limits_mm == (0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 33.6)
    assert Bands.of(25.4, inch=True).step_mm == pytest.approx(0.1 * 25.4)


@pytest.mark.parametrize("blank_mm", THICKNESSES)
@pytest.mark.parametrize("inch", [False, True])
def test_lightness_alone_tells_neighbouring_bands_apart(blank_mm: float, *, inch: bool) -> None:
    bands = Bands.of(blank_mm, inch=inch)
    assert 6 <= bands.count <= 15
    light = luminance(bands.colours)
    # Two steps of lightness are told apart side by side; the thinnest is the darkest.
    assert np.diff(light).min() > 2.0
    assert light[-1] - light[0] > 40.0


def test_inks_stand_out_from_their_white_edge_and_from_one_another_in_grey() -> None:
    inks = np.array([[int(ink[at : at + 2], 16) for at in (1, 3, 5)] for ink in (FRONT_INK, BACK_INK)], np.uint8)
    front, back = luminance(inks).tolist()
    assert back - front > 20.0
    assert 100.0 - back > 50.0


def test_each_kind_of_cell_is_shown_as_itself() -> None:
    shape = (2, 3)
    made = section([[3.0, 19.0, BLANK_MM], [-1.0, 0.0, 5.0]], [[True, True, True], [True, True, False]])
    bands = Bands.of(BLANK_MM, inch=False)
    pixels = map_raster(made, bands, View((0.0, 0.0, 30.0, 20.0), 1.0, (0.0, 0.0), is_upright=True)).pixels
    # Rows of the map run from the bottom, those of the picture from the top.
    thin, thick, uncut = (cell(pixels, 1, column, shape) for column in range(3))
    cut_through, just_through, unknown = (cell(pixels, 0, column, shape) for column in range(3))
    assert np.unique(thin, axis=0).tolist() == [bands.colours[1].tolist()]
    assert np.unique(thick, axis=0).tolist() == [bands.colours[-1].tolist()]
    assert np.unique(cut_through, axis=0).tolist() == [[255, 255, 255]]
    assert np.unique(just_through, axis=0).tolist() == [[255, 255, 255]]
    # Patterns, not plain colours; the hatching is denser than the dots.
    dots, hatch = (float((one.mean(axis=1) < 200).mean()) for one in (uncut, unknown))
    assert 0.005 < dots < 0.05
    assert 0.05 < hatch < 0.3


def test_beyond_the_grid_the_nearest_cells_are_shown() -> None:
    made = section([[3.0, BLANK_MM]])
    bands = Bands.of(BLANK_MM, inch=False)
    pixels = map_raster(made, bands, View((-20.0, 0.0, 20.0, 10.0), 1.0, (0.0, 0.0), is_upright=True)).pixels
    assert pixels[:, :100].reshape(-1, 3).tolist()[0] == bands.colours[1].tolist()
    assert len(np.unique(pixels[:, : pixels.shape[1] // 2].reshape(-1, 3), axis=0)) == 1


@pytest.mark.parametrize("is_upright", [True, False])
def test_a_view_shows_the_front_and_never_its_mirror_image(*, is_upright: bool) -> None:
    view = View((-10.0, 5.0, 20.0, 105.0), 0.5, (3.0, 4.0), is_upright)
    origin, x, y = view.apply(np.array([[-10.0, 5.0], [20.0, 5.0], [-10.0, 105.0]]))
    turned = float(np.linalg.det(np.stack([x - origin, y - origin])))
    assert turned == pytest.approx(30.0 * 100.0 * 0.25)
    corners = view.apply(np.array([[-10.0, 5.0], [20.0, 105.0]]))
    assert np.concatenate([corners.min(axis=0), corners.max(axis=0)]).tolist() == pytest.approx(view.page_box)


@pytest.mark.parametrize("is_upright", [True, False])
def test_the_map_lies_where_the_view_has_its_cells(*, is_upright: bool) -> None:
    made = section([[3.0, 19.0], [9.0, 13.0]])
    bands = Bands.of(BLANK_MM, inch=False)
    view = View((0.0, 0.0, 20.0, 20.0), 1.0, (100.0, 200.0), is_upright)
    raster = map_raster(made, bands, view)
    high, wide = raster.pixels.shape[:2]
    for at_mm, band in (((5.0, 5.0), 1), ((15.0, 5.0), 9), ((5.0, 15.0), 4), ((15.0, 15.0), 6)):
        x, y = view.point(at_mm)
        row, column = int((220.0 - y) / 20.0 * high), int((x - 100.0) / 20.0 * wide)
        assert bands.colours[band].tolist() == raster.pixels[row, column].tolist()


def test_steps_are_one_two_and_five() -> None:
    assert [nice_step(value) for value in (0.011, 0.1, 0.3, 1.0, 2.1, 6.0, 49.0)] == [
        0.02, 0.1, 0.5, 1.0, 5.0, 10.0, 50.0
    ]  # fmt: skip
