"""Arcs as chords against published numbers of chords and sampled points.

Marks of sources: R read in a secondary source, P recomputed.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from flipreg.geometry.chords import flatten

Floats = NDArray[np.float64]


def column(*values: float) -> Floats:
    return np.array(values, dtype=np.float64)


def rows(*points: tuple[float, ...]) -> Floats:
    return np.array(points, dtype=np.float64)


def flatten_one(
    start: tuple[float, ...],
    end: tuple[float, ...],
    centre: tuple[float, ...],
    normal: int,
    sweep: float,
    tolerance: float,
) -> tuple[Floats, NDArray[np.intp]]:
    normals = np.array([normal], dtype=np.uint8)
    return flatten(rows(start), rows(end), rows(centre), normals, column(sweep), np.ones(1, dtype=np.bool_), tolerance)


@pytest.mark.parametrize(("radius", "chords"), [(50, 158), (10, 71)])
def test_full_circle_has_the_published_number_of_chords(radius: float, chords: int) -> None:
    """Check value A4 (P), tolerance 0.01 mm."""
    points, row = flatten_one((radius, 0, 0), (radius, 0, 0), (0, 0, 0), 2, 360, 0.01)
    assert len(points) == chords
    assert row.tolist() == [0] * chords


def test_straight_motions_give_their_ends_and_arcs_their_corners_in_order() -> None:
    start = rows((0, 0, 5), (10, 0, 5), (0, 10, 5))
    end = rows((10, 0, 5), (0, 10, 5), (0, 10, np.nan))
    centre = rows((np.nan, np.nan, np.nan), (0, 0, 5), (np.nan, np.nan, np.nan))
    normal = np.array([2, 2, 2], dtype=np.uint8)
    is_arc = np.array([False, True, False])
    points, row = flatten(start, end, centre, normal, column(0, 90, 0), is_arc, 0.2)
    assert row.tolist() == [0, 1, 1, 1, 1, 2]
    assert points[0].tolist() == [10, 0, 5]
    assert points[2].tolist() == pytest.approx([50**0.5, 50**0.5, 5])
    assert points[4].tolist() == [0, 10, 5]
    np.testing.assert_array_equal(points[-1], [0, 10, np.nan])


def test_helix_rises_evenly_along_its_own_normal() -> None:
    for normal in (0, 1, 2):
        first, second = ((normal + 1) % 3, (normal + 2) % 3)
        start, end, centre = [0.0] * 3, [0.0] * 3, [0.0] * 3
        start[first], end[second], end[normal] = 10.0, 10.0, -6.0
        points, _ = flatten_one(tuple(start), tuple(end), tuple(centre), normal, 90, 0.01)
        count = len(points)
        expected = [-6 * k / count for k in range(1, count + 1)]
        assert points[:, normal].tolist() == pytest.approx(expected)
        angles = [np.radians(90 * k / count) for k in range(1, count + 1)]
        assert points[:, first].tolist() == pytest.approx([10 * np.cos(a) for a in angles], abs=1e-9)
        assert points[:, second].tolist() == pytest.approx([10 * np.sin(a) for a in angles], abs=1e-9)


@given(st.floats(0.05, 500), st.floats(0.5, 360), st.sampled_from([0.001, 0.01, 0.3, 5.0]), st.sampled_from([1, -1]))
def test_no_chord_stands_further_off_than_the_tolerance_and_fewer_chords_would(
    radius: float, extent: float, tolerance: float, direction: int
) -> None:
    sweep = direction * extent
    end = (radius * np.cos(np.radians(sweep)), radius * np.sin(np.radians(sweep)), 0)
    points, _ = flatten_one((radius, 0, 0), end, (0, 0, 0), 2, sweep, tolerance)
    corners = np.concatenate([[[radius, 0, 0]], points])
    middles = (corners[1:] + corners[:-1]) / 2
    off = radius - np.hypot(middles[:, 0], middles[:, 1])
    step = extent / len(points)
    assert off.max() <= tolerance + 1e-9
    assert points[-1].tolist() == list(end)
    if len(points) > 1:
        fewer = radius * (1 - np.cos(np.radians(extent / (len(points) - 1) / 2)))
        assert fewer > tolerance - 1e-9 or step <= 90 < extent / (len(points) - 1) + 1e-6


def test_a_full_circle_keeps_an_area_however_coarse_the_tolerance() -> None:
    points, _ = flatten_one((2, 0, 0), (2, 0, 0), (0, 0, 0), 2, 360, 50)
    expected = [0, 2, -2, 0, 0, -2, 2, 0]
    assert points[:, :2].ravel().tolist() == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("parts", [2, 3, 7, 11, 13, 30])
def test_an_exact_multiple_of_the_longest_chord_gains_no_chord_by_float_noise(parts: int) -> None:
    for radius in (0.7, 3.0, 10.0, 123.4):
        tolerance = radius * (1 - float(np.cos(np.radians(90 / parts / 2))))
        points, _ = flatten_one((radius, 0, 0), (0, radius, 0), (0, 0, 0), 2, 90, tolerance)
        assert len(points) == parts


def test_radii_that_differ_a_little_are_joined_without_a_jump() -> None:
    points, _ = flatten_one((10, 0, 0), (-10.002, 0, 0), (0, 0, 0), 2, 180, 0.001)
    radii = np.hypot(points[:, 0], points[:, 1])
    expected = 10 + 0.002 * np.arange(1, len(points) + 1) / len(points)
    assert radii.tolist() == pytest.approx(expected.tolist(), abs=1e-9)


@pytest.mark.parametrize("tolerance", [0.0, -0.01, float("nan")])
def test_a_tolerance_that_is_no_length_is_refused(tolerance: float) -> None:
    with pytest.raises(ValueError, match="chord tolerance"):
        flatten_one((1, 0, 0), (0, 1, 0), (0, 0, 0), 2, 90, tolerance)


def test_nothing_flattens_to_nothing() -> None:
    nothing = np.empty((0, 3))
    none = np.empty(0, dtype=np.uint8)
    points, row = flatten(nothing, nothing, nothing, none, column(), none.astype(bool), 0.01)
    assert points.shape == (0, 3)
    assert row.shape == (0,)
