"""The check of two faces on made pairs: no wrong flip, no wrong verdict."""

import pytest

from tests.pairs.families import FAMILIES
from tests.pairs.judge import judge
from tests.pairs.pair import make
from tests.pairs.written import describe

# Carved faces have thousands of lines each: fewer of them, for time.
SEEDS = {"carved": (0,), "outline": (0, 1), "bowl": (0, 1)}


@pytest.mark.parametrize(
    ("family", "seed"), [(family, seed) for family in FAMILIES for seed in SEEDS.get(family, (0, 1, 2, 3))]
)
def test_the_check_of_a_made_pair_says_nothing_wrong(family: str, seed: int) -> None:
    pair = make(family, seed)
    assert judge(pair).wrong == [], describe(pair)
