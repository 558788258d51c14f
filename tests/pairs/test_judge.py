"""The judge finds what is wrong in reports written by hand, and nothing in right ones."""

from typing import Any

from tests.pairs.judge import judged
from tests.pairs.pair import Pair, make

OPEN = {"dx_mm": None, "dy_mm": None, "rotation_deg": None}
AGREES = {"dx_mm": 0.0, "dy_mm": 0.0, "rotation_deg": 0.0}


def pair_told(words: str, treatment: str, tolerance: float = 0.1) -> Pair:
    return next(
        pair
        for seed in range(300)
        for pair in [make("drilled", seed, treatment)]
        if pair.treatment == treatment and pair.told.words == words and pair.told.tolerance == tolerance
    )


def report(pair: Pair, *, in_register: bool | None, **changed: object) -> dict[str, Any]:
    status = {True: "pass", False: "fail", None: "not determined"}[in_register]
    flip = {"axis": pair.setting.axis, "datum_mm": list(pair.setting.datum), "found": pair.told.datum is None,
            "half_turn": False, "alternatives": []}  # fmt: skip
    directions = {name: {"status": status} for name in ("across", "along", "turn")}
    plain: dict[str, Any] = {"in_register": in_register, "flip": flip, "register": AGREES if in_register else OPEN,
             "directions": directions, "remedies": [], "diagnosis": None}  # fmt: skip
    return plain | changed


def test_a_pass_of_a_right_pair_is_right() -> None:
    pair = pair_told("flip", "right")
    assert judged(pair, report(pair, in_register=True)).wrong == []


def test_a_fail_of_a_right_pair_is_wrong() -> None:
    pair = pair_told("flip", "right")
    assert judged(pair, report(pair, in_register=False)).wrong[0].startswith("failed though right")


def test_an_open_verdict_is_never_wrong() -> None:
    for treatment in ("right", "half turn", "hole misplaced", "inch, wrong"):
        pair = pair_told("flip", treatment)
        assert judged(pair, report(pair, in_register=None)).wrong == []


def test_a_pass_of_a_pair_that_is_out_is_wrong() -> None:
    for treatment in ("half turn", "hole misplaced", "inch, wrong", "forgotten mirror"):
        pair = pair_told("flip", treatment)
        assert judged(pair, report(pair, in_register=True)).wrong[0].startswith("passed though out")


def test_a_found_flip_that_is_elsewhere_is_wrong_and_the_planted_one_is_found() -> None:
    pair = pair_told("nothing", "right")
    right = report(pair, in_register=True)
    assert judged(pair, right).flip == "found"
    x, y = pair.setting.datum
    moved = right["flip"] | {"datum_mm": [x + 1.0, y]}
    outcome = judged(pair, right | {"flip": moved})
    assert outcome.flip == "wrong"
    assert any(words.startswith("passed with a placement") for words in outcome.wrong)


def test_a_flip_with_the_offset_that_is_left_is_judged_as_a_whole() -> None:
    pair = pair_told("nothing", "right")
    x, y = pair.setting.datum
    off = report(pair, in_register=False)
    off["flip"] |= {"datum_mm": [x + 5.0, y]}
    across = -5.0 if pair.setting.axis == "y" else 5.0
    outcomes = [
        judged(pair, off | {"register": {"dx_mm": dx, "dy_mm": 0.0, "rotation_deg": 0.0}}).flip
        for dx in (across, -across)
    ]
    assert sorted(outcomes) == ["found", "wrong"]


def test_a_direction_that_passes_though_it_is_out_is_wrong() -> None:
    pair = pair_told("flip", "shifted")
    outcome = judged(pair, report(pair, in_register=None, directions={
        name: {"status": "pass"} for name in ("across", "along", "turn")
    }))  # fmt: skip
    move = pair.posted.placed @ ~pair.setting.back
    assert len(outcome.wrong) == sum(abs(part) > 0.12 for part in (move.dx, move.dy))


def test_a_remedy_that_mends_is_told_from_one_that_does_not() -> None:
    pair = pair_told("flip", "shifted")
    move = pair.posted.placed @ ~pair.setting.back
    names = [made.name for made in pair.back]

    def shifted(x: float, y: float) -> dict[str, Any]:
        change = {"of": "programs", "names": names, "set": {"by_mm": [x, y]}}
        remedies = [{"group": 0, "mistake": "offset", "ways": [{"words": "shift", "changes": [change]}]}]
        return report(pair, in_register=None, remedies=remedies)

    assert judged(pair, shifted(-move.dx, -move.dy)).named == "right"
    assert judged(pair, shifted(move.dx + 1, move.dy)).named == "wrong"
    assert judged(pair, report(pair, in_register=None)).named == "none"
