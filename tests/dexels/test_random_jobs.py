"""The check of a job beside the simulated wood, on a random job of each family.

``campaign.py`` runs thousands.
"""

import pytest

from tests.dexels.campaign import make
from tests.dexels.compare import compare
from tests.dexels.planted import PLANTED
from tests.dexels.right import RIGHT

_SEEDS = {
    **dict.fromkeys(("plain", "falling_slug", "slug", "drilled_through", "meeting_joined", "thin_web"), 1),
    **dict.fromkeys(("island", "thin_tabs", "narrow_tabs"), 2),
    **dict.fromkeys(("blind_recesses", "cleared_window", "vees_meet"), 3),
    **dict.fromkeys(("counterbored", "drilled", "slug_in_slug", "meeting"), 4),
    **dict.fromkeys(("trimmed", "finished_away", "profile_first"), 5),
}
"""Where it isn't the first: jobs that take the simulator half the time."""
_RIGHT = [build.__name__ for build in RIGHT]
_PLANTED = [build.__name__ for build in PLANTED]


@pytest.mark.parametrize("family", _RIGHT)
def test_a_right_job_does_not_fail(family: str) -> None:
    result = compare(make(family, _SEEDS.get(family, 0)))
    assert (result.answer, result.notes) == ("passed", [])


@pytest.mark.parametrize("family", _PLANTED)
def test_a_planted_fault_is_told_as_it_is_in_the_wood(family: str) -> None:
    result = compare(make(family, _SEEDS.get(family, 0)))
    assert (result.status, result.answer, result.notes) == (1, "right", [])


@pytest.mark.parametrize("seed", [160018, 160030])
def test_pockets_that_would_meet_if_the_back_lay_another_way_round_disprove_nothing(seed: int) -> None:
    # The profile fits that way as well; where the back was told to lie more features have partners.
    assert compare(make("plain", seed)).answer != "failed"
