"""Moments of contours against sums over many points, and what a flip does to them."""

import numpy as np
import pytest
import shapely

from flipreg.register.faces.moments import moments_of, seen_by
from tests.register.shapes import PADDLE, ring

KITE = ring((0, 0), (60, -40), (150, 0), (60, 40))


@pytest.mark.parametrize("corners", [PADDLE, KITE, ring((0, 0), (2, 0), (2, 1), (0, 1))])
def test_moments_are_those_of_a_field_of_points(corners: np.ndarray) -> None:
    polygon = shapely.Polygon(corners)
    low, high = np.array(polygon.bounds[:2]), np.array(polygon.bounds[2:])
    x, y = (np.linspace(low[axis], high[axis], 1201)[:-1] + (high - low)[axis] / 2400 for axis in (0, 1))
    points = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    inside = points[shapely.contains_xy(polygon, points)]
    z = inside[:, 0] + 1j * inside[:, 1]
    z = z - z.mean()
    found = moments_of([corners[::-1]])
    assert found.centre_mm[0] == pytest.approx(inside.mean(axis=0), rel=1e-3)
    assert found.area_mm2[0] == pytest.approx(polygon.area)
    assert found.second[0] == pytest.approx((z * z).mean() / polygon.area, abs=1e-3)
    assert found.third[0] == pytest.approx((z * abs(z) ** 2).mean() / polygon.area**1.5, abs=1e-3)


def test_the_widths_of_a_turned_rectangle_are_its_sides() -> None:
    turn = np.array([[0.8, -0.6], [0.6, 0.8]])
    found = moments_of([ring((0, 0), (2, 0), (2, 7), (0, 7)) @ turn.T + (50.0, -20.0)])
    assert found.width_mm[0] == pytest.approx([7.0, 2.0])


@pytest.mark.parametrize("mirrored", [1.0, -1.0])
@pytest.mark.parametrize("quarter", [0, 1, 2, 3])
def test_another_frame_sees_the_moments_of_the_moved_contour(mirrored: float, quarter: int) -> None:
    turn = np.linalg.matrix_power(np.array([[0.0, -1.0], [1.0, 0.0]]), quarter)
    matrix = turn @ np.diag([1.0, mirrored])
    here, there = moments_of([PADDLE]), moments_of([PADDLE @ matrix.T + (30.0, -7.0)])
    assert seen_by(matrix, here.second, 2)[0] == pytest.approx(there.second[0])
    assert seen_by(matrix, here.third, 1)[0] == pytest.approx(there.third[0])


def test_a_mirror_shows_in_the_third_moment_of_what_has_a_hand() -> None:
    mirror = np.diag([1.0, -1.0])
    paddle, kite = moments_of([PADDLE]), moments_of([KITE])
    assert abs(seen_by(mirror, paddle.third, 1)[0] - paddle.third[0]) > 0.005
    assert seen_by(mirror, kite.third, 1)[0] == pytest.approx(kite.third[0], abs=1e-12)
