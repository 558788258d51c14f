"""Arcs that a turn's rounding is hard on: full circles, radii at the edge of the tolerance, feeds given as times."""

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.commands.laws import ROUNDED, assert_is_shift, moved, shifted
from tests.commands.programs import INVERSE_TIME, NUMBER, drawn_programs
from tests.motions import motions, sampled


@pytest.mark.parametrize("turn_deg", [1.3, 17.0, 30.0, 44.4, 61.8, 89.0])
def test_a_full_circle_that_was_reached_by_increments_stays_one(turn_deg: float) -> None:
    # The start is the sum of rounded increments, the end a rounded position: they must be the same point.
    text = "G21 G90 F100\nG0 X0 Y0 Z0\nG91 G1 X10.3 Y4.7\nX.11 Y3.3\nX2.7\nG90 G2 X13.11 Y8 I5\nM2\n"
    before = motions(text)
    after = motions(shifted(text, turn_deg=turn_deg).text)
    expected = moved(sampled(before), ("0", "0", "0"), turn_deg, ("0", "0"))
    assert_is_shift(before, after, expected, ROUNDED["G21"])
    assert after.sweep_deg[-1] == -360


@pytest.mark.parametrize("turn_deg", [1.0, 17.0, 30.0, 61.803, 123.4])
@pytest.mark.parametrize("offset", ["5.00099", "4.99901", "5.000999"])
def test_an_arc_that_is_nearly_out_of_tolerance_is_not_pushed_out_by_rounding(turn_deg: float, offset: str) -> None:
    # The source's radii differ by 0.00198 mm (0.001998 the last), legal; a careless fourth decimal tips it.
    path = motions(shifted(f"G21 G90 G17 F100\nG0 X0 Y0 Z0\nG2 X10 Y0 I{offset}\nM2\n", turn_deg=turn_deg).text)
    (row,) = np.flatnonzero(path.is_arc)
    radii = [np.hypot(*(point - path.centre[row])[:2]) for point in (path.start[row], path.end[row])]
    assert abs(radii[0] - radii[1]) <= 0.002


@pytest.mark.parametrize("turn_deg", [1.0, 7.7, 30.0, 123.4])
@pytest.mark.parametrize("block", ["G2 X2 Y0 R100", "G3 X2 Y.5 R400", "G2 X.5 Y0 R-20", "G3 X.001 Y0 R50000"])
def test_a_shallow_arc_keeps_its_centre(block: str, turn_deg: float) -> None:
    # A hundred times shorter than its radius: rounded ends move the centre that the radius names by a hundredfold.
    source = motions(f"G21 G90 G17 F100\nG0 X0 Y0 Z0\n{block}\nM2\n")
    path = motions(shifted(f"G21 G90 G17 F100\nG0 X0 Y0 Z0\n{block}\nM2\n", turn_deg=turn_deg).text)
    expected = moved(source.centre[-1:], ("0", "0", "0"), turn_deg, ("0", "0"))
    assert np.abs(path.centre[-1:] - expected)[0, :2].max() <= 5e-4
    assert (abs(path.sweep_deg[-1]) > 180) == (abs(source.sweep_deg[-1]) > 180)


@pytest.mark.parametrize("turn_deg", [7.7, 30.0])
def test_an_arc_that_rounding_does_no_harm_keeps_its_radius(turn_deg: float) -> None:
    text = shifted("G21 G90 G17 F100\nG0 X0 Y0 Z0\nG2 X8 Y0 R8\nG3 X0 Y0 R-8\nM2\n", turn_deg=turn_deg).text
    assert (b" R8\n" in text, b" R-8\n" in text) == (True, True)


@pytest.mark.parametrize("turn_deg", [3.0, 12.0, 37.0, 135.5, -45.0, 720.25])
@pytest.mark.parametrize("text", INVERSE_TIME.values(), ids=INVERSE_TIME.keys())
def test_a_program_in_inverse_time_can_be_turned(text: str, turn_deg: float) -> None:
    before = motions(text)
    after = motions(shifted(text, turn_deg=turn_deg).text)
    expected = moved(sampled(before), ("0", "0", "0"), turn_deg, ("0", "0"))
    assert_is_shift(before, after, expected, ROUNDED["G21"])


@settings(max_examples=25, deadline=None)
@given(
    text=drawn_programs(distance_modes=["G90", "G91"]),
    turn_deg=st.integers(-3600, 3600).map(lambda tenths: tenths / 10),
    by=NUMBER,
)
def test_any_program_of_lines_and_arcs_turns_and_moves_as_one(text: str, turn_deg: float, by: Decimal) -> None:
    by_mm, about_mm = (f"{by:f}", "0", "1.5"), ("3", f"{by:f}")
    before = motions(text)
    after = motions(shifted(text, by_mm, turn_deg, about_mm).text)
    assert_is_shift(before, after, moved(sampled(before), by_mm, turn_deg, about_mm), ROUNDED["G21"])
