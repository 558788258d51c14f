"""What is shown in each direction, and what one kind of evidence says of another direction."""

from flipreg.findings import Status
from flipreg.register.decision.directions import PoseEstimate, directions_of


def test_centre_lines_that_lie_far_apart_show_no_turn_either() -> None:
    """They may be the middles of different things, which are parallel as most of what is sawn is."""
    for off, expected in ((270.0, Status.NOT_DETERMINED), (0.0, Status.PASS)):
        lines = PoseEstimate("the centre lines", off, 0.0, 0.0, 0.001, turn_uncertainty_deg=1e-4, can_disprove=False)
        across, along, turn = directions_of([lines], 100.0, 0.1)
        assert (across.status, along.status, turn.status) == (expected, Status.NOT_DETERMINED, expected)
