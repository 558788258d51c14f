import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays
from numpy.typing import NDArray
from scipy import ndimage

from flipreg.cut.labelled import label, labelled

Bools = NDArray[np.bool_]


@given(arrays(np.bool_, array_shapes(min_dims=2, max_dims=2, max_side=12)))
def test_regions_are_those_of_scipy(cells: Bools) -> None:
    found = label(cells)
    labels, count = found.labels, found.count
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
    found = label(cells)
    labels, count = found.labels, found.count
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
    assert ndimage.label(cells)[1] == label(cells).count == 1


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
    apart = cells[:-1] & cells[1:] & ~joined_y
    found = labelled(shape, lambda rows: (cells[rows], joined_x[rows], apart[rows]))
    labels, count = found.labels, found.count
    assert count == expected_count
    pairs = {(int(a), int(b)) for a, b in zip(labels.ravel(), expected[::2, ::2].ravel(), strict=True)}
    assert len(pairs - {(0, 0)}) == count


def test_what_is_asked_of_runs_is_what_the_cells_say() -> None:
    """Of a map of several bands, and of regions that are taken together."""
    rng = np.random.default_rng(3)
    cells = rng.random((701, 300)) < 0.4
    asked = rng.random(cells.shape) < 0.01
    plain = label(cells)
    some = plain.renumbered(np.arange(plain.count + 1) % 5)
    for found in (plain, some):
        labels = found.labels
        assert found.cells.tolist() == np.bincount(labels.ravel(), minlength=found.count + 1).tolist()
        assert (found.named([2, 4]) == np.isin(labels, [2, 4])).all()
        assert not found.named([]).any()
        assert found.under(asked).tolist() == np.unique(labels[asked]).tolist()
        sides = labels[:, 0], labels[:, -1], labels[0], labels[-1]
        assert all((one == other).all() for one, other in zip(found.sides(), sides, strict=True))
        where, number = found.where()
        assert where.tolist() == np.flatnonzero(labels).tolist()
        assert (number == labels.ravel()[where]).all()
