"""Inputs that nobody writes on purpose, against the definition of the height map."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.heightmap import height_map, height_map_of
from flipreg.cut.surface import CHORD_MM
from flipreg.cut.tool import Cutter
from flipreg.path import Kind, Path
from tests.cut.bruteforce import polyline
from tests.reference.cut.sampled import bounds

Floats = NDArray[np.float64]

GRID = Grid(-5.0, -4.0, 0.8, (11, 13))
CUTTERS = {
    "flat": Cutter.flat(6.0),
    "ball": Cutter.ball(6.0),
    "bull": Cutter.bull(6.0, 1.0),
    "vee": Cutter.vee(6.0, 60.0, tip_width_mm=0.4),
    "drill": Cutter.drill(6.0, 118.0),
}
WAY = [[-3.0, -3.0, -2.0], [3.0, 2.0, -4.0], [0.0, 5.0, -1.0]]


def way(*corners: list[float]) -> Path:
    return polyline(np.array(corners, dtype=np.float64))


def arc(start: list[float], end: list[float], centre: list[float], sweep_deg: float, normal: int = 2) -> Path:
    return replace(
        way(start, end),
        kind=np.array([Kind.ARC], np.uint8),
        centre=np.array([centre]),
        normal=np.array([normal], np.uint8),
        sweep_deg=np.array([sweep_deg]),
    )


def falling_helix() -> Path:
    return Path.concatenate([arc([2, 0, -0.1 * n], [2, 0, -0.1 * n - 0.1], [0, 0, -0.1 * n], 360.0) for n in range(12)])


Case = tuple[Path, Grid, float]

CASES: dict[str, Callable[[], Case]] = {
    "only a motion without length": lambda: (way([0, 0, -2], [0, 0, -2]), GRID, 0.0),
    "motions without length between others": lambda: (
        way([0, 0, -2], [0, 0, -2], [2, 1, -3], [2, 1, -3], [2, 1, -3], [3, 1, -1]), GRID, 0.0,
    ),
    "a start that is not known": lambda: (
        way([np.nan, np.nan, np.nan], [np.nan, 0, -2], [0, 0, -2], [3, 1, -2]), GRID, 0.0,
    ),
    "a place not known in the middle": lambda: (
        way([0, 0, -2], [2, 0, -2], [np.nan, 0, -2], [4, 2, -2], [4, 3, -2]), GRID, 0.0,
    ),
    "one cell": lambda: (way(*WAY), Grid(0.3, 0.2, 0.5, (1, 1)), 0.0),
    "one large cell": lambda: (way(*WAY), Grid(0.3, 0.2, 50.0, (1, 1)), 0.0),
    "one row": lambda: (way(*WAY), Grid(-4.0, 0.2, 0.25, (1, 40)), 0.0),
    "one column": lambda: (way(*WAY), Grid(0.2, -4.0, 0.25, (40, 1)), 0.0),
    "a face below zero": lambda: (way([-3, -3, -12], [3, 2, -14], [0, 5, -11]), GRID, -11.5),
    "a face above zero": lambda: (way([-3, -3, 112], [3, 2, 114], [0, 5, 111]), GRID, 113.5),
    "along the borders of cells": lambda: (
        way([-5.4, -0.4, -2], [4.2, -0.4, -2], [4.2, 3.6, -1], [-5.4, 3.6, -3]), GRID, 0.0,
    ),
    "diagonally through their corners": lambda: (way([-5.4, -4.4, -2], [4.2, 5.2, -2], [-4.6, -3.6, -3]), GRID, 0.0),
    "a helix of many turns": lambda: (falling_helix(), GRID, 0.0),
    "an arc in XZ": lambda: (arc([-4, 1, 0], [4, 1, 0], [0, 1, 0], -180.0, 1), GRID, 0.0),
    "an arc in XZ over the top": lambda: (arc([-4, 1, -3], [4, 1, -3], [0, 1, -3], 180.0, 1), GRID, 0.0),
    "a helix in XZ": lambda: (arc([-4, -3, -1], [-4, 4, -1], [0, -3, -1], -360.0, 1), GRID, 0.0),
    "an arc in YZ": lambda: (arc([1, -3, 0], [1, 3, 0], [1, 0, 0], 180.0, 0), GRID, 0.0),
    "a helix in YZ": lambda: (arc([1, -3, -1], [3, -3, -1], [1, 0, -1], -360.0, 0), GRID, 0.0),
    "down and up nearly upright": lambda: (way([0, 0, 5], [0.001, 0, -8], [0.0011, 0.0001, 3], [1, 1, -3]), GRID, 0.0),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("name", CUTTERS)
def test_odd_paths_and_grids_leave_what_the_definition_says(name: str, case: str) -> None:
    path, grid, top_mm = CASES[case]()
    heights = height_map(path, CUTTERS[name], grid, top_mm=top_mm)
    low, high = bounds(path, CUTTERS[name], grid, top_mm, off_mm=CHORD_MM if path.is_arc.any() else 2e-5)
    assert (heights < top_mm).any()
    assert (heights >= low - 1e-4).all()
    assert (heights <= high + 1e-4).all()


@pytest.mark.parametrize("scale", [0.1, 8.0])
@pytest.mark.parametrize("name", CUTTERS)
def test_cutters_thinner_than_a_cell_and_larger_than_the_grid_leave_what_the_definition_says(
    name: str, scale: float
) -> None:
    plain = CUTTERS[name]
    cutter = Cutter(plain.radius_mm * scale, plain.tip_radius_mm * scale, plain.corner_radius_mm * scale, plain.slope)
    path = way([-6.0, -5.1, -5.0], [5.0, 4.5, -3.0], [0.3, 4.0, -3.0], [0.3, 4.0, -6.0], [-6.0, 4.0, -6.0])
    grid = Grid(-5.0, -4.0, 1.0, (9, 10))
    heights = height_map(path, cutter, grid, top_mm=0.0)
    low, high = bounds(path, cutter, grid, 0.0, off_mm=2e-5)
    assert (heights < 0.0).any()
    assert (heights >= low - 1e-4).all()
    assert (heights <= high + 1e-4).all()


@pytest.mark.parametrize("name", CUTTERS)
def test_an_earlier_map_is_cut_where_the_path_goes_deeper(name: str) -> None:
    earlier = np.random.default_rng(6).uniform(-6.0, 1.0, GRID.shape).astype(np.float32)
    heights = height_map_of([(way(*WAY), CUTTERS[name])], GRID, top_mm=earlier)
    low, high = bounds(way(*WAY), CUTTERS[name], GRID, earlier.astype(np.float64), off_mm=2e-5)
    assert (heights == earlier).any()
    assert (heights < earlier).any()
    assert (heights >= low - 1e-4).all()
    assert (heights <= high + 1e-4).all()


@pytest.mark.parametrize("name", CUTTERS)
def test_far_from_zero_the_map_is_what_it_is_near(name: str) -> None:
    # 2^20 mm, a kilometre: the sums are exact, so only what is computed far away may differ.
    far = 1048576.0
    corners = np.array([[-3.0, -3.0, -2.0], [3.0, 2.0, -4.0], [0.0, 5.0, -1.0]])
    near = height_map(polyline(corners), CUTTERS[name], Grid(-5.0, -4.0, 0.5, (18, 21)), top_mm=0.0)
    there = height_map(
        polyline(corners + np.array([far, -far, 0.0])),
        CUTTERS[name],
        Grid(far - 5.0, -far - 4.0, 0.5, (18, 21)),
        top_mm=0.0,
    )
    np.testing.assert_allclose(there, near, rtol=0, atol=1e-4)
