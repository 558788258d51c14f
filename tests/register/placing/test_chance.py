"""The number of false alarms is what counting says it is."""

from math import comb, log10

import pytest

from flipreg.register.placing.chance import log10_false_alarms


@pytest.mark.parametrize(("coincide", "features", "chance"), [(1, 1, 0.2), (3, 10, 0.05), (9, 10, 0.5), (40, 97, 0.06)])
def test_it_is_the_tail_of_the_binomial_distribution(coincide: int, features: int, chance: float) -> None:
    tail = sum(
        comb(features, k) * chance**k * (1.0 - chance) ** (features - k) for k in range(coincide, features + 1)
    )
    assert log10_false_alarms(coincide, features, chance, 1.0) == pytest.approx(log10(tail), abs=1e-9)


def test_every_placement_looked_at_is_a_chance_more() -> None:
    once = log10_false_alarms(3, 4, 0.01, 1.0)
    assert log10_false_alarms(3, 4, 0.01, 1000.0) == pytest.approx(once + 3.0)


def test_what_is_certain_or_empty_is_no_evidence() -> None:
    assert log10_false_alarms(0, 5, 0.1, 10.0) == pytest.approx(1.0)
    assert log10_false_alarms(5, 5, 1.0, 10.0) == pytest.approx(1.0)
