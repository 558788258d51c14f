from math import sqrt

import numpy as np
import pytest

from flipreg.align.distribution import FOURTH_MOMENT, draws, standard_uncertainty
from flipreg.job.estimate import Estimate, Shape


@pytest.mark.parametrize(
    ("shape", "share"),
    [
        (Shape.RECTANGULAR, 0.57735),
        (Shape.TRIANGULAR, 0.40825),
        (Shape.ARCSINE, 0.70711),
        (Shape.NORMAL, 1.0),
    ],
)
def test_standard_uncertainty_is_the_share_of_the_half_width_that_its_shape_has(shape: Shape, share: float) -> None:
    # GUM 4.3, from memory.
    assert 3 * share == pytest.approx(standard_uncertainty(Estimate(shape, 3.0, 7.0)), abs=2e-5)


@pytest.mark.parametrize("shape", Shape)
def test_draws_have_the_mean_spread_and_fourth_moment_of_their_shape(shape: Shape) -> None:
    count = 200_000
    estimate = Estimate(shape, 2.0, 5.0)
    drawn = (draws(estimate, np.random.default_rng(1), count) - 5.0) / standard_uncertainty(estimate)
    fourth = FOURTH_MOMENT[shape]
    assert abs(drawn.mean()) < 4 / sqrt(count)
    assert pytest.approx(drawn.std(), abs=4 * sqrt((fourth - 1) / (4 * count))) == 1.0
    assert fourth == pytest.approx((drawn**4).mean(), rel=0.02)


@pytest.mark.parametrize("shape", [Shape.RECTANGULAR, Shape.TRIANGULAR, Shape.ARCSINE])
def test_draws_stay_within_their_limits_and_come_near_them(shape: Shape) -> None:
    drawn = draws(Estimate(shape, 2.0, 5.0), np.random.default_rng(2), 100_000)
    assert 3.0 <= drawn.min() < 3.05
    assert 6.95 < drawn.max() <= 7.0


@pytest.mark.parametrize(("size", "value"), [(-1.0, 0.0), (float("nan"), 0.0), (1.0, float("inf"))])
def test_a_spread_that_is_none_is_refused(size: float, value: float) -> None:
    with pytest.raises(ValueError, match="got"):
        Estimate(Shape.NORMAL, size, value)
