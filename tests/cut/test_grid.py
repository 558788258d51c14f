import numpy as np
import pytest

from flipreg.cut.grid import Grid, default_step_mm


def test_a_covering_grid_has_its_first_cell_in_the_lowest_corner() -> None:
    grid = Grid.covering((-1.0, 2.0), (1.0, 5.0), 0.5)
    assert grid.shape == (6, 4)
    assert grid.xs_mm.tolist() == [-0.75, -0.25, 0.25, 0.75]
    assert grid.ys_mm[[0, -1]].tolist() == [2.25, 4.75]


def test_whole_steps_gain_no_cell_and_a_rest_gets_one() -> None:
    assert Grid.covering((0.0, 0.0), (900.0, 350.0), 0.1).shape == (3500, 9000)
    assert Grid.covering((0.0, 0.0), (1.01, 1.0), 0.1).shape == (10, 11)


def test_no_point_of_a_cell_is_farther_from_its_centre_than_the_reach() -> None:
    grid = Grid(0.0, 0.0, 0.25, (1, 1))
    corner = np.hypot(0.125, 0.125)
    assert grid.reach_mm == pytest.approx(corner, rel=1e-12)


@pytest.mark.parametrize("step_mm", [0.0, -0.1, float("nan")])
def test_a_step_is_over_zero(step_mm: float) -> None:
    with pytest.raises(ValueError, match="step"):
        Grid.covering((0.0, 0.0), (1.0, 1.0), step_mm)
    with pytest.raises(ValueError, match="step"):
        Grid(0.0, 0.0, step_mm, (1, 1))


def test_a_grid_without_cells_is_refused() -> None:
    with pytest.raises(ValueError, match="shape"):
        Grid(0.0, 0.0, 1.0, (0, 3))


@pytest.mark.parametrize(
    ("size_mm", "tolerance_mm", "step_mm"),
    [
        ((100.0, 100.0), 0.2, 0.25),  # 0.25 mm is within 0.18 mm of a centre, 0.5 mm is not
        ((100.0, 100.0), 0.1, 0.1),
        ((100.0, 100.0), 0.01, 0.05),  # nothing is fine enough: the finest
        ((100.0, 100.0), 5.0, 1.0),
        ((900.0, 350.0), 0.1, 0.5),  # 0.25 mm would be five million cells
        ((9000.0, 9000.0), 0.1, 4.5),
    ],
)
def test_the_default_step_fits_the_tolerance_and_the_size(
    size_mm: tuple[float, float], tolerance_mm: float, step_mm: float
) -> None:
    assert default_step_mm((-10.0, 20.0), (size_mm[0] - 10.0, size_mm[1] + 20.0), tolerance_mm) == step_mm


def test_a_default_step_needs_a_tolerance() -> None:
    with pytest.raises(ValueError, match="tolerance"):
        default_step_mm((0.0, 0.0), (1.0, 1.0), 0.0)


@pytest.mark.parametrize(
    ("low_mm", "high_mm"),
    [((1.2, 0.7), (2.6, 1.4)), ((-9.0, 0.0), (0.2, 9.0)), ((2.0, 1.0), (2.0, 1.0)), ((8.0, 8.0), (9.0, 9.0))],
)
def test_a_window_has_the_cells_of_a_box_and_hardly_more(
    low_mm: tuple[float, float], high_mm: tuple[float, float]
) -> None:
    grid = Grid(0.1, 0.2, 0.5, (7, 9))
    low, high = np.array(low_mm), np.array(high_mm)
    centres = np.stack(np.meshgrid(grid.xs_mm, grid.ys_mm), axis=-1)
    within, around = (
        ((centres >= low - more) & (centres <= high + more)).all(axis=-1) for more in (0.0, 2.0 * grid.step_mm)
    )
    cells = np.zeros(grid.shape, np.bool_)
    cells[grid.window(low, high)] = True
    assert not (within & ~cells).any()
    assert not (cells & ~around).any()


def test_a_part_of_a_grid_has_the_same_centres() -> None:
    grid = Grid(0.1, 0.2, 0.5, (7, 9))
    part = grid.part(slice(2, 5), slice(1, None))
    assert part.shape == (3, 8)
    assert part.xs_mm == pytest.approx(grid.xs_mm[1:])
    assert part.ys_mm == pytest.approx(grid.ys_mm[2:5])
    with pytest.raises(ValueError, match="shape"):
        grid.part(slice(3, 3), slice(0, 2))
