"""Words that a block says twice with the same value: legal by habit, and moved both."""

import pytest

from tests.commands.laws import ROUNDED, assert_is_shift, moved, shifted
from tests.motions import motions, sampled

BLOCKS = {
    "a flat arc's radius": "G2 X10 Y0 R5 R5",
    "a round arc's radius": "G2 X10 Y0 R9 R9.0",
    "a full word": "G1 X10 X10.00 Y3",
    "a word that needs its partner": "G1 Y10 Y10",
    "a centre": "G2 X10 Y0 I5 I5.0 J0 J0",
    "a centre that needs its partner": "G2 X10 Y0 I5 I5.0",
    "a cycle": "G81 X1 X1 Y2 Y2 Z-3 Z-3.0 R1 R1\nG80",
    "steps": "G91 G1 X1 X1 Y2 Y2.0\nX1 X1",
    "an axis offset": "G92 X1 X1\nG1 X2 Y2",
    "steps of a cycle": "G91 G81 X1 X1 Y2 Y2 Z-3 R-1 R-1 L3\nG80",
    "steps aside": "G87 X1 Y1 I1 I1 J.5 K-1 R-2 Z-3\nG80",
}


@pytest.mark.parametrize("turn_deg", [7.0, 90.0, 180.0])
@pytest.mark.parametrize("block", BLOCKS.values(), ids=BLOCKS.keys())
def test_words_said_twice_are_turned_both(block: str, turn_deg: float) -> None:
    text = f"G21 G90 G17 F50\nG0 X0 Y0 Z0\n{block}\nM2\n"
    made = shifted(text, turn_deg=turn_deg)
    before = motions(text)
    expected = moved(sampled(before), ("0", "0", "0"), turn_deg, ("0", "0"))
    assert_is_shift(before, motions(made.text), expected, ROUNDED["G21"])
