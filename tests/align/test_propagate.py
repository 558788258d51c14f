"""Worked examples of the GUM family. None of the documents was open: each test says who quotes it."""

from collections.abc import Mapping, Sequence
from math import inf, sqrt

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import special

from flipreg.align.propagate import (
    Model,
    Quantity,
    coverage_factor,
    curvature,
    drawn_inputs,
    propagate,
    results_of,
    standard_error_of_deviation,
)
from flipreg.errors import UsageError
from flipreg.job.estimate import Estimate, Shape

Floats = NDArray[np.float64]
Draws = Mapping[str, Floats]


def _normal(name: str, value: float, standard: float, freedom: float = inf) -> Quantity:
    return Quantity(name, Estimate(Shape.NORMAL, standard, value), freedom)


def monte_carlo(model: Model, quantities: Sequence[Quantity], *, count: int, seed: int) -> Floats:
    return results_of(model, drawn_inputs(quantities, count=count, seed=seed), count)


def test_the_end_gauge_of_gum_h1() -> None:
    # JCGM 100:2008, annex H.1, as quoted by the documents of two metrology libraries; the spreads of alpha and of th,
    # which only the second order asks for, are from memory.
    quantities = [
        _normal("standard", 50_000_623.0, 25.0, 18),
        _normal("d mean", 215.0, 5.8, 24),
        _normal("d random", 0.0, 3.9, 5),
        _normal("d systematic", 0.0, 6.7, 8),
        Quantity("da", Estimate(Shape.RECTANGULAR, 1e-6), 50),
        Quantity("dth", Estimate(Shape.RECTANGULAR, 0.05), 2),
        Quantity("alpha", Estimate(Shape.RECTANGULAR, 2e-6, 11.5e-6)),
        Quantity("mean th", Estimate(Shape.NORMAL, 0.2, -0.1)),
        Quantity("swing th", Estimate(Shape.ARCSINE, 0.5)),
    ]

    def length(q: Draws) -> list[Floats]:
        difference = q["d mean"] + q["d random"] + q["d systematic"]
        th = q["mean th"] + q["swing th"]
        return [q["standard"] + difference - q["standard"] * (q["da"] * th + q["alpha"] * q["dth"])]

    result = propagate(length, quantities)
    assert pytest.approx(result.values[0], abs=0.5) == 50_000_838.0
    assert pytest.approx(result.standard[0], abs=0.05) == 31.66
    assert pytest.approx(result.degrees_of_freedom[0], abs=0.15) == 16.75
    assert pytest.approx(coverage_factor(16, percent=99.0), abs=1e-4) == 2.9208
    assert pytest.approx(coverage_factor(16, percent=99.0) * 32, abs=0.5) == 93
    # "34 nm with second-order terms": the products with the temperature's swing are all of it.
    _, more = curvature(length, quantities)
    assert pytest.approx(sqrt(result.covariance[0, 0] + more[0, 0]), abs=0.5) == 34


def test_degrees_of_freedom_of_gum_g41() -> None:
    # JCGM 100:2008, G.4.1, from memory: a product of three with 0.25, 0.57 and 0.82 % from 10, 5 and 15 readings.
    quantities = [_normal("a", 1.0, 0.0025, 9), _normal("b", 1.0, 0.0057, 4), _normal("c", 1.0, 0.0082, 14)]
    result = propagate(lambda q: [q["a"] * q["b"] * q["c"]], quantities)
    assert pytest.approx(result.standard[0], abs=5e-5) == 0.0103
    assert pytest.approx(result.degrees_of_freedom[0], abs=0.05) == 19.0
    assert pytest.approx(coverage_factor(19), abs=5e-3) == 2.09


def test_the_calibration_line_of_gum_h3() -> None:
    # JCGM 100:2008, annex H.3, as quoted by the document of a metrology library.
    t = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]) - 20
    b = np.array([-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160])
    slope, intercept = np.polyfit(t, b, 1)
    spread = sqrt(((b - intercept - slope * t) ** 2).sum() / (len(t) - 2))
    centred = t - t.mean()

    def line(q: Draws) -> list[Floats]:
        readings = list(q.values())
        up = sum(c * r for c, r in zip(centred.tolist(), readings, strict=True)) / float(centred @ centred)
        mean = sum(readings) / len(readings)
        start = mean - up * float(t.mean())
        return [start, up, start + up * 10.0]

    result = propagate(line, [_normal(f"b{row}", value, spread) for row, value in enumerate(b.tolist())])
    covariance = result.covariance
    assert pytest.approx(result.values.tolist(), abs=6e-5) == [-0.1712, 0.00218, -0.1494]
    assert pytest.approx(result.standard.tolist(), abs=5e-5) == [0.0029, 0.00067, 0.0041]
    assert pytest.approx(covariance[0, 1] / sqrt(covariance[0, 0] * covariance[1, 1]), abs=5e-4) == -0.930


def test_the_caliper_of_ea_4_02_needs_a_smaller_factor_than_two() -> None:
    # EA-4/02, supplement S10, from memory: two rectangular terms make a trapezoid.
    quantities = [
        Quantity("a", Estimate(Shape.RECTANGULAR, 0.050)),
        Quantity("b", Estimate(Shape.RECTANGULAR, 0.025)),
    ]

    def total(q: Draws) -> list[Floats]:
        return [q["a"] + q["b"]]

    standard = float(propagate(total, quantities).standard[0])
    assert pytest.approx(standard, abs=5e-5) == 0.0323
    low, high = np.percentile(monte_carlo(total, quantities, count=200_000, seed=3)[0], [2.5, 97.5])
    assert pytest.approx((high - low) / 2 / standard, abs=0.01) == 1.83
    assert pytest.approx((high - low) / 2, abs=0.005) == 0.06


@pytest.mark.parametrize(
    ("shapes", "sizes", "half"),
    [
        ([Shape.NORMAL] * 4, [1.0] * 4, 3.92),
        ([Shape.RECTANGULAR] * 4, [sqrt(3)] * 4, 3.88),
        ([Shape.RECTANGULAR] * 4, [sqrt(3)] * 3 + [10 * sqrt(3)], 17.0),
    ],
)
def test_the_additive_models_of_jcgm_101(shapes: list[Shape], sizes: list[float], half: float) -> None:
    # JCGM 101:2008, 9.2, from memory.
    quantities = [
        Quantity(f"x{row}", Estimate(shape, size)) for row, (shape, size) in enumerate(zip(shapes, sizes, strict=True))
    ]
    drawn = monte_carlo(lambda q: [sum(q.values(), np.zeros(()))], quantities, count=400_000, seed=4)[0]
    low, high = np.percentile(drawn, [2.5, 97.5])
    assert half == pytest.approx((high - low) / 2, rel=4e-3)


@pytest.mark.parametrize(("freedom", "factor"), [(1, 12.71), (2, 4.30), (5, 2.57), (10, 2.23), (20, 2.09), (30, 2.04)])
def test_coverage_factors_are_students(freedom: float, factor: float) -> None:
    # GUM table G.2, from memory; and as scipy has it.
    assert factor == pytest.approx(coverage_factor(freedom), abs=5e-3)
    assert special.stdtrit(freedom, 0.975) == pytest.approx(coverage_factor(freedom), rel=1e-9)


def test_what_slopes_leave_out_of_a_product_is_the_product_of_the_spreads() -> None:
    quantities = [
        Quantity("x", Estimate(Shape.RECTANGULAR, 0.3, 2.0)),
        Quantity("y", Estimate(Shape.TRIANGULAR, 0.8, -1.0)),
    ]

    def product(q: Draws) -> list[Floats]:
        return [q["x"] * q["y"]]

    _, more = curvature(product, quantities)
    assert pytest.approx(more[0, 0]) == 0.3**2 / 3 * 0.8**2 / 6
    assert pytest.approx(propagate(product, quantities).covariance[0, 0]) == 4 * 0.8**2 / 6 + 0.3**2 / 3


@pytest.mark.parametrize("shape", Shape)
def test_what_slopes_leave_out_of_a_square_is_what_draws_show(shape: Shape) -> None:
    quantities = [Quantity("x", Estimate(shape, 1.0))]
    shift, more = curvature(lambda q: [q["x"] * q["x"]], quantities)
    drawn = monte_carlo(lambda q: [q["x"] * q["x"]], quantities, count=400_000, seed=5)[0]
    assert drawn.mean() == pytest.approx(shift[0], rel=0.01)
    assert drawn.std() == pytest.approx(sqrt(more[0, 0]), rel=0.01)


def test_the_standard_error_of_a_deviation_is_how_much_it_scatters() -> None:
    random = np.random.default_rng(6)
    samples = random.uniform(-1, 1, (400, 500))
    told = np.mean([standard_error_of_deviation(sample) for sample in samples])
    assert samples.std(axis=1).std() == pytest.approx(told, rel=0.15)


def test_the_same_seed_draws_the_same_numbers_and_another_others() -> None:
    quantities = [Quantity("x", Estimate(Shape.NORMAL, 1.0))]
    first, again, other = (monte_carlo(lambda q: [q["x"]], quantities, count=10, seed=seed) for seed in (1, 1, 2))
    assert first.tolist() == again.tolist()
    assert first.tolist() != other.tolist()


def test_few_readings_are_refused_by_monte_carlo() -> None:
    with pytest.raises(UsageError, match="'x' comes from few readings"):
        monte_carlo(lambda q: [q["x"]], [_normal("x", 0.0, 1.0, 4)], count=10, seed=1)


def test_a_single_reading_is_refused() -> None:
    with pytest.raises(UsageError, match="'x' needs at least two readings"):
        propagate(lambda q: [q["x"]], [_normal("x", 0.0, 1.0, 0)])
