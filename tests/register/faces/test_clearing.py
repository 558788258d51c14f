"""A pocket that is cleared, by rings or by a raster, is no edge of the part, and says nothing of how thick it is."""

import numpy as np
import pytest

from flipreg.findings import Status
from flipreg.geometry.isometry import Isometry
from flipreg.program.face import FaceProgram
from flipreg.register.check import check
from flipreg.register.faces.features import face_features
from flipreg.register.faces.outline import Side
from tests.register.boards import drilled, profiled
from tests.register.shapes import PAGE, STILL, Mill, offset_ring, ring

CLEARED = ("by rings", "by a raster", "by a raster and its wall")
HOLES = np.array([[20.0 + 32.0 * number, 15.0] for number in range(6)])


def pocket(how: str, move: Isometry, size: tuple[float, float], at: tuple[float, float], depth: float) -> FaceProgram:
    """Return a pocket cleared by a cutter of 6 mm with a stepover of 3 mm."""
    (w, h), (x, y) = size, at
    wall = ring((x, y), (x + w, y), (x + w, y + h), (x, y + h))
    inside = np.arange(3.0, min(w, h) / 2.0 - 1.0, 3.0) if how == "by rings" else np.array([3.0] * how.endswith("wall"))
    mill = Mill()
    for left in [] if how == "by rings" else np.arange(y + 3.2, y + h - 3.1, 3.0):
        mill.lines(np.column_stack([move.apply(np.array([[x + 3.2, left], [x + w - 3.2, left]])), np.full(2, -depth)]))
    for off in inside.tolist():
        mill.contour(move.apply(offset_ring(wall, -off, join_style="mitre")), (depth,))
    return mill.program("pocket.nc", 6.0)


@pytest.mark.parametrize("how", CLEARED)
def test_pockets_of_both_faces_hide_no_hole_of_a_row_that_is_off(how: str) -> None:
    """The wood is 22 mm thick: pockets of 16 and 15.4 mm overlap, and holes of 12.1 mm from each face meet."""

    def verdict(off: float) -> Status:
        moved = HOLES + off * (np.arange(6) == 2)[:, np.newaxis] * np.array([1.0, 0.0])
        front = [pocket(how, STILL, (90.0, 60.0), (30.0, 40.0), 16.0), drilled(HOLES, depth=12.1)]
        back = [pocket(how, PAGE, (84.0, 62.0), (36.0, 44.0), 15.4), drilled(moved, PAGE, depth=12.1)]
        return check(front, back, flip=PAGE, tolerance_mm=0.2).verdict

    assert [verdict(0.0), verdict(0.4)] == [Status.PASS, Status.FAIL]
    assert verdict(2.0) is not Status.PASS


@pytest.mark.parametrize("how", CLEARED[::2])
def test_the_wall_of_a_cleared_pocket_lies_outside_its_passes(how: str) -> None:
    shown = face_features([pocket(how, STILL, (90.0, 60.0), (30.0, 40.0), 16.0)])
    assert [one.side for one in shown.outlines] == [Side.OUTSIDE]
    assert np.abs(shown.outlines[0].loop.box_mm - (33.0, 43.0, 117.0, 97.0)).max() < 1e-6


def test_a_profile_stays_one_round_a_hollow_that_is_as_deep_and_leaves_a_rim() -> None:
    board = ring((0, 0), (205, 0), (205, 120), (0, 120))
    opening = ring((60, 50), (120, 50), (120, 90), (60, 90))
    inside = [
        pocket("by a raster", STILL, (181.0, 96.0), (12.0, 12.0), 14.0),
        Mill().contour(opening).program("o.nc", 6.0),
    ]
    shown = face_features([profiled(board, 6.0), *inside])
    assert shown.outlines[0].side is Side.INSIDE
    assert {one.side for one in shown.outlines[1:]} == {Side.OUTSIDE}


def test_a_profile_stays_one_along_rows_of_bored_holes_that_are_as_deep() -> None:
    board, mill = ring((0, 0), (120, 0), (120, 60), (0, 60)), Mill()
    for x in np.arange(8.0, 115.0, 8.0):
        for y in (8.0, 16.0, 44.0, 52.0):
            mill.bore(float(x), y, 2.0, depth=11.0)
    shown = face_features([profiled(board, 6.0), mill.program("holes.nc", 3.0)])
    assert shown.outlines[0].side is Side.INSIDE
