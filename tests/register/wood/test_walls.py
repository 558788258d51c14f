"""Straight walls: slots that end in the air, and notches cut by tools that nobody told."""

import numpy as np
import pytest

from flipreg.findings import Status
from flipreg.geometry.isometry import Isometry
from flipreg.program.face import FaceProgram
from flipreg.register.check import check
from flipreg.register.report import Report
from tests.register.shapes import PAGE, Mill, ring

SLOTS = (10.0, 37.0, 52.0, 80.0, 121.0, 140.0)
NOTCHES = ((15.0, 9.0), (37.0, 11.0), (60.0, 8.5), (79.0, 12.0), (104.0, 10.0))


def housings(out: float, move: Isometry | None = None, *, dx: float = 0.0, back: bool = False) -> FaceProgram:
    """Slots across a board 100 mm wide, the tool running on beyond it by `out` and more."""
    mill = Mill()
    for number, x in enumerate(SLOTS):
        way = ring((x + dx, -out - number), (x + dx, 100.0 + out + 2 * number))
        mill.lines(np.column_stack([way if move is None else move.apply(way), np.full(2, -4.0)]))
    return mill.program("back.nc" if back else "front.nc")


def comb(tool: float, move: Isometry | None = None, *, dx: float = 0.0, told: bool = False) -> FaceProgram:
    """Notches 12 mm deep in the upper end of a board, driven to, across and back, from 5 mm beyond the end."""
    mill = Mill()
    for x, width in NOTCHES:
        reach, floor = (width - tool) / 2.0, 88.0 + tool / 2.0
        left, right = x + dx - reach, x + dx + reach
        way = ring((left, 105.0), (left, floor), (right, floor), (right, 105.0))
        mill.lines(np.column_stack([way if move is None else move.apply(way), np.full(4, -9.5)]))
    return mill.program("front.nc" if move is None else "back.nc", tool if told else None)


def states(report: Report) -> list[Status]:
    return [direction.status for direction in report.directions]


def test_slots_that_end_in_the_air_show_register_across_themselves_and_in_turn_alone() -> None:
    report = check([housings(6.0)], [housings(11.0, PAGE, back=True)], flip=PAGE, tolerance_mm=0.1)
    assert report.in_register is None
    assert states(report) == [Status.PASS, Status.NOT_DETERMINED, Status.PASS]
    assert str(report.directions[0].evidence).startswith("the lines of 6 slots along Y")


@pytest.mark.parametrize("off", [0.4, 3.0])
def test_slots_beside_one_another_disprove_register_and_show_by_how_much(off: float) -> None:
    report = check([housings(6.0)], [housings(11.0, PAGE, dx=off, back=True)], flip=PAGE, tolerance_mm=0.1)
    assert report.in_register is False
    assert states(report) == [Status.FAIL, Status.NOT_DETERMINED, Status.PASS]
    assert report.directions[0].off == pytest.approx(off, abs=1e-3)


def test_notches_at_one_end_by_two_tools_that_nobody_told_show_all_three_directions() -> None:
    report = check([comb(6.0)], [comb(5.0, PAGE)], flip=PAGE, tolerance_mm=0.1)
    assert report.in_register is None
    assert states(report) == [Status.PASS, Status.PASS, Status.PASS]
    assert any(finding.check == "tool" and "1.00 mm" in finding.message for finding in report.findings)


@pytest.mark.parametrize(("ours", "theirs"), [(True, False), (False, True)])
def test_one_tool_that_is_told_shows_the_place_of_notches_by_another(ours: bool, theirs: bool) -> None:  # noqa: FBT001 - parameters of the test
    pair = [comb(6.0, told=ours)], [comb(4.0, PAGE, told=theirs)]
    report = check(*pair, flip=PAGE, tolerance_mm=0.1)
    assert (report.in_register, states(report)) == (None, [Status.PASS] * 3)


def test_notches_of_two_tools_that_lie_apart_are_out_of_register_by_just_that() -> None:
    report = check([comb(6.0)], [comb(5.0, PAGE, dx=0.5)], flip=PAGE, tolerance_mm=0.1)
    assert report.in_register is False
    assert report.register.dx_mm == pytest.approx(0.5, abs=1e-3)
