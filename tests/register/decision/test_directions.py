"""What is shown in each direction, and what one kind of evidence says of another direction."""

import numpy as np

from flipreg.findings import Status
from flipreg.register.check import check
from flipreg.register.decision.directions import PoseEstimate, directions_of
from tests.register.boards import drilled
from tests.register.shapes import PAGE, shift


def test_centre_lines_that_lie_far_apart_show_no_turn_either() -> None:
    """They may be the middles of different things, which are parallel as most of what is sawn is."""
    for off, expected in ((270.0, Status.NOT_DETERMINED), (0.0, Status.PASS)):
        lines = PoseEstimate("the centre lines", off, 0.0, 0.0, 0.001, turn_uncertainty_deg=1e-4, can_disprove=False)
        across, along, turn = directions_of([lines], 100.0, 0.1)
        assert (across.status, along.status, turn.status) == (expected, Status.NOT_DETERMINED, expected)


def test_two_holes_that_lie_off_show_no_turn_for_half_a_turn_lays_them_on_each_other() -> None:
    holes = np.array([[20.0, 20.0], [80.0, 50.0]])
    statuses = []
    for off in ("0", "2"):
        report = check([drilled(holes)], [drilled(holes, shift(off, "0") @ PAGE)], flip=PAGE, tolerance_mm=0.1)
        assert report.directions is not None
        statuses.append([one.status for one in report.directions])
    assert statuses[0] == [Status.PASS] * 3
    assert statuses[1] == [Status.FAIL, Status.PASS, Status.NOT_DETERMINED]
