from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.thickness import BothFaces, thinnest_web
from flipreg.cut.tool import Cutter
from flipreg.geometry.isometry import Isometry
from flipreg.path import Path
from tests.cut.bruteforce import polyline
from tests.cut.faces import both_faces, regions

Floats = NDArray[np.float64]

OVER = Isometry.mirror_x(datum_mm=(Decimal(0), Decimal(0)))
GRID = Grid.covering((0.0, 0.0), (60.0, 40.0), 0.25)
FLAT = Cutter.flat(6.0)


def groove(*corners: tuple[float, float, float]) -> Path:
    return polyline(np.array(corners, dtype=np.float64))


def test_slots_in_both_faces_leave_the_rest_of_the_thickness() -> None:
    # 20 - 5 - 5 = 10 where they cross, 15 where one of them is, 20 elsewhere.
    front = groove((10, 20, -5), (50, 20, -5))
    back = groove((-30, 5, -5), (-30, 35, -5))
    faces = both_faces([(front, FLAT)], [(back, FLAT)], OVER, GRID, blank_mm=20.0)
    left = faces.left_mm
    assert sorted(np.unique(left).tolist()) == [10.0, 15.0, 20.0]
    assert cell(left, 30.1, 20.1) == 10.0
    assert cell(left, 30.1, 30.1) == 15.0
    assert cell(faces.back_mm, 30.1, 30.1) == -15.0
    assert cell(left, 5.1, 20.1) == 20.0
    # Both grooves' volume, the overlap counted once in neither, for they do not meet.
    removed = (20.0 - left).sum() * GRID.cell_mm2
    assert removed == pytest.approx(1341.371669 + 5 * (30 * 6 + 9 * np.pi), rel=3e-3)


def test_the_back_is_seen_from_its_own_side() -> None:
    # At x = -10 on the back lies x = +10 of the front, not x = 50.
    back = groove((-10, 20, -5), (-10, 25, -5))
    faces = both_faces([], [(back, FLAT)], OVER, GRID, blank_mm=20.0)
    assert cell(faces.left_mm, 10.1, 22.1) == 15.0
    assert cell(faces.left_mm, 50.1, 22.1) == 20.0
    turned = Isometry.mirror_y(datum_mm=(Decimal(0), Decimal(40)))
    down = both_faces([], [(groove((10, 5, -5), (10, 10, -5)), FLAT)], turned, GRID, blank_mm=20.0)
    assert cell(down.left_mm, 10.1, 32.1) == 15.0
    assert cell(down.left_mm, 10.1, 7.1) == 20.0


def test_the_faces_may_have_their_zero_anywhere() -> None:
    front, back = groove((10, 20, -5), (50, 20, -5)), groove((-30, 5, -5), (-30, 35, -5))
    lifted = both_faces(
        [(moved(front, 20.0), FLAT)], [(moved(back, 20.0), FLAT)], OVER, GRID,
        blank_mm=20.0, front_top_mm=20.0, back_top_mm=20.0,
    )  # fmt: skip
    at_face = both_faces([(front, FLAT)], [(back, FLAT)], OVER, GRID, blank_mm=20.0)
    np.testing.assert_allclose(lifted.front_mm, at_face.front_mm, atol=1e-5)
    np.testing.assert_allclose(lifted.back_mm, at_face.back_mm, atol=1e-5)


def test_pockets_that_meet_leave_a_region_without_wood_with_its_place_and_size() -> None:
    front = groove((10, 20, -12), (50, 20, -12))
    back = groove((-30, 5, -9), (-30, 35, -9))
    faces = both_faces([(front, FLAT)], [(back, FLAT)], OVER, GRID, blank_mm=20.0)
    (hole,) = regions(faces, met(faces))
    assert hole.area_mm2 == pytest.approx(36.0, rel=0.01)
    assert hole.box_mm == pytest.approx((27.0, 17.0, 33.0, 23.0))
    assert hole.least_mm == pytest.approx(-1.0)


def test_a_cut_through_from_one_face_is_no_breakthrough() -> None:
    through = both_faces([(groove((10, 20, -20.5), (50, 20, -20.5)), FLAT)], [], OVER, GRID, blank_mm=20.0)
    assert not met(through).any()
    assert not cell(through.is_left, 30.1, 20.1)


def test_a_cut_that_should_go_through_and_does_not_leaves_a_skin() -> None:
    front = groove((10, 20, -10.0), (30, 20, -10.0), (50, 20, -10.4))
    back = groove((-10, 20, -9.8), (-50, 20, -9.8))
    faces = both_faces([(front, FLAT)], [(back, FLAT)], OVER, GRID, blank_mm=20.0)
    meant = np.zeros(GRID.shape, np.bool_)
    meant[78:82, 48:192] = True
    (skin,) = regions(faces, faces.is_left & meant)
    assert skin.most_mm == pytest.approx(0.2)
    assert skin.least_mm > 0.0
    # Half of the fall is enough to get through: at x = 40 for the cutter's middle, so 3 mm before it for its rim.
    assert skin.box_mm[2] == pytest.approx(37.0, abs=0.3)


def test_the_thinnest_web_has_its_place_and_both_depths() -> None:
    front = groove((10, 20, -5), (20, 20, -7.5), (50, 20, -5))
    back = groove((-5, 20, -3), (-55, 20, -3))
    faces = both_faces([(front, Cutter.ball(6.0))], [(back, FLAT)], OVER, GRID, blank_mm=20.0)
    web = thinnest_web(faces)
    assert web is not None
    assert web.left_mm == pytest.approx(20 - 7.5 - 3, abs=0.01)
    assert web.at_mm == pytest.approx((20.0, 20.0), abs=0.2)
    assert web.front_mm == pytest.approx(-7.5, abs=0.01)
    assert web.back_mm == pytest.approx(-17.0)
    none = np.zeros(GRID.shape, np.bool_)
    assert thinnest_web(faces, where=none) is None


def test_grown_cutters_never_read_a_web_too_thick() -> None:
    rng = np.random.default_rng(3)
    corners = np.column_stack([rng.uniform(5, 55, 25), rng.uniform(5, 35, 25), rng.uniform(-9, -1, 25)])
    cuts, behind = [(polyline(corners), Cutter.ball(6.0))], [(polyline(corners[::-1] * [-1, 0.9, 0.7]), FLAT)]
    coarse = Grid.covering((0.0, 0.0), (60.0, 40.0), 1.0)
    fine = both_faces(cuts, behind, OVER, Grid.covering((0.0, 0.0), (60.0, 40.0), 0.1), blank_mm=20.0)
    low = both_faces(cuts, behind, OVER, coarse, blank_mm=20.0, grown_mm=coarse.reach_mm)
    least_in_cell = fine.left_mm.reshape(40, 10, 60, 10).min(axis=(1, 3))
    assert (low.left_mm <= least_in_cell + 1e-4).all()


def test_floors_that_share_no_height_do_not_hold_each_other() -> None:
    # The left half is what the back leaves of the upper side, the right half what the front leaves of the lower one.
    front = np.array([[0.0, 0.0, -10.0, -10.0]], np.float32)
    back = np.array([[-10.0, -10.0, -20.0, -20.0]], np.float32)
    assert BothFaces(Grid(0.0, 0.0, 1.0, (1, 4)), front, back, 20.0).pieces().count == 2
    overlapping = back - np.array([[0.0, 0.5, 0.0, 0.0]], np.float32)
    assert BothFaces(Grid(0.0, 0.0, 1.0, (1, 4)), front, overlapping, 20.0).pieces().count == 1


@pytest.mark.parametrize("zero", ["both faces", "spoilboard", "front face"])
@pytest.mark.parametrize(("blank_mm", "front_mm"), [(18.0, 0.2), (18.0, 0.4), (19.05, 6.1), (12.7, 4.2), (18.3, 9.15)])
def test_cuts_that_meet_exactly_leave_nothing_that_holds(blank_mm: float, front_mm: float, zero: str) -> None:
    # Decimal depths have no exact single-precision numbers: what rounding leaves, below a micrometre, is no wood.
    front_top = blank_mm if zero == "spoilboard" else 0.0
    back_top = 0.0 if zero == "both faces" else blank_mm
    front = groove((10, -5, front_top - front_mm), (10, 45, front_top - front_mm))
    deep = round(blank_mm - front_mm, 6)
    back = groove((-10, -5, back_top - deep), (-10, 45, back_top - deep))
    faces = both_faces(
        [(front, FLAT)], [(back, FLAT)], OVER, GRID,
        blank_mm=blank_mm, front_top_mm=front_top, back_top_mm=back_top,
    )  # fmt: skip
    assert faces.pieces().count == 2
    assert not (faces.is_left & (faces.left_mm < 1.0)).any()
    (hole,) = regions(faces, met(faces))
    assert hole.area_mm2 == pytest.approx(6.0 * 40.0, rel=0.05)
    web = thinnest_web(faces)
    assert web is not None
    assert web.left_mm == pytest.approx(blank_mm, abs=1e-4)


def test_a_cut_exactly_through_meets_no_other() -> None:
    # The front's zero lies in the middle of the wood, so that its floor and the far face round differently.
    blank_mm, top_mm = 18.1, 3.3
    front = groove((10, -5, round(top_mm - blank_mm, 6)), (10, 45, round(top_mm - blank_mm, 6)))
    faces = both_faces([(front, FLAT)], [], OVER, GRID, blank_mm=blank_mm, front_top_mm=top_mm)
    assert not faces.is_left[:, 30:50].any()
    assert not met(faces).any()


def test_floors_that_share_no_more_than_rounding_do_not_hold_each_other() -> None:
    front = np.array([[0.0, 0.0, -10.0, -10.0]], np.float32)
    back = np.array([[-10.000001, -10.000001, -20.0, -20.0]], np.float32)
    assert BothFaces(Grid(0.0, 0.0, 1.0, (1, 4)), front, back, 20.0).pieces().count == 2


def met(faces: BothFaces) -> NDArray[np.bool_]:
    """Return the cells where cuts of both faces meet, although neither goes through."""
    return ~faces.is_left & ~faces.is_through


def cell(values: NDArray[np.generic], x: float, y: float) -> float:
    row, column = round((y - GRID.y_mm) / GRID.step_mm), round((x - GRID.x_mm) / GRID.step_mm)
    return float(values[row, column])


def moved(path: Path, dz: float) -> Path:
    return replace(path, start=path.start + [0, 0, dz], end=path.end + [0, 0, dz])  # noqa: RUF005
