from math import pi

import numpy as np
import pytest
from numpy.typing import NDArray

from flipreg.cut.canvas import Canvas
from flipreg.cut.level import fill
from flipreg.cut.pieces import Pieces, pieces_of
from flipreg.cut.tool import Cutter

_STEP_MM = 0.25
_SHAPE = 200, 240
_FLAT = Cutter.flat(6.0)


def _distance(corners: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return how far the centres of the map are from a way, shape `_SHAPE`."""
    at = np.stack(np.meshgrid(*(_STEP_MM * np.arange(size) for size in _SHAPE[::-1])), axis=-1)
    nearest = np.full(_SHAPE, np.inf)
    for start, end in zip(corners[:-1, :2], corners[1:, :2], strict=True):
        way = end - start
        share = np.clip((at - start) @ way / (way @ way), 0.0, 1.0)
        np.minimum(nearest, np.hypot(*np.moveaxis(at - start - share[..., np.newaxis] * way, -1, 0)), out=nearest)
    return nearest


def _filled(
    corners: NDArray[np.float64], cutter: Cutter = _FLAT
) -> tuple[NDArray[np.float32], NDArray[np.bool_], Pieces]:
    heights = np.zeros(_SHAPE, np.float32)
    pieces = pieces_of(corners[:-1], corners[1:], cutter)
    return heights, fill(Canvas(heights.reshape(-1), 0.0, 0.0, _STEP_MM, _SHAPE[1]), pieces, cutter), pieces


def _zigzag(turn_deg: float, z_mm: float) -> NDArray[np.float64]:
    """Return passes that are 7 mm apart."""
    turn = np.radians(turn_deg)
    across = np.repeat(np.arange(-17.5, 18.0, 7.0), 2)
    along = np.where(np.arange(len(across)) // 2 % 2 == np.arange(len(across)) % 2, -21.0, 21.0)
    x, y = along * np.cos(turn) - across * np.sin(turn), along * np.sin(turn) + across * np.cos(turn)
    return np.column_stack([x + 31.03, y + 24.61, np.full(len(x), z_mm)])


@pytest.mark.parametrize("turn_deg", [0.0, 90.0, 180.0, 270.0, 33.0, 120.0])
def test_a_floor_has_every_cell_that_the_cutter_covers_and_no_other(turn_deg: float) -> None:
    corners = _zigzag(turn_deg, -2.0)
    heights, filled, _ = _filled(corners)
    assert filled.all()
    np.testing.assert_array_equal(heights, np.where(_distance(corners) <= 3.0, np.float32(-2.0), np.float32(0.0)))


@pytest.mark.parametrize("upright", [True, False])
def test_centres_on_the_rim_are_cut(upright: bool) -> None:  # noqa: FBT001 - a parameter of pytest
    corners = np.array([[20.0, 25.0, -1.0], [32.0, 25.0, -1.0]] * 40)
    corners = corners[:, [1, 0, 2]] if upright else corners
    heights, filled, _ = _filled(corners)
    assert filled.all()
    cut = (heights < 0.0).T if upright else heights < 0.0
    rows, columns = np.nonzero(cut)
    assert (rows.min() * _STEP_MM, rows.max() * _STEP_MM) == (22.0, 28.0)
    assert (columns.min() * _STEP_MM, columns.max() * _STEP_MM) == (17.0, 35.0)


def test_floors_at_several_heights_leave_the_lowest_and_what_was_lower_stays() -> None:
    corners = np.concatenate([_zigzag(0.0, -3.0), _zigzag(90.0, -1.0)])
    heights, filled, pieces = _filled(corners)
    assert np.array_equal(filled, pieces.slope == 0.0)
    upper, lower = (_filled(_zigzag(turn, z))[0] for turn, z in ((90.0, -1.0), (0.0, -3.0)))
    np.testing.assert_array_equal(heights, np.minimum(upper, lower))


def test_a_ring_crossed_by_no_other_way_is_left_for_strips() -> None:
    turn = np.linspace(0.0, 2.0 * pi, 400)
    corners = np.column_stack([30.0 + 18.0 * np.cos(turn), 25.0 + 18.0 * np.sin(turn), np.full(400, -1.0)])
    heights, filled, _ = _filled(corners)
    assert not filled.any()
    assert not heights.any()


def test_only_level_motions_of_flat_cutters_leave_floors() -> None:
    rising = _zigzag(0.0, -2.0)
    rising[:, 2] += np.linspace(0.0, 0.5, len(rising))
    for corners, cutter in ((rising, _FLAT), (_zigzag(0.0, -2.0), Cutter.bull(6.0, 1.0))):
        heights, filled, _ = _filled(corners, cutter)
        assert not filled.any()
        assert not heights.any()


def test_a_floor_off_the_map_leaves_it_as_it_is() -> None:
    heights, filled, _ = _filled(_zigzag(0.0, -2.0) + np.array([500.0, 0.0, 0.0]))
    assert filled.all()
    assert not heights.any()
