"""Programs that name one place in both units: an offset that ends in one of them has no end in the other."""

from decimal import Decimal

import numpy as np
import pytest

import flipreg
from tests.commands.laws import assert_is_shift, flipped, mirrored, moved, shifted
from tests.motions import motions, sampled

CIRCLE = "G21 G90 G17\nG0 X0 Y0 Z0 F50\n{before}\nG90 G3 X0.000000 Y0.000000 I1\nM2\n"
"""The circle starts where millimetres led, and ends where inches say."""

FINE = b"rounded to 10 decimals of a millimetre or 11 of an inch"


@pytest.mark.parametrize("before", ["G20 G0 X0", "G20 G0 Y0", "G20", "G20 G91 G0 X0"])
@pytest.mark.parametrize("turn_deg", [0.0, 90.0, 180.0, 7.5])
def test_a_full_circle_from_a_place_of_the_other_unit_stays_one(turn_deg: float, before: str) -> None:
    text = CIRCLE.format(before=before)
    about_mm = ("0.002", "0.003")
    by_mm = ("0.001", "0.002", "0")
    source = motions(text)
    made = shifted(text, by_mm, turn_deg, about_mm)
    path = motions(made.text)
    assert abs(path.sweep_deg[-1] - 360) < 1e-3
    assert_is_shift(source, path, moved(sampled(source), by_mm, turn_deg, about_mm), 2.5e-4)


def test_a_circle_of_both_units_is_flipped_as_one() -> None:
    text = CIRCLE.format(before="G20")
    made = flipped(text, flipreg.FlipAxis.Y, ("10.001", "3"))
    path = motions(made)
    assert abs(path.sweep_deg[-1] + 360) < 1e-3
    np.testing.assert_allclose(
        path.end, mirrored(motions(text).end, flipreg.FlipAxis.Y, ("10.001", "3")), rtol=0, atol=1.3e-4
    )


def test_more_decimals_than_usual_are_said_in_the_header_and_the_notes() -> None:
    made = shifted(CIRCLE.format(before="G20 G0 X0"), turn_deg=90, about_mm=("0.002", "0.003"))
    assert FINE in made.text
    assert any(FINE.decode() in note for note in made.notes)


def test_decimals_stay_few_where_they_are_enough() -> None:
    text = "G21 G90 G17\nG0 X0 Y0 Z0 F50\nG20 G1 X1 Y2\nM2\n"
    made = shifted(text, ("0.001", "0", "0"))
    assert b"G1 X1.00004 Y2\n" in made.text
    assert FINE not in made.text


def test_a_short_arc_does_not_become_a_full_circle() -> None:
    # A hundred-thousandth of a millimetre long: with four decimals its ends are one point.
    text = "G21 G90 G17 F50\nG0 X0 Y0 Z0\nG3 X.00001 Y0 I1\nM2\n"
    path = motions(shifted(text, turn_deg=40).text)
    assert 0 < abs(path.sweep_deg[-1] - motions(text).sweep_deg[-1]) < 0.1


@pytest.mark.parametrize("radius", ["I5.00099 J0", "I4.99901 J0"])
def test_an_arc_from_the_other_unit_that_is_nearly_out_of_tolerance_stays_legal(radius: str) -> None:
    # Its radii differ by 0.00198 mm and 0.002 are allowed; 2/25.4 inches come to 0.00008 mm of rounding.
    text = f"G20 G90 G17 F50\nG0 X0 Y0 Z0\nG21 G2 X10 Y0 {radius}\nM2\n"
    made = flipreg.shift(flipreg.parse(text), by_mm=(Decimal("0.00013"), Decimal(0), Decimal(0)))
    assert motions(made.text).kind.tolist() == motions(text).kind.tolist()


@pytest.mark.parametrize("cycle", ["G81 X1 Y1 Z-2 R0", "G83 X1 Y1 Z-2 R0 Q.5", "G98 G82 X1 Y1 Z-2 R0 P1"])
def test_a_cycle_that_starts_at_its_level_in_the_other_unit_gets_no_move_more(cycle: str) -> None:
    text = f"G20 G90 G17\nG0 X0 Y0 Z0 F50\nG21\n{cycle}\nG80\nM2\n"
    source = motions(text)
    path = motions(shifted(text, ("0", "0", "0.5")).text)
    assert path.kind.tolist() == source.kind.tolist()
    assert_is_shift(source, path, moved(sampled(source), ("0", "0", "0.5"), 0.0, ("0", "0")), 2.5e-4)
