"""The check of two faces on made pairs: no wrong flip, no wrong verdict, nothing that breaks."""

import pytest

from tests.pairs.judge import judge
from tests.pairs.pair import make
from tests.pairs.written import describe

# Some of each family, for time few of the long ones; among them those that were once answered wrongly.
SEEDS = {
    "lattice": (0, 1, 8, 14),
    "perforated": (4,),
    "rows": (0, 2, 3, 17),
    "drilled": (0, 1, 2, 3, 4, 5),
    "body": (5, 12, 16),
    "pockets": (0, 20, 25),
    "letters": (0, 10, 15),
    "slots": (1, 19),
    "comb": (0, 2, 6, 13, 23),
    "outline": (24, 33, 10308),
    "carved": (10202,),
    "bowl": (1, 37),
    "registered": (6, 13),
}


@pytest.mark.parametrize(("family", "seed"), [(family, seed) for family, seeds in SEEDS.items() for seed in seeds])
def test_the_check_of_a_made_pair_says_nothing_wrong(family: str, seed: int) -> None:
    pair = make(family, seed)
    assert judge(pair).wrong == [], describe(pair)


def test_passes_round_one_point_that_both_faces_share_are_no_evidence_for_another_way_round() -> None:
    pair = make("bowl", 10107)
    assert judge(pair).verdict == "passed", describe(pair)
