"""Slots made of small circles have no walls that a tool follows, and are not passed over in silence."""

import numpy as np
import pytest

from flipreg.findings import Status
from flipreg.geometry.isometry import Isometry
from flipreg.program.face import FaceProgram
from flipreg.register.check import check
from tests.register.boards import drilled, profiled
from tests.register.shapes import PADDLE, PADDLE_HOLES, PAGE, STILL, Mill


@pytest.mark.parametrize(("depth", "verdict"), [(10.0, Status.NOT_DETERMINED), (2.0, Status.PASS)])
def test_slots_of_small_circles_that_go_through_stop_a_pass(depth: float, verdict: Status) -> None:
    turn = np.linspace(0.0, 60.0 * np.pi, 1800)

    def face(move: Isometry) -> list[FaceProgram]:
        way = np.column_stack([60.0 + turn / 3.0 + 3.0 * np.cos(turn), 45.0 + 3.0 * np.sin(turn)])
        mill = Mill().lines(np.column_stack([move.apply(way), np.full(len(way), -depth)]))
        holes = drilled(np.array(PADDLE_HOLES), move, depth=10.0)
        return [mill.program("slot.nc", 4.0), profiled(PADDLE, 6.0, move), holes]

    report = check(face(STILL), face(PAGE), flip=PAGE, tolerance_mm=0.2, thickness_mm=18.0)
    assert report.verdict is verdict
