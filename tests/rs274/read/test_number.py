"""Exact numbers from text and back."""

from decimal import ROUND_HALF_EVEN, Context, Decimal

import pytest
from hypothesis import given, settings

from flipreg.rs274.read.number import exact
from tests.strategies import numbers


@pytest.mark.parametrize(
    ("text", "mantissa", "decimals"),
    [
        ("5", 5, 0),
        ("5.", 5, 0),
        (".5", 5, 1),
        ("-.5", -5, 1),
        ("+007.50", 750, 2),
        ("-0", 0, 0),
        ("-0.000", 0, 3),
        ("000000000000000000000000012", 12, 0),
        ("123456789012345678", 123456789012345678, 0),
        ("-.123456789012345678", -123456789012345678, 18),
    ],
)
def test_a_number_is_its_digits_and_the_count_of_its_decimals(text: str, mantissa: int, decimals: int) -> None:
    assert (mantissa, decimals) == exact(text)


@pytest.mark.parametrize(
    ("text", "mantissa", "decimals"),
    [
        ("1.00000000000000000049", 100000000000000000, 17),
        ("1.000000000000000005", 100000000000000000, 17),  # a half, to the even digit below
        ("1.000000000000000015", 100000000000000002, 17),  # a half, to the even digit above
        ("1.0000000000000000051", 100000000000000001, 17),
        ("-1.000000000000000015", -100000000000000002, 17),
        ("9.999999999999999999", 100000000000000000, 16),  # the carry must not make a nineteenth digit
        ("0.0000000000000000005", 0, 18),
        ("0.0000000000000000006", 1, 18),
        ("0." + "0" * 40 + "1", 0, 18),
        ("123456789012345678.5", 123456789012345678, 0),
        ("1." + "0" * 5000, 100000000000000000, 17),
    ],
)
def test_what_does_not_fit_is_rounded_halves_to_even(text: str, mantissa: int, decimals: int) -> None:
    assert (mantissa, decimals) == exact(text)


@pytest.mark.parametrize("text", ["1234567890123456789", "1" * 5000, "1" * 19 + ".5", "999999999999999999.5"])
def test_more_digits_in_front_of_the_point_than_fit_are_an_error(text: str) -> None:
    with pytest.raises(ValueError, match="more than 18 digits in front of the decimal point"):
        exact(text)


@pytest.mark.parametrize("text", ["", ".", "+", "-.", "1.2.3", "1e3", "1,5", " 1", "١", "--1", "nan"])
def test_what_is_no_number_is_an_error(text: str) -> None:
    with pytest.raises(ValueError, match="is not a number"):
        exact(text)


@settings(max_examples=100)
@given(numbers())
def test_a_number_agrees_with_the_decimal_module(text: str) -> None:
    value = Decimal(text)
    try:
        mantissa, decimals = exact(text)
    except ValueError:
        assert abs(value) >= Decimal(10) ** 18 - 1
        return
    assert abs(mantissa) < 10**18
    assert 0 <= decimals <= 18
    digits = len(str(abs(mantissa)))
    nearest = value.quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_EVEN, Context(prec=60))
    assert nearest == Decimal(mantissa).scaleb(-decimals, Context(prec=60))
    written = len(text.partition(".")[2])
    assert decimals == written or digits == 18 or decimals == 18
