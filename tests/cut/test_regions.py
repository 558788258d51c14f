import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays
from numpy.typing import NDArray
from scipy import ndimage

from flipreg.cut.grid import Grid
from flipreg.cut.labelled import label
from flipreg.cut.regions import regions_of, widened

Bools = NDArray[np.bool_]


def test_a_region_is_described_by_its_cells() -> None:
    grid = Grid(10.0, 20.0, 0.5, (4, 5))
    values = np.arange(20, dtype=np.float64).reshape(4, 5)
    cells = np.zeros((4, 5), np.bool_)
    cells[1, 1] = cells[1, 2] = cells[2, 2] = True
    cells[3, 4] = True
    inner, corner = regions_of(label(cells), values, grid)
    assert (inner.cells, inner.area_mm2) == (3, 0.75)
    assert inner.box_mm == (10.25, 20.25, 11.25, 21.25)
    assert inner.centre_mm == pytest.approx((10.5 + 1 / 3, 20.5 + 0.5 / 3))
    assert (inner.least_mm, inner.at_mm) == (6.0, (10.5, 20.5))
    assert inner.most_mm == 12.0
    assert (corner.cells, corner.least_mm, corner.at_mm) == (1, 19.0, (12.0, 21.5))


def test_nothing_has_no_regions() -> None:
    cells = np.zeros((3, 3), np.bool_)
    assert label(cells).count == 0
    assert regions_of(label(cells), cells.astype(np.float64), Grid(0.0, 0.0, 1.0, (3, 3))) == ()


@given(arrays(np.bool_, array_shapes(min_dims=2, max_dims=2, max_side=12)), st.integers(0, 7))
def test_cells_are_widened_to_the_squares_around_them(cells: Bools, count: int) -> None:
    expected = ndimage.maximum_filter(cells, size=2 * count + 1, mode="constant")
    assert widened(cells, count).tolist() == expected.tolist()
