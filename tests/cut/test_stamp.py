import numpy as np
import pytest
from numpy.typing import NDArray

from flipreg.cut import runs as runs_module
from flipreg.cut import stamp as stamp_module
from flipreg.cut.grid import Grid
from flipreg.cut.heightmap import height_map
from flipreg.cut.tool import Cutter
from tests.cut.bruteforce import brute_map, polyline

Floats = NDArray[np.float64]
CUTTERS = [Cutter.flat(6.0), Cutter.ball(6.0), Cutter.bull(6.0, 1.0), Cutter.vee(8.0, 60.0)]


def passes_at_two_levels() -> Floats:
    """Waved passes along Y and slanted ones, each at two levels, the upper one after the lower one."""
    rng = np.random.default_rng(4)
    along = np.arange(0.0, 24.0, 1.5)
    x, y = np.repeat(np.arange(0.0, 12.0, 2.0), len(along)), np.tile(along, 6)
    z = 0.8 * np.sin(x / 3.0) * np.cos(y / 5.0) + rng.uniform(0.0, 0.1, len(x))
    turned = 0.9 * x - 0.4 * y + 8.0, 0.4 * x + 0.9 * y
    lower, upper = (
        np.concatenate([np.column_stack([x, y, z - deep]), np.column_stack([*turned, z - deep])])
        for deep in (3.0, 1.5)
    )
    return np.concatenate([lower, upper])


@pytest.mark.parametrize("cutter", CUTTERS)
def test_skipping_what_lowers_nothing_leaves_the_map_as_it_is(cutter: Cutter, monkeypatch: pytest.MonkeyPatch) -> None:
    path, grid = polyline(passes_at_two_levels()), Grid(-2.0, -2.0, 0.5, (56, 44))
    computed: list[int] = []
    stamp_runs = stamp_module._stamp_runs

    def counted(flat: NDArray[np.float32], runs: runs_module.Runs, cutter: Cutter, *, is_single: bool) -> None:
        computed[-1] += len(runs.after) + int(runs.after.sum())
        stamp_runs(flat, runs, cutter, is_single=is_single)

    monkeypatch.setattr(stamp_module, "_stamp_runs", counted)
    maps = []
    for many in (np.inf, 0.0):
        monkeypatch.setattr(stamp_module, "_MANY_RUNS", many)
        computed.append(0)
        maps.append(height_map(path, cutter, grid, top_mm=0.0))
    np.testing.assert_allclose(maps[1], maps[0], rtol=0, atol=1e-5)
    np.testing.assert_allclose(maps[1], brute_map(path, cutter, grid, 0.0), rtol=0, atol=1e-4)
    assert computed[1] < 0.9 * computed[0]


@pytest.mark.parametrize("cutter", CUTTERS)
def test_it_does_not_matter_what_is_computed_together(cutter: Cutter, monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(4)
    corners = np.column_stack([rng.uniform(0.0, 40.0, (60, 2)), rng.uniform(-4.0, 1.0, 60)])
    grid = Grid(0.0, 0.0, 0.5, (80, 80))
    maps = []
    for runs, cells in ((100_000, 100_000), (100, 100_000), (100, 1)):
        monkeypatch.setattr(runs_module, "_RUNS", runs)
        monkeypatch.setattr(stamp_module, "_AT_ONCE", cells)
        maps.append(height_map(polyline(corners), cutter, grid, top_mm=0.0))
    for one in maps[1:]:
        np.testing.assert_allclose(one, maps[0], rtol=0, atol=1e-4)
