"""Lengths as people write them on a command line."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flipreg.errors import UsageError
from flipreg.units import (
    Shown,
    length_text,
    limit_text,
    parse_length_mm,
    parse_lengths_mm,
    place_text,
    shown_in,
    with_unit,
)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("12.5", "12.5"),
        ("-12.5", "-12.5"),
        ("+3", "3"),
        ("0", "0"),
        (".5", "0.5"),
        ("5.", "5"),
        ("12mm", "12"),
        ("12.5 mm", "12.5"),
        ("0.5in", "12.7"),
        ("-1 in", "-25.4"),
        (" 1.5 ", "1.5"),
        ("0.1in", "2.54"),
        ("3/8in", "9.525"),
        ("3/8 in", "9.525"),
        ("-1 1/2in", "-38.1"),
        ("1-3/64in", "26.590625"),
    ],
)
def test_a_length_is_exact_millimetres(text: str, mm: str) -> None:
    assert parse_length_mm(text) == Decimal(mm)


@given(st.decimals(-10_000, 10_000, places=6))
def test_every_decimal_is_taken_exactly(value: Decimal) -> None:
    assert parse_length_mm(f"{value:f}") == value
    assert parse_length_mm(f"{value:f}in") == value * Decimal("25.4")


@pytest.mark.parametrize(
    "text",
    ["", " ", "mm", "1e3", "nan", "inf", "1,5", "1.5cm", "1M", '1"', "0x10", "1 2", "--1", "1_000", "٣", "1.2.3", "."],
)
def test_what_is_no_length_is_refused_with_what_was_expected(text: str) -> None:
    with pytest.raises(UsageError, match=r"is not a length; expected a number such as 12\.5") as caught:
        parse_length_mm(text)
    assert repr(text) in str(caught.value)


def test_points_are_lengths_with_commas_each_in_its_own_unit() -> None:
    assert parse_lengths_mm("1,-2.5", counts=(2,)) == (Decimal(1), Decimal("-2.5"))
    assert parse_lengths_mm("1in, 2mm ,3", counts=(2, 3)) == (Decimal("25.4"), Decimal(2), Decimal(3))


@pytest.mark.parametrize(
    ("text", "counts", "expected"),
    [("1", (2,), "X,Y"), ("1,2,3", (2,), "X,Y"), ("1,2,3,4", (2, 3), "X,Y or X,Y,Z"), ("", (2, 3), "X,Y or X,Y,Z")],
)
def test_too_many_or_too_few_lengths_are_refused(text: str, counts: tuple[int, ...], expected: str) -> None:
    with pytest.raises(UsageError, match=f"expected {expected}, separated by commas"):
        parse_lengths_mm(text, counts=counts)


def test_a_part_that_is_no_length_is_named() -> None:
    with pytest.raises(UsageError, match="'x' is not a length"):
        parse_lengths_mm("1,x", counts=(2,))


@pytest.mark.parametrize("text", ["3/8", "3/8mm", "1/3in", "1/0in", "3//8in"])
def test_only_the_usual_parts_of_an_inch_are_read(text: str) -> None:
    with pytest.raises(UsageError):
        parse_length_mm(text)


def test_a_length_without_a_unit_is_in_the_jobs_unit() -> None:
    assert with_unit(parse_length_mm("0.5"), inch=True) == Decimal("12.7")
    assert with_unit(parse_length_mm("0.5"), inch=False) == Decimal("0.5")
    assert with_unit(parse_length_mm("0.5mm"), inch=True) == Decimal("0.5")


def test_sentences_are_in_inches_only_while_that_is_asked_for() -> None:
    def said() -> tuple[str, str, str]:
        return length_text(12.7), limit_text(6.35), place_text((25.4, -12.7))

    assert said() == ("12.70 mm", "6.35 mm", "X 25.4 Y -12.7")
    with shown_in(inch=True):
        assert said() == ("0.500 in", "0.25 in", "X 1.000 Y -0.500")
        with shown_in(inch=False):
            assert said()[0] == "12.70 mm"
        assert said()[0] == "0.500 in"
    assert said()[0] == "12.70 mm"


def test_a_shown_length_is_never_minus_nothing() -> None:
    for inch in (False, True):
        assert "-" not in Shown(inch).number(-1e-9)
        assert Shown(inch).signed(-1e-9, 3).startswith("+")
