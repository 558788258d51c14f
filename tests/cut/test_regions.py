import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays
from numpy.typing import NDArray
from scipy import ndimage

from flipreg.cut.grid import Grid
from flipreg.cut.regions import cells_of, label, named, regions_of, widened

Bools = NDArray[np.bool_]


@settings(max_examples=150, deadline=None)
@given(arrays(np.bool_, array_shapes(min_dims=2, max_dims=2, max_side=12)))
def test_regions_are_those_of_scipy(cells: Bools) -> None:
    labels, count = label(cells)
    expected, expected_count = ndimage.label(cells)
    assert count == expected_count
    # One to one: as many pairs as regions, and nothing where nothing is.
    pairs = {(int(a), int(b)) for a, b in zip(labels.ravel(), expected.ravel(), strict=True)}
    assert len(pairs - {(0, 0)}) == count
    assert {a for a, _ in pairs - {(0, 0)}} == set(range(1, count + 1))
    assert ((labels == 0) == ~cells).all()


@pytest.mark.parametrize("share", [0.45, 0.55, 0.6, 0.7])
def test_large_tangled_regions_are_those_of_scipy(share: float) -> None:
    cells = np.random.default_rng(1).random((300, 400)) < share
    labels, count = label(cells)
    expected, expected_count = ndimage.label(cells)
    assert count == expected_count
    assert len(np.unique(labels.astype(np.int64) * (expected_count + 1) + expected)) == count + 1


def test_a_spiral_is_one_region() -> None:
    cells = np.zeros((61, 61), np.bool_)
    top, left, bottom, right = 0, 0, 60, 60
    while top < bottom - 2:
        cells[top, left : right + 1] = cells[top : bottom + 1, right] = True
        cells[bottom, left : right + 1] = True
        cells[top + 2 : bottom + 1, left] = True
        cells[top + 2, left : left + 3] = True
        top, left, bottom, right = top + 2, left + 2, bottom - 2, right - 2
    assert ndimage.label(cells)[1] == label(cells)[1] == 1


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_joints_that_do_not_hold_divide_regions(data: st.DataObject) -> None:
    shape = data.draw(st.tuples(st.integers(2, 7), st.integers(2, 7)))
    cells = data.draw(arrays(np.bool_, shape))
    joined_x = data.draw(arrays(np.bool_, (shape[0], shape[1] - 1)))
    joined_y = data.draw(arrays(np.bool_, (shape[0] - 1, shape[1])))
    # The oracle has a cell for every joint as well, at twice the pitch.
    wide = np.zeros((2 * shape[0] - 1, 2 * shape[1] - 1), np.bool_)
    wide[::2, ::2] = cells
    wide[::2, 1::2] = joined_x & cells[:, 1:] & cells[:, :-1]
    wide[1::2, ::2] = joined_y & cells[1:] & cells[:-1]
    expected, expected_count = ndimage.label(wide)
    labels, count = label(cells, joined_x=joined_x, joined_y=joined_y)
    assert count == expected_count
    pairs = {(int(a), int(b)) for a, b in zip(labels.ravel(), expected[::2, ::2].ravel(), strict=True)}
    assert len(pairs - {(0, 0)}) == count


def test_a_region_is_described_by_its_cells() -> None:
    grid = Grid(10.0, 20.0, 0.5, (4, 5))
    values = np.arange(20, dtype=np.float64).reshape(4, 5)
    cells = np.zeros((4, 5), np.bool_)
    cells[1, 1] = cells[1, 2] = cells[2, 2] = True
    cells[3, 4] = True
    inner, corner = regions_of(*label(cells), values, grid)
    assert (inner.cells, inner.area_mm2, inner.touches_edge) == (3, 0.75, False)
    assert inner.box_mm == (10.25, 20.25, 11.25, 21.25)
    assert inner.centre_mm == pytest.approx((10.5 + 1 / 3, 20.5 + 0.5 / 3))
    assert (inner.least_mm, inner.at_mm) == (6.0, (10.5, 20.5))
    assert (inner.most_mm, inner.most_at_mm) == (12.0, (11.0, 21.0))
    assert inner.volume_mm3 == (6 + 7 + 12) * 0.25
    assert (corner.cells, corner.touches_edge) == (1, True)


def test_nothing_has_no_regions() -> None:
    cells = np.zeros((3, 3), np.bool_)
    assert label(cells)[1] == 0
    assert regions_of(*label(cells), cells.astype(np.float64), Grid(0.0, 0.0, 1.0, (3, 3))) == ()


@settings(max_examples=60, deadline=None)
@given(arrays(np.bool_, array_shapes(min_dims=2, max_dims=2, max_side=12)), st.integers(0, 7))
def test_cells_are_widened_to_the_squares_around_them(cells: Bools, count: int) -> None:
    expected = ndimage.maximum_filter(cells, size=2 * count + 1, mode="constant")
    assert widened(cells, count).tolist() == expected.tolist()


def test_cells_are_counted_and_named_over_all_bands_of_a_large_map() -> None:
    labels = np.random.default_rng(3).integers(0, 5, (701, 300), dtype=np.int32)
    assert cells_of(labels, 6).tolist() == np.bincount(labels.ravel(), minlength=7).tolist()
    assert (named(labels, 6, [2, 4]) == np.isin(labels, [2, 4])).all()
    assert not named(labels, 6, []).any()
