import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.heightmap import height_map, height_map_of, undetermined
from flipreg.cut.tool import Cutter
from flipreg.geometry.arc import arc_points
from flipreg.path import Compensation, Kind, Path
from tests.cut.bruteforce import brute_height, brute_map, polyline

Floats = NDArray[np.float64]

CUTTERS = {
    "flat": Cutter.flat(6.0),
    "ball": Cutter.ball(6.0),
    "bull": Cutter.bull(6.0, 1.0),
    "vee": Cutter.vee(6.0, 60.0, tip_width_mm=0.4),
    "sharp vee": Cutter.vee(12.0, 90.0),
    "needle": Cutter.vee(3.0, 15.0),
    "drill": Cutter.drill(4.0, 118.0),
    "grown ball": Cutter.ball(6.0).grown(0.2),
    "small ball": Cutter.ball(1.0),
}
GRID = Grid(-3.0, -2.0, 0.25, (60, 64))
TOLERANCE_MM = 1e-4


def crossing(rng: np.random.Generator) -> Floats:
    """Long motions in all directions, steep and level."""
    return np.column_stack([rng.uniform(-8, 18, (12, 2)), rng.uniform(-6, 2, 12)])


def wandering(rng: np.random.Generator) -> Floats:
    """Many short motions that turn sharply and rise steeply."""
    steps: Floats = rng.normal(0, [0.8, 0.8, 0.5], (40, 3))
    return np.asarray(np.cumsum(steps, axis=0) + np.array([5.0, 5.0, -3.0]))


def smooth(rng: np.random.Generator) -> Floats:
    """Short motions that turn gently and wave up and down: what strips are cut narrow for."""
    t = np.linspace(0.0, rng.uniform(4, 7), 70) + rng.uniform(0, 6)
    waves, deep = rng.uniform(1, 6), rng.uniform(0.2, 2)
    return np.column_stack([5 + t * np.cos(t), 5 + 6 * np.sin(t), -2.5 + deep * np.sin(waves * t)])


def straight_on(rng: np.random.Generator) -> Floats:
    """Short motions in one direction with changing slopes."""
    along = np.cumsum(rng.uniform(0.05, 0.9, 40))
    turn = rng.choice([0.0, 0.3, np.pi / 4, np.pi / 2, 2.0, np.pi])
    z = -3 + np.cumsum(rng.normal(0, 0.2, 40))
    return np.column_stack([5 + (along - 9) * np.cos(turn), 5 + (along - 9) * np.sin(turn), z])


def climbing(rng: np.random.Generator) -> Floats:
    """Short motions that turn a little every time and always rise: strips that begin behind their corners."""
    heading = np.cumsum(rng.normal(0, 0.25, 60))
    length = rng.uniform(0.1, 0.6, 60)
    z = -5 + np.cumsum(length * rng.choice([0.02, 0.2, 0.6], 60))
    return np.column_stack([4 + np.cumsum(length * np.cos(heading)), 4 + np.cumsum(length * np.sin(heading)), z])


SHAPES = [crossing, wandering, smooth, straight_on, climbing]


@pytest.mark.parametrize("shape", range(len(SHAPES)))
@pytest.mark.parametrize("name", CUTTERS)
def test_every_centre_is_right_against_brute_force_on_random_motions(name: str, shape: int) -> None:
    # Fine and coarse grids take turns, so that each cutter and each shape meets both.
    seed, step_mm = ((0, 0.1), (1, 0.4))[(shape + [*CUTTERS].index(name)) % 2]
    path = polyline(SHAPES[shape](np.random.default_rng(seed)))
    cutter, grid = CUTTERS[name], replace(GRID, step_mm=step_mm)
    np.testing.assert_allclose(
        height_map(path, cutter, grid, top_mm=0.0), brute_map(path, cutter, grid, 0.0), rtol=0, atol=TOLERANCE_MM
    )


def test_a_large_ball_is_as_right_as_a_small_one() -> None:
    path = polyline(smooth(np.random.default_rng(3)) - np.array([0.0, 0.0, 8.0]))
    grid = Grid(-18.0, -18.0, 1.1, (41, 43))
    np.testing.assert_allclose(
        height_map(path, Cutter.ball(40.0), grid, top_mm=0.0),
        brute_map(path, Cutter.ball(40.0), grid, 0.0),
        rtol=0,
        atol=TOLERANCE_MM,
    )


@pytest.mark.parametrize("turn_deg", [0.0, 30.0])
@pytest.mark.parametrize("rise_mm", [0.0, 2.0])
@pytest.mark.parametrize("name", ["flat", "ball"])
def test_centres_a_hair_inside_the_rim_are_right(name: str, rise_mm: float, turn_deg: float) -> None:
    # There the ball is so steep that single precision is off by a millimetre's hundredth.
    turn = np.radians(turn_deg)
    along, across = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
    for inside_mm in (1e-7, 1e-6, 1e-5, 1e-4, 1e-3):
        grid = Grid(7.13, 5.77, 0.31, (1, 1))
        foot = np.array([grid.x_mm, grid.y_mm]) - (3.0 - inside_mm) * across
        corners = np.array([[*(foot - 4.0 * along), -4.0], [*(foot + 4.0 * along), -4.0 + rise_mm]])
        expected = brute_map(polyline(corners), CUTTERS[name], grid, 0.0)
        assert expected[0, 0] < 0.0
        actual = height_map(polyline(corners), CUTTERS[name], grid, top_mm=0.0)
        np.testing.assert_allclose(actual, expected, rtol=0, atol=TOLERANCE_MM)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.tuples(*[st.integers(-6, 18)] * 2, st.integers(-10, 2)), min_size=2, max_size=8),
    st.sampled_from(list(CUTTERS.values())),
    st.sampled_from([0.25, 0.5, 1.0]),
)
def test_centres_on_the_rim_are_cut_and_all_others_are_right(
    corners: list[tuple[int, int, int]], cutter: Cutter, step_mm: float
) -> None:
    # Whole numbers put centres exactly on rims: those may count as cut, by 1e-5 mm, never as not cut.
    path = polyline(np.array(corners, dtype=np.float64) * [1.0, 1.0, 0.5])
    grid = Grid(0.0, 0.0, step_mm, (12, 13))
    heights = height_map(path, cutter, grid, top_mm=0.0)
    assert (heights <= brute_map(path, cutter, grid, 0.0) + TOLERANCE_MM).all()
    assert (heights >= brute_map(path, cutter.grown(1e-5), grid, 0.0) - TOLERANCE_MM).all()


@pytest.mark.parametrize("cutter", CUTTERS.values(), ids=CUTTERS)
def test_the_map_does_not_depend_on_order_or_direction_or_how_motions_are_cut_up(cutter: Cutter) -> None:
    rng = np.random.default_rng(5)
    path = polyline(np.concatenate([smooth(rng), crossing(rng)]))
    whole = height_map(path, cutter, GRID, top_mm=0.0)
    order = rng.permutation(len(path))
    backwards = replace(path.take(order), start=path.end[order], end=path.start[order])
    middle = 0.3 * path.start + 0.7 * path.end
    halves = Path.concatenate([replace(path, end=middle), replace(path, start=middle)])
    for other in (path.take(order), backwards, halves):
        np.testing.assert_allclose(height_map(other, cutter, GRID, top_mm=0.0), whole, rtol=0, atol=TOLERANCE_MM)


def test_the_map_does_not_depend_on_the_size_of_batches(monkeypatch: pytest.MonkeyPatch) -> None:
    path = polyline(wandering(np.random.default_rng(1)))
    whole = height_map(path, CUTTERS["ball"], GRID, top_mm=0.0)
    monkeypatch.setattr("flipreg.cut.stamp._CELLS", 100)
    monkeypatch.setattr("flipreg.cut.surface._MOTIONS", 7)
    np.testing.assert_allclose(height_map(path, CUTTERS["ball"], GRID, top_mm=0.0), whole, rtol=0, atol=1e-5)


@pytest.mark.parametrize("diameter_mm", [0.6, 14.0, 50.0])
@pytest.mark.parametrize("seed", range(3))
def test_motions_over_the_edge_are_right_with_fine_and_coarse_cutters(seed: int, diameter_mm: float) -> None:
    rng = np.random.default_rng(seed)
    long = np.column_stack([rng.uniform(-60, 60, (25, 2)), rng.uniform(-9, 1, 25)])
    short = np.cumsum(rng.normal(0, [3.0, 3.0, 1.0], (40, 3)), axis=0) + np.array([0.0, 0.0, -4.0])
    path = polyline(np.concatenate([long, short]))
    grid = Grid(-4.0, -3.0, 0.7, (9, 12))
    for cutter in (Cutter.flat(diameter_mm), Cutter.ball(diameter_mm), Cutter.bull(diameter_mm, 0.2)):
        np.testing.assert_allclose(
            height_map(path, cutter, grid, top_mm=0.0), brute_map(path, cutter, grid, 0.0), rtol=0, atol=TOLERANCE_MM
        )


def test_slanted_runs_that_begin_outside_the_map_are_right() -> None:
    # Such a run's first cells have no place in memory; the rest of it has.
    path = polyline(np.array([[-1.774, -6.305, -5.291], [14.193, 10.693, -3.991]]))
    grid = Grid(1.24, 2.657, 0.1664, (30, 33))
    cutter = Cutter.bull(10.374, 1.296)
    np.testing.assert_allclose(
        height_map(path, cutter, grid, top_mm=0.0), brute_map(path, cutter, grid, 0.0), rtol=0, atol=TOLERANCE_MM
    )


def test_a_part_of_the_grid_reads_like_the_whole() -> None:
    path = polyline(crossing(np.random.default_rng(2)))
    whole = height_map(path, CUTTERS["bull"], GRID, top_mm=0.0)
    part = Grid(GRID.x_mm + 10 * GRID.step_mm, GRID.y_mm + 7 * GRID.step_mm, GRID.step_mm, (20, 30))
    np.testing.assert_allclose(
        height_map(path, CUTTERS["bull"], part, top_mm=0.0), whole[7:27, 10:40], rtol=0, atol=TOLERANCE_MM
    )


def test_arcs_are_within_their_chords_tolerance() -> None:
    path = helix()
    grid = Grid(-9.0, -9.0, 0.63, (29, 29))
    flat = height_map(path, Cutter.flat(4.0), grid, top_mm=0.0, chord_mm=1e-4)
    fractions = np.linspace(0.0, 1.0, 4001)
    points = arc_points(np.tile(path.start[:, :2], (4001, 1)), np.tile(path.centre[:, :2], (4001, 1)),
                        np.full(4001, path.sweep_deg[0]), fractions)  # fmt: skip
    z = path.start[0, 2] + fractions * (path.end[0, 2] - path.start[0, 2])
    x, y = np.meshgrid(grid.xs_mm, grid.ys_mm)
    away = np.hypot(x[..., np.newaxis] - points[:, 0], y[..., np.newaxis] - points[:, 1])
    for slack_mm, is_above in ((-0.003, True), (0.003, False)):
        sampled = np.where(away <= 2.0 + slack_mm, z, 0.0).min(axis=-1)
        assert (flat <= sampled + 0.003).all() if is_above else (flat >= sampled - 0.003).all()


def test_traverses_count_and_motions_above_the_face_do_not() -> None:
    corners = np.array([[0.0, 0.0, -2.0], [5.0, 0.0, -2.0]])
    traverse = height_map(polyline(corners, kind=Kind.RAPID), Cutter.flat(2.0), GRID, top_mm=0.0)
    assert traverse.min() == np.float32(-2.0)
    above = height_map(polyline(corners + np.array([0.0, 0.0, 2.0])), Cutter.flat(2.0), GRID, top_mm=0.0)
    assert (above == 0.0).all()


def test_motions_that_are_not_known_are_left_out_and_named() -> None:
    path = polyline(np.array([[np.nan, np.nan, 5.0], [0.0, 0.0, 5.0], [0.0, 0.0, -1.0], [4.0, 0.0, -1.0]]))
    assert undetermined(path, top_mm=0.0).tolist() == []
    assert undetermined(path, top_mm=6.0).tolist() == [0]
    side = replace(path, compensation=np.array([0, 0, Compensation.LEFT], np.int8))
    assert undetermined(side, top_mm=0.0).tolist() == [2]
    left = height_map(side, Cutter.flat(2.0), GRID, top_mm=0.0)
    only_plunge = height_map(path.take(slice(1, 2)), Cutter.flat(2.0), GRID, top_mm=0.0)
    np.testing.assert_array_equal(left, only_plunge)
    assert left.min() == np.float32(-1.0)


def test_a_rest_cuts_where_nothing_else_passes() -> None:
    alone = height_map(polyline(np.array([[2.0, 2.0, -1.0]] * 2)), Cutter.flat(2.0), GRID, top_mm=0.0)
    plunge = height_map(polyline(np.array([[2.0, 2.0, 1.0], [2.0, 2.0, -1.0]])), Cutter.flat(2.0), GRID, top_mm=0.0)
    np.testing.assert_array_equal(alone, plunge)
    assert int((alone < 0).sum()) > 40


def test_several_cutters_leave_the_lower_of_their_maps() -> None:
    one, two = polyline(crossing(np.random.default_rng(1))), polyline(smooth(np.random.default_rng(2)))
    first = height_map(one, CUTTERS["flat"], GRID, top_mm=0.0)
    second = height_map(two, CUTTERS["ball"], GRID, top_mm=0.0)
    both = height_map_of([(one, CUTTERS["flat"]), (two, CUTTERS["ball"])], GRID, top_mm=0.0)
    np.testing.assert_allclose(both, np.minimum(first, second), rtol=0, atol=1e-6)
    np.testing.assert_allclose(
        height_map_of([(two, CUTTERS["ball"])], GRID, top_mm=first), np.minimum(first, second), rtol=0, atol=1e-6
    )


def test_a_face_that_is_no_number_is_refused() -> None:
    with pytest.raises(ValueError, match="face"):
        height_map(polyline(crossing(np.random.default_rng(0))), CUTTERS["flat"], GRID, top_mm=float("nan"))


@pytest.mark.parametrize("name", ["flat", "ball", "bull", "vee", "drill"])
def test_the_map_of_the_grown_cutter_is_nowhere_above_the_surface_in_the_cell(name: str) -> None:
    path = polyline(smooth(np.random.default_rng(4)))
    cutter = CUTTERS[name]
    coarse = Grid(0.0, 0.0, 1.0, (9, 9))
    low = height_map(path, cutter.grown(coarse.reach_mm), coarse, top_mm=0.0)
    fine = brute_map(path, cutter, Grid.covering((-0.5, -0.5), (8.5, 8.5), 0.1), 0.0)
    lowest_in_cell = fine.reshape(9, 10, 9, 10).min(axis=(1, 3))
    assert (low <= lowest_in_cell + TOLERANCE_MM).all()
    plain = height_map(path, cutter, coarse, top_mm=0.0)
    assert not (plain <= lowest_in_cell + TOLERANCE_MM).all()


def helix() -> Path:
    """Return three quarters of a turn, 5 mm about the origin, falling by 3 mm."""
    start = np.array([[5.0, 0.0, -1.0]])
    straight = polyline(np.array([start[0], [0.0, -5.0, -4.0]]))
    return replace(
        straight,
        kind=np.array([Kind.ARC], np.uint8),
        centre=np.array([[0.0, 0.0, -1.0]]),
        sweep_deg=np.array([270.0]),
    )


def test_brute_force_finds_the_least_height_of_a_rising_ball() -> None:
    # At a slope of 1 the swept ball is a cylinder whose lowest line is R sqrt(2) below its axis.
    point = np.array([5.0]), np.array([0.0])
    height = brute_height(*point, np.array([0.0, 0.0, 0.0]), np.array([10.0, 0.0, 10.0]), Cutter.ball(6.0))
    assert height[0] == pytest.approx(5.0 + 3.0 - 3.0 * math.sqrt(2.0), abs=1e-9)
