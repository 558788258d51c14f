"""Carving programs without a closed contour: the silhouette tells as much as it can and no more."""

from decimal import Decimal

import numpy as np
import pytest
import shapely

from flipreg.geometry.isometry import Isometry
from flipreg.program.face import FaceProgram
from flipreg.register.check import check
from flipreg.register.faces.features import face_features
from flipreg.register.placing.silhouette import silhouette
from tests.register.shapes import PADDLE, PAGE, STILL, TRAY, Mill, carving, offset_ring, ring, shift

BLOCK = ring((0, 0), (200, 0), (200, 100), (0, 100))
SMALL = PADDLE * 0.4
"""Has its shape looked at in a third of the time, for what depends on no size."""
SHORT = PADDLE * 0.7
"""Is still long enough to show both of its centre lines, which the half isn't."""


def test_the_silhouette_is_the_region_that_is_swept() -> None:
    swept = silhouette(face_features(carving(PADDLE, step=0.5)), 4.0, use_tools=True)
    assert swept is not None
    expected = shapely.Polygon(PADDLE).buffer(3.0)
    # The last row lies up to a step inside the outline, and rows are 0.5 mm apart.
    assert expected.exterior.hausdorff_distance(shapely.LinearRing(swept)) < 0.75


def test_it_is_the_same_whether_or_not_the_middle_is_left_out() -> None:
    dense = silhouette(face_features(carving(PADDLE, step=1.0, spacing=0.3)), 4.0, use_tools=True)
    sparse = silhouette(face_features(carving(PADDLE, step=1.0, spacing=500.0)), 4.0, use_tools=True)
    assert dense is not None
    assert sparse is not None
    assert shapely.LinearRing(dense).hausdorff_distance(shapely.LinearRing(sparse)) < 0.01


@pytest.mark.parametrize("axis", ["x", "y"])
def test_the_flip_of_a_carving_is_found(axis: str) -> None:
    mirror = Isometry.mirror_x if axis == "y" else Isometry.mirror_y
    flip = mirror(datum_mm=(Decimal("12.3"), Decimal("45.6")))
    report = check(carving(PADDLE), carving(PADDLE, flip, spacing=0.5), tolerance_mm=0.1)
    assert report.flip.choice.axis == axis
    assert report.flip.choice.datum_mm == pytest.approx((12.3, 45.6), abs=0.01)
    assert report.in_register is True


def test_a_carving_that_is_off_is_not_in_register() -> None:
    report = check(carving(PADDLE), carving(PADDLE, PAGE @ shift("0.5", "0")), flip=PAGE, tolerance_mm=0.1)
    assert report.in_register is False
    assert report.register.dx_mm == pytest.approx(0.5, abs=0.01)


def test_a_carving_that_was_not_mirrored_is_named() -> None:
    report = check(carving(SMALL), carving(SMALL, STILL), flip=PAGE, tolerance_mm=0.1)
    assert report.in_register is False
    assert report.diagnosis is not None
    assert "not mirrored" in report.diagnosis


def test_rows_at_other_places_tell_about_where_the_back_lies_and_no_more() -> None:
    back = carving(SHORT, PAGE, step=0.8, phase=0.3)
    told = check(carving(SHORT), back, flip=PAGE, tolerance_mm=0.1)
    # The heights are symmetric about two lines, which show where silhouettes do not.
    assert told.in_register is True
    assert all("the centre lines" in str(direction.evidence) for direction in told.directions)
    moved = carving(SHORT, PAGE @ shift("0.2", "0"), step=0.8, phase=0.3)
    off = check(carving(SHORT), moved, flip=PAGE, tolerance_mm=0.1)
    assert off.in_register is None
    found = check(carving(SHORT), back, tolerance_mm=0.1)
    # A place known to some tenths is no flip that could be set on the machine.
    assert (found.in_register, found.flip.choice.axis, found.flip.is_found) == (None, None, False)
    (near,) = found.flip.alternatives
    assert near.axis == "y"
    assert near.datum_mm == pytest.approx((205.0, 0.0), abs=0.3)


def test_rows_at_other_places_still_disprove_the_wrong_hand() -> None:
    report = check(carving(SMALL), carving(SMALL, STILL, step=0.8, phase=0.3), flip=PAGE, tolerance_mm=0.1)
    assert report.in_register is False


def test_a_rectangle_of_rows_is_no_proof() -> None:
    flip = Isometry.mirror_x(datum_mm=(Decimal(200), Decimal(0)))
    # So near to each other, the points that are looked at leave the second of the two lines of symmetry open.
    front, back = carving(BLOCK * 0.4, spacing=0.7), carving(BLOCK * 0.4, flip, spacing=0.7)
    told = check(front, back, flip=flip, tolerance_mm=0.1)
    assert (told.in_register, len(told.flip.alternatives)) == (None, 3)
    found = check(front, back, tolerance_mm=0.1)
    assert (found.in_register, found.flip.is_found, len(found.flip.alternatives)) == (None, False, 4)


def test_carvings_of_different_regions_share_nothing() -> None:
    report = check(carving(SMALL), carving(BLOCK[:3] * 0.16, PAGE), flip=PAGE, tolerance_mm=0.1)
    assert report.in_register is None
    assert report.register.worst_mm is None


def test_the_silhouette_of_a_recess_within_a_profile_finds_no_flip() -> None:
    def face(radius: float, moved: Isometry, away: float) -> list[FaceProgram]:
        mill = Mill().contour(moved.apply(offset_ring(TRAY, radius)))
        for inward in (6.0, 3.0, 0.0):
            mill.contour(moved.apply(offset_ring(BLOCK * 0.3 + away, -inward)), (5.0,))
        return [mill.program("face.nc", None)]

    report = check(face(3.0, STILL, 60.0), face(5.0, PAGE, 75.0), axis="x", tolerance_mm=0.1)
    assert (report.in_register, report.flip.is_found) == (None, False)


def test_nothing_swept_has_no_silhouette() -> None:
    features = face_features(carving(PADDLE))
    assert silhouette(features, 4.0, use_tools=False) is not None
    assert np.isnan(face_features([]).cut_box_mm).all()
    assert silhouette(face_features([]), 4.0, use_tools=False) is None
