from dataclasses import replace

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from flipreg.cut.outline import outline
from flipreg.path import Path
from tests import motions as outside
from tests.cut.bruteforce import polyline

Floats = NDArray[np.float64]


def test_a_slot_has_the_area_of_its_capsule() -> None:
    # Slot, 40 between centres, d 6: 268.274334 mm² (closed form).
    slot = outline(polyline(np.array([[0.0, 0, 0], [40, 0, 0]])), 3.0, chord_mm=1e-4)
    assert slot.area == pytest.approx(268.274334, rel=1e-4)
    assert slot.area < 268.274334


def test_an_arc_slot_has_the_area_of_its_ring_and_ends() -> None:
    # Arc slot R 50, width 6, 90 degrees, round ends: 499.513232 mm² (closed form).
    arc = outside.motions("G21 G17 G90 F600\nG0 X50 Y0 Z0\nG3 X0 Y50 I-50 J0\n").take(slice(1, None))
    assert outline(arc, 3.0, chord_mm=1e-4).area == pytest.approx(499.513232, rel=1e-4)


def test_a_ring_keeps_its_hole() -> None:
    ring = outside.motions("G21 G17 G90 F600\nG0 X20 Y0 Z0\nG3 X20 Y0 I-20 J0\n").take(slice(1, None))
    region = outline(ring, 3.0, chord_mm=1e-3)
    assert isinstance(region, shapely.Polygon)
    assert len(region.interiors) == 1
    assert region.area == pytest.approx(np.pi * (23.0**2 - 17.0**2), rel=1e-4)


def test_a_plunge_alone_is_a_disc_and_adds_nothing_to_a_slot() -> None:
    corners = np.array([[0.0, 0, 5], [0, 0, -3], [40, 0, -3], [40, 0, -3], [40, 0, 5]])
    plunge = outline(polyline(corners[:2]), 3.0, chord_mm=1e-4)
    assert plunge.area == pytest.approx(9 * np.pi, rel=1e-3)
    with_plunges = outline(polyline(corners), 3.0, chord_mm=1e-4)
    assert with_plunges.equals(outline(polyline(corners[1:3]), 3.0, chord_mm=1e-4))


@pytest.mark.parametrize("seed", range(4))
def test_pieces_united_are_what_the_whole_line_buffered_is(seed: int) -> None:
    rng = np.random.default_rng(seed)
    corners = np.column_stack([np.cumsum(rng.normal(0, 2, (300, 2)), axis=0), np.zeros(300)])
    path = polyline(corners)
    jump = 170
    first, second = path.take(slice(0, jump)), path.take(slice(jump + 1, None))
    whole = shapely.union(
        shapely.LineString(corners[: jump + 1, :2]).buffer(1.5, quad_segs=32),
        shapely.LineString(corners[jump + 1 :, :2]).buffer(1.5, quad_segs=32),
    )
    region = outline(Path.concatenate([first, second]), 1.5, chord_mm=1.5 * (1 - np.cos(np.pi / 128)) * 1.0001)
    assert region.symmetric_difference(whole).area < 2e-3 * whole.area


def test_motions_whose_place_is_not_known_are_left_out() -> None:
    corners = np.array([[np.nan, np.nan, 5.0], [0, 0, 5], [10, 0, -1]])
    assert outline(polyline(corners), 2.0, chord_mm=0.01).equals(outline(polyline(corners[1:]), 2.0, chord_mm=0.01))
    # Only X and Y count for straight motions.
    no_z = polyline(corners[1:] * [1, 1, np.nan])
    assert outline(no_z, 2.0, chord_mm=0.01).equals(outline(polyline(corners[1:]), 2.0, chord_mm=0.01))


def test_without_motions_the_region_is_empty() -> None:
    assert outline(Path.empty(), 2.0, chord_mm=0.01).is_empty


def test_a_radius_and_a_tolerance_are_over_zero() -> None:
    path = polyline(np.array([[0.0, 0, 0], [1, 0, 0]]))
    with pytest.raises(ValueError, match="radius"):
        outline(path, 0.0, chord_mm=0.01)
    with pytest.raises(ValueError, match="chord"):
        outline(replace(path), 1.0, chord_mm=0.0)
