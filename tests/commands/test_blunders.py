"""What a check says to do is done, and then the job is in register: random jobs with blunders planted.

`python -m tests.commands.blunders.campaign` tries as many as you like.
"""

from itertools import count
from pathlib import Path as File

import pytest

from tests.commands.blunders.campaign import judged
from tests.commands.blunders.plant import BLUNDERS, Blunder

JOB_SEEDS = (
    *(1062, 1187, 1126, 1189, 1066, 1098, 1161, 1162, 1194, 1133),
    *(1041, 1197, 1043, 1106, 1107, 1170, 1047, 1203, 1049, 1112, 1206),
)
PAIR_SEEDS = (1124, 1094, 1126, 1003, 1004, 1098, 1068, 1131, 1132, 1133, 1196, 1197, 1136, 1203, 1173)
"""A trial of each blunder, such that all parts are among them; of those that were tried the quick ones."""
SPOILT = [pytest.param(blunder, seed, id=blunder.name) for blunder, seed in zip(BLUNDERS, JOB_SEEDS, strict=True)]
SPOILT_PAIRS = [
    pytest.param(blunder, seed, id=blunder.name)
    for blunder, seed in zip((one for one in BLUNDERS if one.also_pair), PAIR_SEEDS, strict=True)
]


def complained(blunder: Blunder, first: int, folder: File, *, pair: bool) -> list[str]:
    """Return the complaints about the first trial, from a seed on, in which the blunder changes anything."""
    for seed in count(first):
        found = judged(seed, blunder, folder / f"{seed}", pair=pair)
        if found is not None:
            return found
    raise AssertionError


@pytest.mark.parametrize("pair", [False, True], ids=["job", "pair"])
@pytest.mark.parametrize("seed", range(4))
def test_a_right_job_passes(seed: int, pair: bool, tmp_path: File) -> None:  # noqa: FBT001 - a parameter of the test
    assert judged(seed, None, tmp_path / "job", pair=pair) == []


@pytest.mark.parametrize(("blunder", "first"), SPOILT)
def test_what_the_check_of_a_spoilt_job_says_mends_it(blunder: Blunder, first: int, tmp_path: File) -> None:
    assert complained(blunder, first, tmp_path, pair=False) == []


@pytest.mark.parametrize(("blunder", "first"), SPOILT_PAIRS)
def test_what_the_check_of_two_spoilt_faces_says_mends_them(blunder: Blunder, first: int, tmp_path: File) -> None:
    assert complained(blunder, first, tmp_path, pair=True) == []
