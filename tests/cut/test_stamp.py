import numpy as np
import pytest
from numpy.typing import NDArray

from flipreg.cut import stamp as stamp_module
from flipreg.cut.grid import Grid
from flipreg.cut.heightmap import height_map
from flipreg.cut.pieces import pieces_of, split
from flipreg.cut.tool import Cutter
from tests.cut.bruteforce import polyline


@pytest.mark.parametrize("cutter", [Cutter.flat(6.0), Cutter.ball(6.0), Cutter.bull(6.0, 1.0), Cutter.vee(8.0, 60.0)])
def test_it_does_not_matter_what_is_computed_together(cutter: Cutter, monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(4)
    corners = np.column_stack([rng.uniform(0.0, 40.0, (60, 2)), rng.uniform(-4.0, 1.0, 60)])
    grid = Grid(0.0, 0.0, 0.5, (80, 80))
    maps, batches = [], []
    for cells in (0.0, 3e4, 1e9):
        monkeypatch.setattr(stamp_module, "_BATCH_CELLS", cells)
        maps.append(height_map(polyline(corners), cutter, grid, top_mm=0.0))
        batches.append(_batches_of(corners, cutter))
    assert batches == sorted(batches, reverse=True)
    assert batches[0] > batches[-1]
    for one in maps[1:]:
        np.testing.assert_allclose(one, maps[0], rtol=0, atol=1e-4)


def _batches_of(corners: NDArray[np.float64], cutter: Cutter) -> int:
    pieces = split(pieces_of(corners[:-1], corners[1:], cutter), cutter, 6.0)
    found = list(stamp_module._batches(0.5, pieces, cutter))
    assert sorted(np.concatenate([rows for rows, _, _ in found]).tolist()) == list(range(len(pieces)))
    return len(found)
