from math import log, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import special

from flipreg.align.coverage import drawn_distance, normal_distance, position_diameter


@pytest.mark.parametrize("spread", [1e-3, 1.0, 40.0])
def test_a_round_spread_holds_95_percent_within_the_distance_of_rayleigh(spread: float) -> None:
    assert sqrt(-2.0 * log(1.0 - 0.95)) * spread == pytest.approx(normal_distance(np.zeros(2), np.eye(2) * spread**2))


def test_a_spread_along_one_line_holds_95_percent_within_two_deviations() -> None:
    assert special.ndtri(0.975) == pytest.approx(normal_distance(np.zeros(2), np.diag([1.0, 0.0])), rel=1e-5)


def test_a_round_spread_away_from_the_origin_follows_the_noncentral_distribution() -> None:
    expected = sqrt(special.chndtrix(0.95, 2, 9.0 + 4.0))
    assert expected == pytest.approx(normal_distance(np.array([3.0, 2.0]), np.eye(2)), rel=1e-6)


def test_without_spread_the_distance_is_that_of_the_middle() -> None:
    assert normal_distance(np.array([3.0, 4.0]), np.zeros((2, 2))) == 5.0
    assert normal_distance(np.zeros(2), np.zeros((2, 2))) == 0.0


@settings(max_examples=15, deadline=None)
@given(st.floats(0.1, 3), st.floats(0.1, 3), st.floats(-0.95, 0.95), st.floats(-4, 4), st.floats(-4, 4))
def test_normal_distance_is_what_normal_draws_show(a: float, b: float, r: float, x: float, y: float) -> None:
    covariance = np.array([[a * a, r * a * b], [r * a * b, b * b]])
    drawn = np.random.default_rng(7).multivariate_normal([x, y], covariance, 40_000).T
    distance, error = drawn_distance(drawn[0], drawn[1])
    assert distance == pytest.approx(normal_distance(np.array([x, y]), covariance), abs=5 * error + 1e-3)


def test_the_error_of_a_drawn_distance_is_how_much_it_scatters() -> None:
    random = np.random.default_rng(8)
    found = [drawn_distance(*random.standard_normal((2, 2000))) for _ in range(200)]
    assert np.std([distance for distance, _ in found]) == pytest.approx(np.mean([error for _, error in found]), rel=0.2)


def test_a_position_as_a_diameter_is_twice_the_distance() -> None:
    # ASME Y14.5 and ISO 1101. The first line's inputs and formula were read in a textbook, its result worked out; the
    # second is quoted by others: 0.30 against 0.25 allowed, rejected.
    assert pytest.approx(position_diameter(0.006, -0.001), abs=5e-6) == 0.01217
    assert pytest.approx(position_diameter(0.15, 0.0)) == 0.30
    assert pytest.approx(position_diameter(0.3, 0.4)) == 1.0
