"""Pairs within reach are all found, and places are told apart."""

import numpy as np
import pytest

from flipreg.register.faces.near import clusters, near_pairs


@pytest.mark.parametrize("reach", [0.05, 0.7, 30.0])
def test_all_pairs_within_reach_are_found_once(reach: float) -> None:
    ours = np.random.default_rng(1).uniform(-9.0, 9.0, (150, 2))
    theirs = np.random.default_rng(2).uniform(-9.0, 9.0, (120, 2))
    apart = np.hypot(*np.moveaxis(ours[:, np.newaxis] - theirs, 2, 0))
    a, b, distance = near_pairs(ours, theirs, reach)
    assert sorted(zip(a.tolist(), b.tolist(), strict=True)) == [tuple(pair) for pair in np.argwhere(apart <= reach)]
    assert distance == pytest.approx(apart[a, b])


def test_nothing_is_near_nothing() -> None:
    assert [len(part) for part in near_pairs(np.empty((0, 2)), np.zeros((3, 2)), 1.0)] == [0, 0, 0]


def test_points_at_one_place_share_its_number() -> None:
    points = np.array([[0.0, 0.0], [5.0, 0.0], [0.01, -0.01], [5.0, 0.01], [0.0, 9.0]])
    numbers = clusters(points, 0.02)
    assert numbers[0] == numbers[2]
    assert numbers[1] == numbers[3]
    assert len(set(numbers.tolist())) == 3
