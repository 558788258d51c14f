import numpy as np
import pytest

from flipreg.cut.grid import Grid
from flipreg.cut.heightmap import height_map
from flipreg.cut.surface import Surface
from flipreg.cut.tool import Cutter
from tests.cut.bruteforce import brute_map, polyline

GRID = Grid(-3.0, -2.0, 0.25, (60, 64))
CUTTERS = [Cutter.flat(6.0), Cutter.ball(3.0), Cutter.bull(6.0, 1.0), Cutter.vee(6.0, 60.0), Cutter.drill(4.0, 118.0)]


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("cutter", CUTTERS)
def test_cut_in_portions_is_cut_at_once(cutter: Cutter, seed: int) -> None:
    rng = np.random.default_rng(seed)
    path = polyline(np.column_stack([rng.uniform(-8, 18, (12, 2)), rng.uniform(-6, 2, 12)]))
    surface = Surface(GRID, [cutter], top_mm=0.0)
    for row in range(len(path)):
        surface.cut(path.take(slice(row, row + 1)), cutter)
    np.testing.assert_allclose(surface.heights_mm, height_map(path, cutter, GRID, top_mm=0.0), atol=1e-4)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("cutter", CUTTERS)
def test_what_a_motion_would_take_is_what_it_takes_and_nothing_is_cut(cutter: Cutter, seed: int) -> None:
    rng = np.random.default_rng(seed)
    corners = np.column_stack([rng.uniform(-12, 22, (6, 2)), rng.uniform(-6, 2, 6)])
    before, motion = polyline(corners[:-1]), polyline(corners[-2:])
    surface = Surface(GRID, [cutter], top_mm=0.0)
    surface.cut(before, cutter)
    heights = surface.heights_mm.copy()
    found = surface.removed(motion, cutter)
    np.testing.assert_array_equal(surface.heights_mm, heights)
    taken = heights - np.minimum(heights, brute_map(motion, cutter, GRID, 0.0))
    assert found.depth_mm == pytest.approx(float(taken.max()), abs=1e-3)
    if found.depth_mm > 0.01:
        column, row = ((np.array(found.at_mm) - (GRID.x_mm, GRID.y_mm)) / GRID.step_mm).round().astype(int)
        assert taken[row, column] == pytest.approx(found.depth_mm, abs=1e-3)


def test_a_motion_far_from_the_grid_takes_nothing() -> None:
    surface = Surface(GRID, [Cutter.flat(6.0)], top_mm=0.0)
    far = polyline(np.array([[500.0, 500.0, -3.0], [510.0, 500.0, -3.0]]))
    assert surface.removed(far, Cutter.flat(6.0)).depth_mm == 0.0


def test_a_copy_is_cut_alone() -> None:
    surface = Surface(GRID, [Cutter.flat(6.0)], top_mm=0.0)
    other = surface.copy()
    other.cut(polyline(np.array([[0.0, 0.0, -3.0], [5.0, 0.0, -3.0]])), Cutter.flat(6.0))
    assert float(surface.heights_mm.min()) == 0.0
    assert float(other.heights_mm.min()) == -3.0


@pytest.mark.parametrize("cutter", [*CUTTERS, Cutter.vee(6.0, 60.0, tip_width_mm=0.4)])
def test_a_slimmed_cutter_lies_inside_the_cutter(cutter: Cutter) -> None:
    r = np.linspace(0.0, cutter.radius_mm + 0.1, 400)
    slim = cutter.slimmed(0.05)
    assert bool((slim.profile(r) >= cutter.profile(r) - 1e-12).all())
    assert np.isinf(slim.profile(np.array([cutter.radius_mm - 0.04]))).all()
    with pytest.raises(ValueError, match="slimmed by less than its radius"):
        cutter.slimmed(cutter.radius_mm)


def test_a_cutter_wider_than_the_surface_was_made_for_is_refused() -> None:
    surface = Surface(GRID, [Cutter.flat(3.0)], top_mm=0.0)
    with pytest.raises(ValueError, match=r"was not made for a cutter of 6\.0 mm"):
        surface.cut(polyline(np.array([[0.0, 0.0, -3.0], [5.0, 0.0, -3.0]])), Cutter.flat(6.0))
