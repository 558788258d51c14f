"""Random programs through each verb: what is written does at the machine what it says; the campaign tries thousands."""

import pytest

from tests.machine.campaign import shown_text
from tests.machine.trials import VERBS, trial

# Seeds that the campaign found something with are worth keeping; the others are as good as any.
SEEDS = {
    "home": range(12),
    "join": range(10),
    "split": range(8),
    "depth": range(5),
    "flip": range(8),
    "keep-climb": range(5),
    "shift": range(8),
    "hand": range(2),
}


@pytest.mark.parametrize("verb", VERBS)
def test_what_is_written_of_random_programs_is_right_at_the_machine(verb: str) -> None:
    written = 0
    for seed in SEEDS[verb]:
        made = trial(verb, seed)
        assert made.outcome != "wrong", f"seed {seed}: {shown_text(made)}"
        written += made.outcome == "written"
    assert written >= len(SEEDS[verb]) // 8, "hardly any program was written, so that hardly any was tried"
