"""The largest deviation: reported with the program, written in its header, and no smaller than the real one."""

import re

import numpy as np
import pytest

from tests.commands.laws import moved, rounded, shifted
from tests.commands.programs import PLANE
from tests.motions import motions


@pytest.mark.parametrize("text", PLANE.values(), ids=PLANE.keys())
def test_the_reported_deviation_of_a_turn_is_no_smaller_than_the_one_measured_here(text: str) -> None:
    before = motions(text)
    produced = shifted(text, turn_deg=17.0)
    after = motions(produced.text)
    off = np.linalg.norm(moved(before.end, ("0", "0", "0"), 17.0, ("0", "0")) - after.end, axis=1)
    assert 0 < np.nanmax(off) <= produced.largest_deviation_mm + 1e-9
    assert produced.largest_deviation_mm <= 2 * rounded(text)


def test_the_deviation_in_the_header_is_not_below_the_one_reported() -> None:
    produced = shifted(PLANE["lines"], turn_deg=30.0)
    found = re.search(r"deviation\D*([0-9.]+) ?mm", produced.text.decode(), re.IGNORECASE)
    assert found
    assert produced.largest_deviation_mm <= float(found[1]) <= produced.largest_deviation_mm + 1e-3
    assert float(found[1]) > 0
