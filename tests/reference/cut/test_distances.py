"""Level cuts against GEOS: on a level way only a point's distance from the way counts, and shapely knows distances.

A cutter that stays at one depth leaves, at every point, its profile at that distance. So the region that is cut is the
way's buffer, and every centre has a height that no strip, batch or single precision has touched.
"""

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.heightmap import height_map
from flipreg.cut.tool import Cutter
from tests.cut.bruteforce import polyline

Floats = NDArray[np.float64]

DEPTH_MM = 9.0
RIM_MM = 2e-5
"""Sideways, the map is right to this."""


def flat(r: Floats) -> Floats:
    return np.zeros_like(r)


def ball(r: Floats) -> Floats:
    return np.asarray(3.0 - np.sqrt(9.0 - r * r), dtype=np.float64)


def bull(r: Floats) -> Floats:
    return 1.0 - np.sqrt(1.0 - np.maximum(r - 2.0, 0.0) ** 2)


def vee(r: Floats) -> Floats:
    return np.asarray(np.maximum(r - 0.2, 0.0) * np.sqrt(3.0), dtype=np.float64)


CUTTERS = {
    "flat": (Cutter.flat(6.0), flat),
    "ball": (Cutter.ball(6.0), ball),
    "bull": (Cutter.bull(6.0, 1.0), bull),
    "vee": (Cutter.vee(6.0, 60.0, tip_width_mm=0.4), vee),
}


def loops() -> Floats:
    t = np.linspace(0.0, 40.0, 500)
    return np.column_stack([12 + t / 4 * np.cos(t), 11 + t / 4 * np.sin(1.3 * t)])


def jumps() -> Floats:
    return np.random.default_rng(4).uniform(-3.0, 27.0, (14, 2))


def walk() -> Floats:
    steps: Floats = np.random.default_rng(8).normal(0.0, 0.4, (250, 2))
    return np.asarray(np.cumsum(steps, axis=0) + 12.0)


def on_cell_borders() -> Floats:
    return np.array(
        [[0.975, 2.225], [20.975, 2.225], [20.975, 20.225], [10.975, 10.225], [0.975, 20.225], [0.975, 12.0]]
    )


@pytest.mark.parametrize("way", [loops, jumps, walk, on_cell_borders])
@pytest.mark.parametrize("name", CUTTERS)
def test_every_centre_has_the_height_of_the_profile_at_its_distance_from_the_way(name: str, way: object) -> None:
    assert callable(way)
    cutter, profile = CUTTERS[name]
    corners: Floats = way()
    grid = Grid(-4.9, -3.9, 0.25, (120, 128))
    x, y = np.meshgrid(grid.xs_mm, grid.ys_mm)
    away = np.asarray(shapely.distance(shapely.LineString(corners), shapely.points(x, y)), dtype=np.float64)
    heights = height_map(
        polyline(np.column_stack([corners, np.full(len(corners), -DEPTH_MM)])), cutter, grid, top_mm=0.0
    ).astype(np.float64)

    def left(r: Floats) -> Floats:
        return np.where(r > 3.0, 0.0, profile(np.clip(r, 0.0, 3.0)) - DEPTH_MM)

    assert (heights <= left(away + RIM_MM) + 1e-4).all()
    assert (heights >= left(np.maximum(away - RIM_MM, 0.0)) - 1e-4).all()


def test_the_cells_that_are_cut_have_the_area_of_the_buffer() -> None:
    # Stadium: 40 between centres, d 6, 268.274334 mm²; and the buffer of a way that crosses itself.
    turn = np.radians(27.0)
    stadium = np.array([[0.0, 0.0], [40 * np.cos(turn), 40 * np.sin(turn)]])
    buffer = shapely.LineString(stadium).buffer(3.0, quad_segs=256)
    assert buffer.area == pytest.approx(268.274334, rel=1e-5)
    for corners in (stadium, loops()):
        region = shapely.LineString(corners).buffer(3.0, quad_segs=256)
        low = region.bounds[0] - 1.0, region.bounds[1] - 1.0
        high = region.bounds[2] + 1.0, region.bounds[3] + 1.0
        for step in (0.4, 0.1):
            grid = Grid.covering(low, high, step)
            path = polyline(np.column_stack([corners, np.full(len(corners), -1.0)]))
            cut = height_map(path, Cutter.flat(6.0), grid, top_mm=0.0) < 0.0
            # As if every cell at the edge were off by itself, one a step; four times the root mean square.
            usual = step**2 * np.sqrt(region.length / step / 12.0)
            assert abs(int(cut.sum()) * grid.cell_mm2 - region.area) <= 4.0 * usual
