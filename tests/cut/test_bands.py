import numpy as np
import pytest

from flipreg.cut.bands import bands
from flipreg.cut.grid import Grid
from flipreg.cut.thickness import LEAST_LEFT_MM, BothFaces


@pytest.mark.parametrize("shape", [(1, 1), (5, 3), (700, 300), (3, 200_000), (4, 0)])
def test_bands_have_every_row_once(shape: tuple[int, int]) -> None:
    rows = [row for band in bands(shape) for row in range(shape[0])[band]]
    assert rows == list(range(shape[0]))


@pytest.mark.parametrize("shape", [(1, 1), (1, 6), (6, 1), (701, 300)])
def test_wood_and_joints_of_large_maps_are_those_of_their_definition(shape: tuple[int, int]) -> None:
    rng = np.random.default_rng(8)
    front, back = (rng.integers(-4, 1, shape).astype(np.float32) - deep for deep in (0.0, 1.0))
    faces = BothFaces(Grid(0.0, 0.0, 1.0, shape), front, back, 5.0)
    assert (faces.is_left == (front - back > LEAST_LEFT_MM)).all()
    in_row, in_column = faces.joints()
    assert (in_row == (np.minimum(front[:, 1:], front[:, :-1]) > np.maximum(back[:, 1:], back[:, :-1]))).all()
    assert (in_column == (np.minimum(front[1:], front[:-1]) > np.maximum(back[1:], back[:-1]))).all()
