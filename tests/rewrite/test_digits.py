"""Numbers written as columns, against the decimal module."""

import re
from decimal import ROUND_HALF_EVEN, Decimal

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from flipreg.rewrite.text.digits import number_texts, round_to_decimals
from flipreg.rs274.read.number import exact

NUMBERS = st.lists(
    st.tuples(st.integers(-(10**18) + 1, 10**18 - 1) | st.integers(-1200, 1200), st.integers(0, 18), st.booleans())
)


def written(numbers: list[tuple[int, int, bool]]) -> list[str]:
    mantissa, decimals, pointed = (np.array(column) for column in zip(*numbers, strict=True))
    texts = number_texts(mantissa.astype(np.int64), decimals.astype(np.int64), pointed=pointed)
    return [text.decode("ascii") for text in texts.each()]


def plain(mantissa: int, decimals: int, *, pointed: bool) -> str:
    """Return the spelling that the decimal module has for it."""
    text = f"{Decimal(mantissa).scaleb(-decimals) + 0:f}"
    return text + "." if pointed and "." not in text else text


@settings(max_examples=100)
@given(NUMBERS.filter(bool))
@example([(0, 0, False), (0, 3, False), (0, 0, True), (-1, 4, False), (-5, 0, True), (10**18 - 1, 18, False)])
def test_numbers_are_written_as_decimals_are(numbers: list[tuple[int, int, bool]]) -> None:
    assert written(numbers) == [plain(mantissa, decimals, pointed=point) for mantissa, decimals, point in numbers]


@settings(max_examples=100)
@given(NUMBERS.filter(bool))
def test_what_is_written_reads_back_as_the_same_number(numbers: list[tuple[int, int, bool]]) -> None:
    assert [exact(text) for text in written(numbers)] == [number[:2] for number in numbers]
    assert not [text for text in written(numbers) if re.fullmatch(r"-0*\.?0*", text)]


@pytest.mark.parametrize("pointed", [None, np.zeros(0, np.bool_)])
def test_no_numbers_are_no_text(pointed: "np.ndarray[tuple[int], np.dtype[np.bool_]] | None") -> None:
    nothing = np.empty(0, np.int64)
    assert number_texts(nothing, nothing, pointed=pointed).each() == []


def test_without_pointed_a_whole_number_has_no_point() -> None:
    texts = number_texts(np.array([5, -50, 5]), np.array([0, 1, 3]))
    assert texts.each() == [b"5", b"-5.0", b"0.005"]


@settings(max_examples=100)
@given(st.lists(st.floats(-1e5, 1e5), min_size=1), st.integers(0, 9))
def test_values_are_rounded_to_the_nearest_decimal(values: list[float], decimals: int) -> None:
    rounded = round_to_decimals(np.array(values), np.full(len(values), decimals))
    for value, mantissa in zip(values, rounded.tolist(), strict=True):
        nearest = Decimal(value).quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_EVEN)
        # The product with a power of ten is rounded to a double, which may make a half of what is none.
        assert abs(Decimal(mantissa).scaleb(-decimals) - Decimal(value)) <= abs(nearest - Decimal(value)) + Decimal(
            "1e-10"
        )
