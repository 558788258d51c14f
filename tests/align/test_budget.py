from collections.abc import Sequence
from dataclasses import replace
from math import hypot, radians, sqrt, tan

import numpy as np
import pytest
from numpy.typing import NDArray

from flipreg.align.budget import error_budget
from flipreg.align.budget_report import BudgetReport
from flipreg.align.register_model import BlankModel, Laid, Source, base_model, quantities, weights
from flipreg.errors import UsageError
from flipreg.findings import Status
from flipreg.job.budget import Air, Budget, Feature, MoistureChange
from flipreg.job.estimate import Estimate, Shape

FRONT = Laid("front", ((1, 0), (0, 1)), (0.0, 0.0), (0.0, 1000.0))
BACK = Laid("back", ((-1, 0), (0, 1)), (0.0, 0.0), (0.0, 1000.0))
BLANK = BlankModel((200.0, 1200.0, 40.0), (0.003, 0.00005))
CORNERS = (-100.0, -100.0, 100.0, 1100.0)


@pytest.fixture
def few_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make a tenth of the draws, for tests of what a budget says and not of how exactly."""
    monkeypatch.setattr("flipreg.align.budget._COUNT", 20_000)


def _miss(
    errors: dict[str, float], at_mm: tuple[float, float], depth_mm: float = 20.0, *, back: Laid = BACK
) -> list[float]:
    """Return the model's miss for errors that are known."""
    model = base_model(FRONT, back, BLANK)
    eight = _numbers(model({name: np.array(value) for name, value in errors.items()}))
    x, y = (weights(at_mm, depth_mm) @ eight).tolist()
    return [x, y]


def _numbers(parts: Sequence[NDArray[np.float64]]) -> NDArray[np.float64]:
    return np.array([float(part) for part in parts])


def _budget(budget: Budget, *, tolerance_mm: float = 0.3, back: Laid = BACK) -> BudgetReport:
    return error_budget(budget, FRONT, back, BLANK, corners_mm=CORNERS, tolerance_mm=tolerance_mm)


def _only(x: float, y: float, **inputs: Estimate) -> BudgetReport:
    return _budget(Budget(**inputs, features=(Feature("there", (x, y)),)))  # type: ignore[arg-type]


def _exactly(value: float) -> Estimate:
    return Estimate(Shape.NORMAL, 1e-9, value)


def test_without_errors_the_faces_meet() -> None:
    assert _miss({}, (60.0, 700.0)) == [0.0, 0.0]


def test_a_line_drawn_beside_its_place_on_the_back_moves_the_back_and_on_the_front_the_other_way() -> None:
    # Across the line from near to far is to the left on the table; on the back that is to the right of the blank.
    shift = {"centre line at the mark": 0.2, "centre line at the far end": 0.2}
    assert pytest.approx(_miss({f"front: {k}": v for k, v in shift.items()}, (60.0, 700.0))) == [0.2, 0.0]
    assert pytest.approx(_miss({f"back: {k}": v for k, v in shift.items()}, (60.0, 700.0))) == [0.2, 0.0]


def test_a_skew_of_a_twentieth_of_a_degree_is_a_quarter_millimetre_at_300() -> None:
    # R7: 0.05 degrees over 300 mm are 0.2618 mm; worked out.
    skew = tan(radians(0.05)) * 1000
    x, _ = _miss({"front: pointer at the far end": skew}, (0.0, 300.0))
    assert pytest.approx(abs(x), abs=5e-5) == 0.2618
    # The pointer is right at the mark, and far from the line the skew also moves things along it.
    assert pytest.approx(_miss({"front: pointer at the far end": skew}, (0.0, 0.0)), abs=1e-12) == [0.0, 0.0]
    _, y = _miss({"front: pointer at the far end": skew}, (300.0, 0.0))
    assert pytest.approx(abs(y), abs=5e-5) == 0.2618


def test_a_lean_of_a_tenth_of_a_degree_through_twenty_millimetres_is_seven_hundredths_for_two_faces() -> None:
    # R7: 0.1 degrees through 20 mm are 0.0349 mm; each face reaches 20 mm down, leaning apart across the flip axis.
    x, y = _miss({"lean along X": 0.1, "lean along Y": 0.1}, (0.0, 300.0), depth_mm=20.0)
    assert pytest.approx(abs(x), abs=1e-4) == 2 * 0.0349
    assert pytest.approx(y, abs=1e-12) == 0.0


def test_axes_out_of_square_count_twice_beside_the_line_and_not_on_it() -> None:
    # Both faces are sheared alike on the table, and the flip turns one of them round: 2 * 100 * tan(0.03 degrees).
    x, y = _miss({"squareness": 0.03}, (100.0, 500.0))
    assert [0.0, 2 * 100 * radians(0.03)] == pytest.approx([x, abs(y)], abs=1e-9)
    assert pytest.approx(_miss({"squareness": 0.03}, (0.0, 500.0)), abs=1e-12) == [0.0, 0.0]


def test_the_shear_leaves_the_line_alone_in_every_way_the_blank_can_lie() -> None:
    for rows in (((-1, 0), (0, 1)), ((1, 0), (0, -1)), ((0, 1), (1, 0)), ((0, -1), (-1, 0))):
        back = Laid("back", rows, (0.0, 0.0), (0.0, 1000.0))
        only_back = np.subtract(_miss({"squareness": 0.03}, (0.0, 800.0), back=back), [0.0, 0.0])
        assert pytest.approx(only_back.tolist(), abs=1e-12) == [0.0, 0.0]


def test_wood_that_swells_leaves_the_back_behind_in_proportion_to_the_distance_from_its_mark() -> None:
    x, y = _miss({"moisture change": 2.0}, (50.0, 400.0))
    assert pytest.approx(x) == -50 * 0.006 / 1.006
    assert pytest.approx(y) == -400 * 0.0001 / 1.0001


def test_after_a_flip_end_over_end_the_lean_counts_along_the_blank_instead() -> None:
    over = Laid("back", ((1, 0), (0, -1)), (0.0, 0.0), (0.0, 1000.0))
    x, y = _miss({"lean along X": 0.1, "lean along Y": 0.1}, (0.0, 300.0), depth_mm=20.0, back=over)
    assert pytest.approx(x, abs=1e-12) == 0.0
    assert pytest.approx(abs(y), abs=1e-4) == 2 * 0.0349


def test_a_single_offset_has_the_spread_of_its_shape_times_root_two() -> None:
    (feature,) = _only(30.0, 0.0, jog_mm=Estimate(Shape.RECTANGULAR, 0.1)).features
    expected = 0.1 / sqrt(3) * sqrt(2)
    assert (expected, expected) == pytest.approx(feature.standard_mm)
    assert 1.959964 * expected == pytest.approx(feature.expanded_mm[0])
    # Two rectangles make a triangle, whose tail is shorter than the bell's.
    assert feature.drawn_distance_mm < feature.distance_mm


@pytest.mark.usefixtures("few_draws")
def test_the_spread_of_the_pointer_is_worked_out_by_hand_halfway_along() -> None:
    # Halfway the two ends count half each, on two faces; along, only the mark's own error counts.
    (feature,) = _only(0.0, 500.0, pointer_mm=Estimate(Shape.NORMAL, 0.1)).features
    assert (0.1, 0.1 * sqrt(2)) == pytest.approx(feature.standard_mm)


@pytest.mark.usefixtures("few_draws")
def test_the_far_pointer_has_its_own_spread_where_it_is_given() -> None:
    given = Estimate(Shape.NORMAL, 0.1)
    (feature,) = _only(0.0, 1000.0, pointer_mm=given, pointer_far_mm=Estimate(Shape.NORMAL, 0.3)).features
    assert 0.3 * sqrt(2) == pytest.approx(feature.standard_mm[0])


def test_law_and_monte_carlo_agree_within_the_latters_own_error() -> None:
    report = _budget(_all_inputs())
    for feature in report.features:
        compared = [
            *zip(feature.mean_mm, feature.drawn_mean_mm, feature.drawn_mean_error_mm, strict=True),
            *zip(feature.standard_mm, feature.drawn_standard_mm, feature.drawn_standard_error_mm, strict=True),
        ]
        for law, drawn, error in compared:
            assert abs(law - drawn) < 4 * error
            assert error < 0.01 * max(feature.standard_mm)
        assert feature.agrees
    assert {finding.check: finding.status for finding in report.findings}["agreement"] is Status.PASS


def test_a_spread_too_wide_for_the_law_is_not_determined() -> None:
    air = Air(
        Estimate(Shape.NORMAL, 1.0, 20.0),
        Estimate(Shape.RECTANGULAR, 45.0, 50.0),
        Estimate(Shape.NORMAL, 1.0, 20.0),
        Estimate(Shape.RECTANGULAR, 45.0, 50.0),
    )
    report = _budget(Budget(wood=air, features=(Feature("edge", (100.0, 0.0)),)), tolerance_mm=50.0)
    assert report.within is None
    assert [finding.check for finding in report.findings if finding.status is Status.NOT_DETERMINED] == ["agreement"]


@pytest.mark.usefixtures("few_draws")
def test_contributions_are_ranked_and_make_up_the_whole() -> None:
    worst = _budget(_all_inputs()).worst
    alone = [part.size_mm for part in worst.contributions]
    assert alone == sorted(alone, reverse=True)
    sizes = [part.standard_mm for part in worst.contributions]
    assert pytest.approx(sum(part.share for part in worst.contributions)) == 1.0
    assert hypot(*worst.standard_mm) == pytest.approx(hypot(*sizes), rel=1e-3)


@pytest.mark.usefixtures("few_draws")
def test_what_the_tolerance_would_need_is_enough_when_it_is_done() -> None:
    report = _budget(Budget(line_drawing_mm=Estimate(Shape.TRIANGULAR, 0.4), jog_mm=Estimate(Shape.RECTANGULAR, 0.05)))
    assert report.within is False
    relief = {part.source: part for part in report.reliefs}
    lines = relief[Source.LINES]
    assert lines.factor is not None
    assert relief[Source.JOG].factor is None
    done = _budget(
        Budget(
            line_drawing_mm=Estimate(Shape.TRIANGULAR, 0.4 * lines.factor),
            jog_mm=Estimate(Shape.RECTANGULAR, 0.05),
        )
    )
    assert pytest.approx(done.worst.drawn_distance_mm, rel=0.02) == 0.3
    whole = relief[None].factor
    assert whole is not None
    assert pytest.approx(report.worst.drawn_distance_mm * whole, rel=0.02) == 0.3


def test_without_a_source_neither_its_shift_nor_its_spread_is_left() -> None:
    # The wood shrinks by a known amount and the lines are drawn so well that nothing else counts: without the wood
    # there is hardly an error, and half of its movement is half of its shift.
    wood = MoistureChange(Estimate(Shape.RECTANGULAR, 0.01, -1.5))
    report = _budget(
        Budget(
            jog_mm=Estimate(Shape.RECTANGULAR, 0.01),
            wood=wood,
            features=(Feature("edge", (100.0, 0.0)),),
        ),
        tolerance_mm=0.3,
    )
    relief = {part.source: part for part in report.reliefs}[Source.WOOD]
    assert relief.without_mm < 0.02
    # 100 mm · 0.003 · 1.5 = 0.45 mm; 1.645 standard deviations of two jogs are left free of the 0.3.
    assert relief.factor == pytest.approx((0.3 - 1.645 * 0.01 * sqrt(2 / 3)) / 0.45, abs=0.01)
    (part,) = (part for part in report.worst.contributions if part.source is Source.WOOD)
    assert part.shift_mm == pytest.approx((0.45, 0.0), abs=5e-3)
    assert report.worst.contributions[0] is part


def _drawn(random: np.random.Generator, size: float) -> Estimate:
    """Return a random error of a size: shape, spread and what is known of it."""
    shape = list(Shape)[int(random.integers(4))]
    return Estimate(shape, float(random.uniform(0.2, 1.0)) * size, float(random.choice([0.0, 0.0, 1.0, -0.7])) * size)


def _random_budget(random: np.random.Generator) -> Budget:
    return Budget(
        line_drawing_mm=_drawn(random, 0.1),
        pointer_mm=_drawn(random, 0.1),
        jog_mm=_drawn(random, 0.05),
        square_deg=_drawn(random, 0.02),
        lean_deg=_drawn(random, 0.05),
        flat_mm=_drawn(random, 0.2),
        wood=MoistureChange(_drawn(random, 1.0)),
        coefficient_percent=Estimate(Shape.RECTANGULAR, 30.0),
        features=(Feature("there", (float(random.uniform(-100, 100)), float(random.uniform(0, 1000)))),),
    )


FIELDS = {
    Source.LINES: ("line_drawing_mm",),
    Source.POINTER: ("pointer_mm",),
    Source.JOG: ("jog_mm",),
    Source.SQUARE: ("square_deg",),
    Source.LEAN: ("lean_deg",),
    Source.FLAT: ("flat_mm",),
    Source.WOOD: ("wood", "coefficient_percent"),
}


@pytest.mark.usefixtures("few_draws")
def test_what_is_left_without_a_source_is_the_budget_of_a_job_that_does_not_have_it() -> None:
    random = np.random.default_rng(11)
    budget = _random_budget(random)
    report = _budget(budget, tolerance_mm=1e-3)
    sources = [relief.source for relief in report.reliefs]
    assert set(sources) == {None, *FIELDS}
    for relief in report.reliefs:
        if relief.source is None:
            continue
        rest = replace(budget, **dict.fromkeys(FIELDS[relief.source]))  # type: ignore[arg-type]
        without = _budget(rest, tolerance_mm=1e-3).worst
        assert relief.without_mm == pytest.approx(without.drawn_distance_mm, rel=0.03), relief.source
        (part,) = (part for part in report.worst.contributions if part.source is relief.source)
        shift = np.subtract(report.worst.mean_mm, without.mean_mm)
        assert part.shift_mm == pytest.approx(shift.tolist(), abs=2e-3)


def test_the_map_of_errors_is_that_of_blanks_laid_and_cut_one_by_one() -> None:
    """Monte Carlo as it happens at the bench: each blank is laid by its drawn line and cut, with complex numbers."""
    random = np.random.default_rng(2)
    place = complex(70.0, 820.0)
    budget = Budget(
        line_drawing_mm=Estimate(Shape.TRIANGULAR, 0.2, 0.05),
        pointer_mm=Estimate(Shape.RECTANGULAR, 0.1),
        jog_mm=Estimate(Shape.NORMAL, 0.03, 0.02),
        wood=MoistureChange(Estimate(Shape.RECTANGULAR, 0.5, 1.0)),
        features=(Feature("there", (place.real, place.imag)),),
    )

    def cut(count: int, *, mirrored: bool) -> NDArray[np.complex128]:
        """Return where a cut lands in the blank, as seen on the table."""
        at = complex(-place.real, place.imag) if mirrored else place

        def line() -> NDArray[np.float64]:
            return np.asarray(random.triangular(-0.2, 0.0, 0.2, count) + 0.05)

        def pointer() -> NDArray[np.float64]:
            return random.uniform(-0.1, 0.1, count)

        # To the left of the line, and along it, that the pointer stands at the mark and at the far end.
        start = -(line() + pointer()) + 1j * (line() + pointer())
        end = -(line() + pointer()) + 1000j
        way = end - start.real
        landed = start + at * way / np.abs(way) / 1j
        landed += random.normal(0.02, 0.03, count) + 1j * random.normal(0.02, 0.03, count)
        return np.asarray(-landed.conjugate() if mirrored else landed)

    count = 60_000
    change = 1.0 + random.uniform(-0.5, 0.5, count)
    front, back = cut(count, mirrored=False), cut(count, mirrored=True)
    dry = back.real / (1 + 0.003 * change) + 1j * back.imag / (1 + 0.00005 * change)
    miss = dry - front
    (feature,) = _budget(budget).features
    assert feature.drawn_mean_mm == pytest.approx((miss.real.mean(), miss.imag.mean()), abs=3e-3)
    assert feature.drawn_standard_mm == pytest.approx((miss.real.std(), miss.imag.std()), rel=0.02)
    assert feature.drawn_distance_mm == pytest.approx(float(np.percentile(np.abs(miss), 95)), rel=0.02)


@pytest.mark.usefixtures("few_draws")
def test_nothing_is_needed_within_the_tolerance() -> None:
    report = _budget(Budget(jog_mm=Estimate(Shape.RECTANGULAR, 0.05)))
    assert report.within is True
    assert report.reliefs == ()


@pytest.mark.usefixtures("few_draws")
def test_sources_that_the_job_says_nothing_about_are_told() -> None:
    report = _budget(Budget(jog_mm=Estimate(Shape.RECTANGULAR, 0.05)))
    assert set(Source) - {Source.JOG, Source.CURVED} == set(report.left_out)


@pytest.mark.usefixtures("few_draws")
def test_the_map_agrees_with_features_at_its_places() -> None:
    budget = _all_inputs()
    report = _budget(budget)
    near_left = next(feature for feature in report.features if feature.name == "near left corner")
    assert report.map.distance_mm.shape == (13, 5)
    assert near_left.drawn_distance_mm == pytest.approx(float(report.map.distance_mm[0, 0]), rel=0.02)


def test_a_known_error_moves_the_mean_and_not_the_spread() -> None:
    (feature,) = _only(100.0, 0.0, square_deg=_exactly(0.03)).features
    assert 2 * 100 * radians(0.03) == pytest.approx(abs(feature.mean_mm[1]), rel=1e-6)
    assert feature.standard_mm[1] < 1e-8
    assert abs(feature.mean_mm[1]) == pytest.approx(feature.drawn_distance_mm, rel=1e-6)


@pytest.mark.usefixtures("few_draws")
def test_a_moisture_change_and_the_air_that_makes_it_say_the_same() -> None:
    change = MoistureChange(_exactly(10.101 - 8.485))
    air = Air(_exactly(20.0), _exactly(45.0), _exactly(20.0), _exactly(55.0))
    (one,), (other,) = (
        _budget(Budget(wood=wood, features=(Feature("there", (80.0, 0.0)),))).features for wood in (change, air)
    )
    assert one.mean_mm == pytest.approx(other.mean_mm, rel=2e-3)


def test_every_quantity_that_is_given_matters_to_the_model() -> None:
    budget = _all_inputs()
    found = [quantity for quantity, _ in quantities(budget, FRONT, BACK)]
    model = base_model(FRONT, BACK, BLANK)
    values = {quantity.name: np.array(quantity.estimate.value) for quantity in found}
    still = _numbers(model(values))
    for quantity in found:
        moved = {**values, quantity.name: values[quantity.name] + 0.5}
        assert float(np.abs(_numbers(model(moved)) - still).max()) > 1e-6, quantity.name


def test_an_empty_budget_is_refused() -> None:
    with pytest.raises(UsageError, match="the budget is empty"):
        _budget(Budget())


def _all_inputs() -> Budget:
    return Budget(
        line_drawing_mm=Estimate(Shape.TRIANGULAR, 0.2),
        pointer_mm=Estimate(Shape.TRIANGULAR, 0.15),
        pointer_far_mm=Estimate(Shape.NORMAL, 0.05),
        jog_mm=Estimate(Shape.RECTANGULAR, 0.05),
        square_deg=Estimate(Shape.RECTANGULAR, 0.02),
        lean_deg=Estimate(Shape.RECTANGULAR, 0.05),
        flat_mm=Estimate(Shape.RECTANGULAR, 0.3),
        wood=Air(
            Estimate(Shape.ARCSINE, 2.0, 20.0),
            Estimate(Shape.RECTANGULAR, 5.0, 45.0),
            Estimate(Shape.ARCSINE, 2.0, 20.0),
            Estimate(Shape.RECTANGULAR, 5.0, 55.0),
        ),
        coefficient_percent=Estimate(Shape.RECTANGULAR, 30.0),
    )
