"""Carved faces that share no feature are judged by the lines about which they are symmetric."""

from decimal import Decimal

import numpy as np
import pytest

from flipreg.findings import Status
from flipreg.geometry.isometry import Isometry
from flipreg.register.check import check
from flipreg.register.decision.directions import Direction, PoseEstimate, directions_of, farthest_mm
from flipreg.register.report import Report
from tests.register.carved import Placed, neck, paddle, raster

FLIP = Isometry.mirror_x(datum_mm=(Decimal(4), Decimal(0)))
"""A line of the front at X 0 is at X 4 of the back."""


def carved(off_mm: float) -> Report:
    front = raster(Placed(paddle, (0.0, 0.0), 90.0), 180.0, 3.0, every=2.0)
    back = raster(Placed(neck, (4.0 - off_mm, 30.0), 90.0), 230.0, 3.7, phase=0.6, every=2.0)
    return check([front], [back], flip=FLIP, tolerance_mm=0.1)


def named(directions: tuple[Direction, ...]) -> dict[str, Direction]:
    return {direction.name: direction for direction in directions}


@pytest.mark.parametrize(("off_mm", "status"), [(0.0, Status.PASS), (0.6, Status.NOT_DETERMINED)])
def test_centre_lines_decide_across_and_in_turn_but_never_along(off_mm: float, status: Status) -> None:
    report = carved(off_mm)
    found = named(report.directions)
    assert (found["across"].status, found["along"].status) == (status, Status.NOT_DETERMINED)
    assert found["across"].off == pytest.approx(off_mm, abs=0.02)
    assert found["turn"].status is Status.PASS
    assert report.in_register is None
    assert "the centre lines" in str(found["across"].evidence)
    assert found["along"].settle is not None


def test_the_best_evidence_decides_and_a_contradiction_leaves_it_open() -> None:
    sharp = PoseEstimate("4 holes", 0.02, 0.0, 0.0, 0.001, 0.001, 0.001)
    rough = PoseEstimate("the centre lines", 0.05, 0.0, 0.0, 0.03)
    assert [one.status for one in directions_of([sharp, rough], 100.0, 0.1)] == [Status.PASS] * 3
    far = PoseEstimate("the centre lines", 0.9, 0.0, 0.0, 0.03)
    across, along, turn = directions_of([sharp, far], 100.0, 0.1)
    assert (across.status, along.status, turn.status) == (Status.NOT_DETERMINED, Status.PASS, Status.PASS)
    assert across.settle is not None
    assert "contradict" in across.settle


def test_a_turn_counts_where_the_part_ends() -> None:
    turned = PoseEstimate("4 holes", 0.0, 0.0, 0.1, 0.001, 0.001, 0.001)
    assert directions_of([turned], 50.0, 0.1)[2].status is Status.PASS
    assert directions_of([turned], 60.0, 0.1)[2].status is Status.FAIL


def test_directions_that_are_each_within_the_tolerance_move_a_corner_by_all_of_them_together() -> None:
    turned = PoseEstimate("4 holes", -0.06, 0.05, 0.05, 0.001, 0.001, 0.001)
    directions = directions_of([turned], 100.0, 0.1)
    assert [one.status for one in directions] == [Status.PASS] * 3
    # At the corner (80, 60) a turn of 0.05 degrees moves by 0.052 across and 0.070 along.
    assert farthest_mm(directions, 80.0, 60.0) == pytest.approx(np.hypot(0.06 + 0.0524, 0.05 + 0.0698), abs=1e-3)


def test_what_is_less_sure_than_the_tolerance_decides_nothing() -> None:
    vague = PoseEstimate("the rim", 0.0, 0.0, 0.0, 0.051, 0.049, 0.001)
    across, along, turn = directions_of([vague], 10.0, 0.1)
    assert (across.status, along.status, turn.status) == (Status.NOT_DETERMINED, Status.PASS, Status.PASS)
