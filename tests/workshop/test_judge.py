"""The judge finds what is wrong: answers are made up, or given to another job than they are meant for."""

from dataclasses import replace
from typing import Any

import pytest

from tests.workshop import judge as module
from tests.workshop.answer import Answer, ask
from tests.workshop.job import ALL_TOLD, NONE, Job, make
from tests.workshop.judge import judge
from tests.workshop.remedies import judge_remedies
from tests.workshop.wrong import COUNTED, Kind


@pytest.fixture
def right() -> Job:
    return replace(make("beam", 2, NONE), told=ALL_TOLD)


def test_a_pass_of_a_spoilt_job_is_wrong(right: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    passed = ask(right)
    assert passed.verdict is True
    monkeypatch.setattr(module, "ask", lambda _: passed)
    spoilt = replace(make("beam", 2, "one_feature"), told=ALL_TOLD)
    assert [wrong.kind for wrong in judge(spoilt).wrongs] == [Kind.PASS]
    assert judge(right).wrongs == ()


def test_an_alarm_on_a_right_job_is_false(right: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    spoilt = replace(make("beam", 2, "off_by_millimetres"), told=ALL_TOLD)
    refused = ask(spoilt)
    assert refused.verdict is False
    monkeypatch.setattr(module, "ask", lambda _: Answer(refused.data | {"remedies": []}, refused.text))
    assert [wrong.kind for wrong in judge(right).wrongs] == [Kind.ALARM]
    assert judge(spoilt).wrongs == ()


def test_a_flip_that_is_found_elsewhere_is_wrong(right: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    found = ask(right)
    flip: dict[str, Any] = {"axis": right.axis, "datum_mm": [right.datum[0] + 5, right.datum[1]], "found": True}
    monkeypatch.setattr(module, "ask", lambda _: Answer(found.data | {"flip": flip, "in_register": None}, found.text))
    assert [wrong.kind for wrong in judge(right).wrongs] == [Kind.FLIP]


def test_a_flip_that_is_said_not_to_be_settled_only_counts(right: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    found = ask(right)
    flip: dict[str, Any] = {"axis": right.axis, "datum_mm": [right.datum[0] + 5, right.datum[1]], "found": True}
    open_ = Answer(found.data | {"flip": flip, "in_register": None}, "Flip X (fits best, not settled)")
    monkeypatch.setattr(module, "ask", lambda _: open_)
    assert [wrong.kind for wrong in judge(right).wrongs] == [Kind.FLIP_NOT_SETTLED]
    assert not judge(right).is_wrong


def test_a_remedy_that_does_not_mend_is_wrong(right: Job) -> None:
    spoilt = replace(make("beam", 2, "off_by_millimetres"), told=ALL_TOLD)
    answer = ask(spoilt)
    assert answer.data["remedies"]
    assert list(judge_remedies(spoilt, answer)) == []
    for remedy in answer.data["remedies"]:
        for way in remedy["ways"]:
            for change in way["changes"]:
                change["set"] = _a_little_more(change["set"])
    assert {wrong.kind for wrong in judge_remedies(spoilt, answer)} == {Kind.REMEDY}


def _a_little_more(new: dict[str, Any]) -> dict[str, Any]:
    """Return a change by half a millimetre more."""
    return {key: [value[0] + 0.5, *value[1:]] if key in ("datum_mm", "by_mm") else value for key, value in new.items()}


def test_what_only_counts_is_never_a_wrong_pass_nor_an_alarm() -> None:
    assert not COUNTED & {Kind.PASS, Kind.ALARM, Kind.FLIP, Kind.REMEDY, Kind.CRASH}
