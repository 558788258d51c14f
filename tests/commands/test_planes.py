"""Arcs that change their plane while G2 or G3 stays in force: in some planes a mirror turns them, in others not."""

import numpy as np
import pytest

import flipreg
from tests.commands.laws import EXACT, assert_is_flip, flipped, moved, shifted
from tests.motions import motions, sampled

TEXTS = {
    "one plane after another": "G21 G90 G17\nG0 X0 Y0 Z0\nG2 X2 I1 F100\nG19 Y2 J1\nM2\n",
    "all planes": (
        "G21 G90 G17\nG0 X0 Y0 Z0\nG2 X2 I1 F100\nG18 X4 I1\nG19 Y2 J1\nG17 G3 X6 I1\nG18 G3 X8 I1\nG19 Y4 J1\nM2\n"
    ),
    "planes on lines of their own": "G21 G90 G17\nG0 X0 Y0 Z0\nG2 X2 I1 F100\nG19\nY2 J1\nG18\nX4 I1\nG17\nX6 I1\nM2\n",
    "incremental": "G21 G90 G17\nG0 X0 Y0 Z0\nG91 G3 X2 I1 F100\nG19 Y2 J1\nG18 X2 I1\nG17 X2 I1\nM2\n",
}

each_text = pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS.keys())


@pytest.mark.parametrize("axis", list(flipreg.FlipAxis), ids=lambda axis: axis.name)
@each_text
def test_a_flip_turns_the_arcs_of_the_planes_that_hold_the_mirrored_axis(text: str, axis: flipreg.FlipAxis) -> None:
    datum_mm = ("25.4", "0") if axis is flipreg.FlipAxis.Y else ("0", "25.4")
    assert_is_flip(motions(text), motions(flipped(text, axis, datum_mm)), axis, datum_mm, EXACT)


@pytest.mark.parametrize("quarters", [1, 2, 3])
@each_text
def test_a_quarter_turn_carries_arcs_from_plane_to_plane(text: str, quarters: int) -> None:
    expected = moved(sampled(motions(text)), ("0", "0", "0"), 90.0 * quarters, ("25.4", "12.7"))
    after = sampled(motions(shifted(text, turn_deg=90.0 * quarters, about_mm=("25.4", "12.7")).text))
    assert after.shape == expected.shape
    assert np.nanmax(np.abs(expected - after)) <= EXACT
