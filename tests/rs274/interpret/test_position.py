from decimal import Decimal

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from flipreg.rs274.interpret.position import positions_after, stepped

WORDS = st.lists(st.tuples(st.decimals(-1000, 1000, places=4, allow_nan=False), st.booleans()), min_size=1, max_size=30)


@settings(max_examples=100)
@given(st.decimals(-1000, 1000, places=4, allow_nan=False), WORDS)
def test_positions_are_the_doubles_nearest_to_the_exact_sums(
    before: Decimal, words: list[tuple[Decimal, bool]]
) -> None:
    exact, here = [], before
    for value, is_increment in words:
        here = here + value if is_increment else value
        exact.append(float(here))
    values = np.array([float(value) for value, _ in words])
    increments = np.array([is_increment for _, is_increment in words])
    assert exact == positions_after(float(before), values, increments).tolist()


@settings(max_examples=100)
@given(st.decimals(-1000, 1000, places=4, allow_nan=False), st.decimals(-1000, 1000, places=4, allow_nan=False))
def test_one_step_is_the_double_nearest_to_the_exact_sum(before: Decimal, increment: Decimal) -> None:
    assert float(before + increment) == stepped(float(before), float(increment))


def test_one_answer_serves_all_words() -> None:
    values = np.array([1.0, 2.0])
    assert positions_after(3.0, values, np.array([True])).tolist() == [4, 6]
    assert positions_after(3.0, values, np.array([False])).tolist() == [1, 2]


def test_an_unknown_coordinate_counts_as_zero_for_an_increment_only() -> None:
    nan = float("nan")
    assert positions_after(nan, np.array([1.0, 2.0]), np.array([True, True])).tolist() == [1, 3]
    assert positions_after(nan, np.array([1.0, 2.0]), np.array([False, True])).tolist() == [1, 3]
    assert np.isnan(stepped(nan, 1.0))
