"""Plunges on cell centres against grey-scale erosion, which is exact there: no tip has to move to a centre.

`scipy.ndimage.grey_erosion` takes the least, over the cells within the cutter, of tip plus profile. The profiles
are written out here, and distances are whole numbers of cells, so that the rim is decided without rounding.
"""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import ndimage

from flipreg.cut.grid import Grid
from flipreg.cut.heightmap import height_map
from flipreg.cut.tool import Cutter
from tests.cut.bruteforce import polyline

Floats = NDArray[np.float64]

STEP_MM = 0.25
CELLS = 10
"""Radius in cells: 2.5 mm, so that (6, 8) and (10, 0) lie on the rim."""

_AWAY = np.hypot(*np.mgrid[-CELLS : CELLS + 1, -CELLS : CELLS + 1])
_IN_DISC = _AWAY <= CELLS
_R_MM = np.where(_IN_DISC, _AWAY, 0.0) * STEP_MM

PROFILES: dict[str, tuple[Cutter, Floats]] = {
    "flat": (Cutter.flat(5.0), np.zeros_like(_R_MM)),
    "ball": (Cutter.ball(5.0), 2.5 - np.sqrt(6.25 - _R_MM**2)),
    "vee": (Cutter.vee(5.0, 90.0), _R_MM),
    "vee with a tip": (Cutter.vee(5.0, 60.0, tip_width_mm=2.0), np.maximum(_R_MM - 1.0, 0.0) * np.sqrt(3.0)),
    "drill": (Cutter.drill(5.0, 118.0), _R_MM / np.tan(np.radians(59.0))),
    "bull": (Cutter.bull(5.0, 1.5), 1.5 - np.sqrt(2.25 - np.maximum(_R_MM - 1.0, 0.0) ** 2)),
}


def eroded(tips: Floats, profile: Floats) -> Floats:
    least = ndimage.grey_erosion(tips, footprint=_IN_DISC, structure=-profile, mode="constant", cval=np.inf)
    return np.minimum(np.asarray(least, dtype=np.float64), 0.0)


@pytest.mark.parametrize("share", [0.002, 0.05, 1.0])
@pytest.mark.parametrize("name", PROFILES)
def test_plunges_on_centres_leave_the_erosion_of_their_tips(name: str, share: float) -> None:
    cutter, profile = PROFILES[name]
    rng = np.random.default_rng(12)
    grid = Grid(-7.0, 3.0, STEP_MM, (70, 84))
    tips = np.where(rng.random(grid.shape) < share, -rng.uniform(0.0, 6.0, grid.shape), np.inf)
    rows, columns = np.nonzero(np.isfinite(tips))
    assert len(rows) > 4
    down = np.column_stack([grid.centres_mm(rows, columns), tips[rows, columns]])
    up = down + np.array([0.0, 0.0, 8.0])
    # From above one place down to it, and on to above the next: every second motion is a plunge.
    plunges = polyline(np.stack([up, down], axis=1).reshape(-1, 3)).take(slice(0, None, 2))
    heights = height_map(plunges, cutter, grid, top_mm=0.0)
    # Float precision: heights are of the size 8 mm in single precision.
    np.testing.assert_allclose(heights, eroded(tips, profile), rtol=0, atol=8 * float(np.finfo(np.float32).eps))


@pytest.mark.parametrize("name", PROFILES)
def test_a_level_pass_along_centres_leaves_the_erosion_of_a_row_of_tips(name: str) -> None:
    # Abreast of a centre a level cutter is lowest when its tip passes that centre's own row: again a cell centre.
    cutter, profile = PROFILES[name]
    grid = Grid(0.0, 0.0, STEP_MM, (60, 66))
    for along_x in (True, False):
        tips = np.full(grid.shape, np.inf)
        tips[(30, slice(12, 50)) if along_x else (slice(12, 50), 30)] = -4.0
        ends = np.array([[12.0, 30.0], [49.0, 30.0]])[:, :: 1 if along_x else -1] * STEP_MM
        path = polyline(np.column_stack([ends, [-4.0, -4.0]]))
        heights = height_map(path, cutter, grid, top_mm=0.0)
        np.testing.assert_allclose(heights, eroded(tips, profile), rtol=0, atol=8 * float(np.finfo(np.float32).eps))
