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
