"""Notches cut as closed loops that begin in the air: how far a face runs out beyond the wood is no feature."""

import numpy as np
import pytest

from flipreg.findings import Status
from flipreg.geometry.isometry import Isometry
from flipreg.program.face import FaceProgram
from flipreg.register.check import check
from tests.register.boards import drilled, profiled
from tests.register.shapes import PADDLE_HOLES, PAGE, STILL, Mill, ring, shift

DEEP, WIDE, PITCH = 15.0, 12.0, 24.0


def comb(tool: float, out: float, move: Isometry = STILL, *, name: str = "comb.nc", dy: float = 0.0) -> FaceProgram:
    """Return a program of five notches in the left edge of a board, round each wall and back through the air."""
    mill, r = Mill(), tool / 2
    for number in range(5):
        low = number * PITCH + dy
        way = ring((-out, low + r), (DEEP - r, low + r), (DEEP - r, low + WIDE - r), (-out, low + WIDE - r))
        mill.contour(move.apply(way), (5.0, 9.5))
    return mill.program(name, tool)


@pytest.mark.parametrize(
    ("tool", "out", "holes"), [(4.0, 8.0, False), (4.0, 8.0, True), (6.0, 9.0, True), (6.0, 8.5, False)]
)
def test_how_far_two_cutters_run_out_into_the_air_is_no_shift(tool: float, out: float, *, holes: bool) -> None:
    front, back = [comb(6.0, 8.0)], [comb(tool, out, PAGE, name="back.nc")]
    if holes:
        front.append(drilled(np.array(PADDLE_HOLES)))
        back.append(drilled(np.array(PADDLE_HOLES), PAGE, name="back holes.nc"))
    report = check(front, back, flip=PAGE, tolerance_mm=0.1)
    assert report.in_register is not False
    assert all(one.status is not Status.FAIL for one in report.directions)
    assert not report.mistakes


@pytest.mark.parametrize("dy", [0.4, 24.0])
@pytest.mark.parametrize(("tool", "out"), [(4.0, 8.0), (6.0, 9.0)])
def test_notches_that_lie_apart_are_never_in_register(tool: float, out: float, dy: float) -> None:
    report = check([comb(6.0, 8.0)], [comb(tool, out, PAGE, dy=dy)], flip=PAGE, tolerance_mm=0.1)
    assert report.in_register is not True


def test_notches_of_another_zero_are_no_pass_where_holes_and_a_profile_agree() -> None:
    holes, edge = np.array(PADDLE_HOLES), ring((-3, -3), (205, -3), (205, 123), (-3, 123))
    faces = [
        [comb(tool, 8.0, move, dy=dy), drilled(holes, move, name="holes.nc"), profiled(edge, 6.0, move)]
        for tool, move, dy in ((6.0, STILL, 0.0), (4.0, PAGE, 0.5))
    ]
    assert check(*faces, flip=PAGE, tolerance_mm=0.1).in_register is None


@pytest.mark.parametrize("dx", ["0.5", "-0.5"])
def test_bottoms_that_lie_apart_are_never_in_register_though_the_middles_agree(dx: str) -> None:
    # Moved by dx, and run out by so much more that the middles of the ways lie on one another.
    back = comb(6.0, 8.0 + 2.0 * float(dx), shift(dx, "0") @ PAGE)
    assert check([comb(6.0, 8.0)], [back], flip=PAGE, tolerance_mm=0.1).in_register is not True


def test_a_forgotten_mirror_is_named_before_a_shift_across_the_board() -> None:
    report = check([comb(6.0, 8.0)], [comb(6.0, 8.0, name="back.nc")], flip=PAGE, tolerance_mm=0.1)
    assert report.in_register is False
    assert report.mistakes[0].code == "not mirrored"
