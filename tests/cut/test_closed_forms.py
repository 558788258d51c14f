"""The map against shapes whose volume and height are known in closed form, and against morphology.

Volumes are sums over cells: a slot's edge passes cells, so they are as good as the grid, and better the finer it is.
"""

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import ndimage

from flipreg.cut.grid import Grid
from flipreg.cut.heightmap import height_map
from flipreg.cut.tool import Cutter
from flipreg.path import Path
from tests import motions as outside
from tests.cut.bruteforce import polyline

Floats = NDArray[np.float64]

STEP_MM = 0.05
SLOT = Grid.covering((-9.0, -9.0), (49.0, 9.0), STEP_MM)


def removed_mm3(path: Path, cutter: Cutter, grid: Grid) -> float:
    return float(-height_map(path, cutter, grid, top_mm=0.0).sum(dtype=np.float64)) * grid.cell_mm2


def pass_of_40_mm(depth_mm: float) -> Path:
    return polyline(np.array([[0.0, 0.0, -depth_mm], [40.0, 0.0, -depth_mm]]))


@pytest.mark.parametrize(
    ("cutter", "depth_mm", "volume_mm3"),
    [
        # Slot, 40 between centres, d 6, 5 deep; ball-nose slots r 3; 90 degree groove with cone ends: closed forms that
        # manifold3d 3.5.4 met within 2e-4.
        (Cutter.flat(6.0), 5.0, 1341.371669),
        (Cutter.ball(6.0), 3.0, 622.035345),
        (Cutter.ball(6.0), 5.0, 1158.584013),
        (Cutter.vee(16.0, 90.0), 4.0, 707.020643),
    ],
)
def test_a_pass_removes_the_volume_of_its_slot(cutter: Cutter, depth_mm: float, volume_mm3: float) -> None:
    assert removed_mm3(pass_of_40_mm(depth_mm), cutter, SLOT) == pytest.approx(volume_mm3, rel=1e-3)


def test_a_plunged_ball_removes_a_spherical_cap() -> None:
    # Sphere cap R 5, h 2: 54.454273 mm³ (closed form).
    plunge = polyline(np.array([[0.0, 0.0, 1.0], [0.0, 0.0, -2.0]]))
    grid = Grid.covering((-6.0, -6.0), (6.0, 6.0), STEP_MM)
    assert removed_mm3(plunge, Cutter.ball(10.0), grid) == pytest.approx(54.454273, rel=1e-3)


def test_a_plunged_vee_with_a_flat_tip_removes_a_frustum() -> None:
    # Cone frustum 6/3, h 10: 659.734457 mm³ (closed form); half angle atan(0.3).
    cutter = Cutter.vee(12.0, 2 * math.degrees(math.atan(0.3)), tip_width_mm=6.0)
    grid = Grid.covering((-7.0, -7.0), (7.0, 7.0), STEP_MM)
    plunge = polyline(np.array([[0.0, 0.0, 1.0], [0.0, 0.0, -10.0]]))
    assert removed_mm3(plunge, cutter, grid) == pytest.approx(659.734457, rel=1e-3)


def test_a_drilled_hole_has_a_cone_at_its_bottom() -> None:
    # r 3, tip 10 deep, 118 degrees: a cylinder less what the cone leaves, two thirds of its point's cylinder.
    point = 3.0 / math.tan(math.radians(59.0))
    expected = 9 * math.pi * (10.0 - 2.0 / 3.0 * point)
    grid = Grid.covering((-4.0, -4.0), (4.0, 4.0), STEP_MM)
    plunge = polyline(np.array([[0.0, 0.0, 1.0], [0.0, 0.0, -10.0]]))
    assert removed_mm3(plunge, Cutter.drill(6.0, 118.0), grid) == pytest.approx(expected, rel=2e-3)


def test_an_arc_slot_removes_its_area_times_its_depth() -> None:
    # Arc slot R 50, width 6, 90 degrees, round ends: 499.513232 mm² (closed form).
    arc = outside.motions("G21 G17 G90 F600\nG0 X50 Y0 Z-2\nG3 X0 Y50 I-50 J0\n").take(slice(1, None))
    grid = Grid.covering((-5.0, -5.0), (55.0, 55.0), 0.1)
    assert removed_mm3(arc, Cutter.flat(6.0), grid) == pytest.approx(2 * 499.513232, rel=1e-3)


def test_a_ring_leaves_its_core() -> None:
    ring = outside.motions("G21 G17 G90 F600\nG0 X10 Y0 Z-4\nG3 X10 Y0 I-10 J0\n").take(slice(1, None))
    grid = Grid.covering((-15.0, -15.0), (15.0, 15.0), 0.1)
    heights = height_map(ring, Cutter.flat(6.0), grid, top_mm=0.0)
    x, y = np.meshgrid(grid.xs_mm, grid.ys_mm)
    away = np.hypot(x, y)
    assert (heights[(away > 7.01) & (away < 12.99)] == -4.0).all()
    assert (heights[(away < 6.99) | (away > 13.01)] == 0.0).all()


@pytest.mark.parametrize(
    ("diameter_mm", "stepover_mm", "scallop_mm"),
    [(6.0, 0.5, 0.010435), (10.0, 2.0, 0.101021), (6.0, 0.34627, 0.005)],
)
def test_cusps_between_ball_passes_have_the_height_of_the_scallop_formula(
    diameter_mm: float, stepover_mm: float, scallop_mm: float
) -> None:
    # h = R - sqrt(R² - s²/4), derived geometry; a row of centres lies on the cusp.
    rows = [[[0.0, y, -3.0], [20.0, y, -3.0]] for y in (-stepover_mm, 0.0, stepover_mm)]
    passes = Path.concatenate([polyline(np.array(row)) for row in rows])
    grid = Grid(5.0, 0.0, stepover_mm / 2, (2, 10))
    valley, cusp = height_map(passes, Cutter.ball(diameter_mm), grid, top_mm=0.0)
    assert (valley == np.float32(-3.0)).all()
    np.testing.assert_allclose(cusp + 3.0, scallop_mm, atol=1e-6)


def test_a_falling_ball_leaves_a_straight_groove_under_a_cylinder() -> None:
    # Across the way's vertical plane the swept ball is an ellipse: R cos(slope) below its tip's line, seen upright.
    fall = math.radians(30.0)
    run = polyline(np.array([[-20.0, 0.0, -1.0], [20.0, 0.0, -1.0 - 40.0 * math.tan(fall)]]))
    grid = Grid(0.0, -2.5, 0.5, (11, 3))
    heights = height_map(run, Cutter.ball(6.0), grid, top_mm=0.0)
    x, y = np.meshgrid(grid.xs_mm, grid.ys_mm)
    axis = -1.0 - (x + 20.0) * math.tan(fall) + 3.0
    np.testing.assert_allclose(heights, axis - np.sqrt(9.0 - y * y) / math.cos(fall), atol=1e-4)


def test_finer_grids_come_closer_to_the_volume() -> None:
    errors = []
    for step in (0.8, 0.2, 0.05):
        grid = Grid.covering((-9.03, -9.01), (49.0, 9.0), step)
        errors.append(abs(removed_mm3(pass_of_40_mm(5.0), Cutter.flat(6.0), grid) - 1341.371669))
    assert errors[2] < errors[0] / 4
    assert errors[2] < 2.0


@pytest.mark.parametrize("cutter", [Cutter.flat(6.0), Cutter.ball(6.0)], ids=["flat", "ball"])
def test_morphology_agrees_within_its_own_error(cutter: Cutter) -> None:
    # An erosion of a map of tips sees every tip in the middle of its cell: sideways by half a diagonal at most.
    step = 0.25
    grid = Grid(0.0, 0.0, step, (80, 90))
    t = np.linspace(0.0, 2 * np.pi, 4001)
    way = np.column_stack([11 + 7 * np.cos(t), 10 + 6 * np.sin(2 * t), np.full(4001, -4.0)])
    tips = np.full(grid.shape, np.inf)
    tips[np.rint(way[:, 1] / step).astype(int), np.rint(way[:, 0] / step).astype(int)] = -4.0
    cells = int(cutter.radius_mm / step)
    away = np.hypot(*np.mgrid[-cells : cells + 1, -cells : cells + 1]) * step
    inside = away <= cutter.radius_mm
    rise = np.where(inside, cutter.profile(np.minimum(away, cutter.radius_mm)), 0.0)
    eroded = np.minimum(
        ndimage.grey_erosion(tips, footprint=inside, structure=-rise, mode="constant", cval=np.inf), 0.0
    )
    plain = height_map(polyline(way), cutter, grid, top_mm=0.0)
    # The path's own points are up to 0.01 mm apart from what a cell has seen.
    error_mm = grid.reach_mm + 0.01
    low = height_map(polyline(way), cutter.grown(error_mm), grid, top_mm=0.0)
    assert (low <= eroded + 1e-4).all()
    # What both call cut differs by no more than the profile does over that distance: least where it is level.
    deep = eroded <= -4.0 + float(cutter.profile(np.array([1.0]))[0])
    steepest = float(cutter.profile(np.array([1.0 + 2 * error_mm]))[0] - cutter.profile(np.array([1.0]))[0])
    assert int(deep.sum()) > 800
    assert float(np.abs(plain - eroded)[deep].max()) <= (steepest if cutter.is_ball else 4.0)
    if cutter.is_flat:
        assert (eroded <= height_map(polyline(way), Cutter.flat(6.0 - 2 * error_mm), grid, top_mm=0.0)).all()
