"""Shifting and turning a program, seen from outside: what the outside contract promises.

The source's motions are turned about the given point and then moved, here, with nothing of the package but
`interpret`, and compared with the motions of the shifted text.
"""

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import flipreg
from tests.commands.laws import EXACT, ROUNDED, assert_is_shift, moved, rounded, shifted
from tests.commands.programs import CYCLES, INVERSE_TIME, NUMBER, OUTSIDE_XY, PLANE, drawn_programs
from tests.motions import motions, sampled

ANGLES = [3.0, 135.5, 270.0, -45.0, 720.25]


EVERY = PLANE | INVERSE_TIME | CYCLES | OUTSIDE_XY


@pytest.mark.parametrize("text", EVERY.values(), ids=EVERY.keys())
def test_every_motion_of_a_shift_is_its_source_moved(text: str) -> None:
    by_mm = ("12.7", "-2.54", "0.254")
    before = motions(text)
    expected = moved(sampled(before), by_mm, 0.0, ("0", "0"))
    produced = shifted(text, by_mm)
    assert_is_shift(before, motions(produced.text), expected, EXACT)
    assert produced.largest_deviation_mm <= EXACT


@pytest.mark.parametrize("quarters", [1, 2, 3, -1])
@pytest.mark.parametrize("text", EVERY.values(), ids=EVERY.keys())
def test_every_motion_of_a_quarter_turn_is_its_source_turned(text: str, quarters: int) -> None:
    before = motions(text)
    turn_deg = 90.0 * quarters
    expected = moved(sampled(before), ("0", "0", "0"), turn_deg, ("25.4", "12.7"))
    produced = shifted(text, turn_deg=turn_deg, about_mm=("25.4", "12.7"))
    after = motions(produced.text)
    assert len(before) == len(after)
    assert np.nanmax(np.abs(expected - sampled(after))) <= EXACT
    assert produced.largest_deviation_mm <= EXACT
    assert after.compensation.tolist() == before.compensation.tolist()


@pytest.mark.parametrize("turn_deg", ANGLES)
@pytest.mark.parametrize("text", (PLANE | CYCLES).values(), ids=(PLANE | CYCLES).keys())
def test_every_motion_of_a_turn_is_its_source_turned_about_the_point_and_then_moved(text: str, turn_deg: float) -> None:
    by_mm, about_mm = ("1", "2", "0.5"), ("10", "-3")
    before = motions(text)
    expected = moved(sampled(before), by_mm, turn_deg, about_mm)
    produced = shifted(text, by_mm, turn_deg, about_mm)
    assert_is_shift(before, motions(produced.text), expected, rounded(text))


@pytest.mark.parametrize("text", OUTSIDE_XY.values(), ids=OUTSIDE_XY.keys())
def test_arcs_outside_the_xy_plane_cannot_be_turned_by_3_degrees(text: str) -> None:
    before = motions(text)
    first = int(before.line[before.is_arc & (before.normal != 2)][0])
    with pytest.raises(flipreg.RefusedError) as caught:
        shifted(text, turn_deg=3.0)
    assert caught.value.location.line == first


def test_a_turn_of_a_start_that_is_unknown_in_one_coordinate_is_refused() -> None:
    with pytest.raises(flipreg.RefusedError) as caught:
        shifted("G21 G90 F100\nG0 Z5\nG0 X10\nG1 Y5\nM2\n", turn_deg=30.0)
    assert caught.value.location.line == 3


def test_a_shift_of_a_program_that_names_one_axis_first_needs_no_other() -> None:
    text = "G21 G90 F100\nG0 Z5\nG0 X10\nG1 Y5\nM2\n"
    before = motions(text)
    after = motions(shifted(text, ("1", "2", "3")).text)
    assert_is_shift(before, after, moved(sampled(before), ("1", "2", "3"), 0.0, ("0", "0")), EXACT)


def test_turning_back_restores_every_motion_to_within_both_roundings() -> None:
    text = PLANE["arcs by centre"]
    there = shifted(text, turn_deg=23.0).text.decode()
    back = motions(shifted(there, turn_deg=-23.0).text)
    assert np.nanmax(np.abs(sampled(motions(text)) - sampled(back))) <= 2 * ROUNDED["G21"]


def long_incremental(count: int) -> str:
    steps = "\n".join("X0.1" if index % 2 else "X0.1 Y0.03" for index in range(count))
    return f"G21 G90 G17\nG0 X0 Y0 Z0\nG91 G1 F600 {steps}\nM2\n"


@pytest.mark.parametrize("turn_deg", [17.0, 45.0])
def test_rounding_never_accumulates_over_ten_thousand_incremental_moves(turn_deg: float) -> None:
    text = long_incremental(10_000)
    before = motions(text)
    after = motions(shifted(text, turn_deg=turn_deg).text)
    expected = moved(before.end, ("0", "0", "0"), turn_deg, ("0", "0"))
    assert len(after) == 10_001
    # One rounding to four decimals is 0.00005; ten thousand of them in step would be 0.5 mm.
    assert np.abs(expected - after.end).max() <= 1.01e-4


def test_rounding_never_accumulates_over_incremental_arcs() -> None:
    arcs = "\n".join("G2 X0.5 Y0.5 I0.5" if index % 2 else "G3 X0.3 R0.2" for index in range(1000))
    text = f"G21 G90 G17\nG0 X0 Y0 Z0\nG91 G1 F600 X1\n{arcs}\nM2\n"
    before = motions(text)
    after = motions(shifted(text, turn_deg=17.0).text)
    assert np.abs(moved(before.end, ("0", "0", "0"), 17.0, ("0", "0")) - after.end).max() <= 1.01e-4


def test_a_metric_shift_of_incremental_inches_moves_only_what_is_absolute() -> None:
    text = "G20 G90 F10\nG0 X1 Y1 Z1\nG91 G1 X.5\nY.25\nM2\n"
    before = motions(text)
    after = motions(shifted(text, ("25.4", "12.7", "0")).text)
    assert_is_shift(before, after, moved(sampled(before), ("25.4", "12.7", "0"), 0.0, ("0", "0")), EXACT)


@pytest.mark.parametrize("turn_deg", [float("nan"), float("inf")])
def test_an_angle_that_is_no_number_is_an_error(turn_deg: float) -> None:
    with pytest.raises(flipreg.UsageError, match=f"{turn_deg}"):
        shifted(PLANE["lines"], turn_deg=turn_deg)


@settings(max_examples=25, deadline=None)
@given(
    text=drawn_programs(distance_modes=["G90"]),
    turn_deg=st.integers(-3600, 3600).map(lambda tenths: tenths / 10),
    by=NUMBER,
)
def test_any_absolute_program_of_lines_and_arcs_turns_and_moves_as_one(text: str, turn_deg: float, by: Decimal) -> None:
    by_mm, about_mm = (f"{by:f}", "0", "1.5"), ("3", f"{by:f}")
    before = motions(text)
    after = motions(shifted(text, by_mm, turn_deg, about_mm).text)
    assert_is_shift(before, after, moved(sampled(before), by_mm, turn_deg, about_mm), ROUNDED["G21"])
