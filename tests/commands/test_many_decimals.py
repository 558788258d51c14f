"""Numbers as long as a script prints its doubles: 0.1 + 0.2 is 0.30000000000000004."""

from decimal import Decimal

import pytest

import flipreg
from tests.commands.laws import EXACT, assert_is_flip, flipped
from tests.motions import motions

NUMBERS = ["0.30000000000000004", "12.700000000000001", "0.1234567890123456", "-0.00000000000000001"]


@pytest.mark.parametrize("at_mm", ["12.7", "50", "500", "-1250.05"])
@pytest.mark.parametrize("number", NUMBERS)
def test_a_program_with_numbers_of_17_decimals_is_flipped(number: str, at_mm: str) -> None:
    text = f"G21 G90 G17 F100\nG0 X{number} Y0 Z0\nG1 X1 Y{number}\nM2\n"
    datum_mm = (f"{2 * Decimal(at_mm):f}", "0")
    after = motions(flipped(text, flipreg.FlipAxis.Y, datum_mm))
    assert_is_flip(motions(text), after, flipreg.FlipAxis.Y, datum_mm, EXACT)


ARC = "G18 G3 X3 Z0 I1 K0\n"


@pytest.mark.parametrize(("block", "chords_mm"), [("G1 X3\n", None), (ARC, 0.1)])
def test_a_free_turn_refuses_a_number_that_leaves_no_digits_for_its_decimals(
    block: str, chords_mm: float | None
) -> None:
    program = flipreg.parse(f"G21 G90 F100\nG0 X1 Y0 Z0\n{block}G1 X123456789012345678\nM2\n")
    with pytest.raises(flipreg.RefusedError, match=r":4:4: X123456789012345678 is so far out .* than 18 digits"):
        flipreg.shift(program, turn_deg=30.0, chords_mm=chords_mm)
