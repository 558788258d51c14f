"""Back boring (G87): its in-plane offsets are directions, mirrored and turned as such, also where they are sticky."""

import pytest

import flipreg
from tests.commands.laws import EXACT, ROUNDED, assert_is_flip, assert_is_shift, flipped, moved, shifted
from tests.motions import motions, sampled

HEAD = "G21 G90 G17 G99 F100 S900 M3\nG0 X8 Y9 Z0.2\n"
TAIL = "G80\nG0 Z5\nM2\n"

RUNS = {
    "one hole": "G87 X9 Y10 R0.2 Z-1.1 I0.231 J-.5 K0.1\n",
    "a second hole with its own offsets": "G87 X9 Y10 R0.2 Z-1.1 I0.231 J-.5 K0.1\nG87 X19 Y11 I.1 J0 K0\n",
    "a second hole along X": "G87 X9 Y10 R0.2 Z-1.1 I1 J1 K0\nX3\n",
    "a second hole along Y": "G87 X9 Y10 R0.2 Z-1.1 I1 J1 K0\nY3\n",
    "two more holes": "G87 X9 Y10 R0.2 Z-1.1 I1 J1 K0\nX3 Y3\nX4 I2\n",
}

each_run = pytest.mark.parametrize("run", RUNS.values(), ids=RUNS.keys())


@pytest.mark.parametrize("axis", list(flipreg.FlipAxis), ids=lambda axis: axis.name)
@each_run
def test_the_offsets_of_back_boring_are_mirrored(run: str, axis: flipreg.FlipAxis) -> None:
    text = HEAD + run + TAIL
    assert_is_flip(motions(text), motions(flipped(text, axis, ("25.4", "0"))), axis, ("25.4", "0"), EXACT)


@pytest.mark.parametrize("turn_deg", [90.0, 180.0, 17.0])
@each_run
def test_the_offsets_of_back_boring_are_turned(run: str, turn_deg: float) -> None:
    before = motions(HEAD + run + TAIL)
    after = motions(shifted(HEAD + run + TAIL, turn_deg=turn_deg).text)
    within = ROUNDED["G21"] if turn_deg % 90 else EXACT
    assert_is_shift(before, after, moved(sampled(before), ("0", "0", "0"), turn_deg, ("0", "0")), within)
