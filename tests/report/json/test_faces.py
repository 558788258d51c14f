"""The JSON report has exactly the documented keys and plain values."""

import json

import pytest

from flipreg.register.check import check
from flipreg.report.json.encoder import json_text
from flipreg.report.json.faces import to_json
from tests.register.shapes import PAGE, Mill, paddle, shift, tray

FINDING_KEYS = ["check", "line", "message", "program", "status"]


def test_the_keys_are_those_of_the_contract() -> None:
    report = to_json(check(paddle(), paddle(PAGE), flip=PAGE, tolerance_mm=0.1))
    assert sorted(report) == [
        "bounds",
        "datum",
        "diagnosis",
        "directions",
        "findings",
        "flip",
        "in_register",
        "register",
        "remedies",
        "tolerance_mm",
        "vote",
    ]
    nested = {key: sorted(value) for key, value in report.items() if isinstance(value, dict)}
    assert nested == {
        "flip": ["alternatives", "axis", "datum_mm", "found", "half_turn"],
        "register": [
            "dx_mm",
            "dy_mm",
            "evidence",
            "part_at_mm",
            "part_mm",
            "rotation_deg",
            "worst_at_mm",
            "worst_mm",
        ],
        "directions": ["across", "along", "turn"],
        "vote": ["by_chance", "coincide", "features", "log10_false_alarms", "others", "pitch_mm"],
        "datum": ["offset_mm"],
        "bounds": ["back_mm", "front_mm"],
    }
    findings = report["findings"]
    assert isinstance(findings, list)
    assert all(sorted(finding) == FINDING_KEYS for finding in findings)


def test_a_planted_offset_arrives_in_the_numbers() -> None:
    back = paddle(PAGE @ shift("0.4", "-0.3"))
    report = json.loads(json_text(to_json(check(paddle(), back, flip=PAGE, tolerance_mm=0.1))))
    assert report["in_register"] is False
    assert report["tolerance_mm"] == 0.1
    assert report["flip"] == {
        "axis": "y",
        "half_turn": False,
        "datum_mm": [205.0, 0.0],
        "found": False,
        "alternatives": [],
    }
    across = report["directions"]["across"]
    assert sorted(across) == ["evidence", "off", "settle", "status", "uncertainty", "unit"]
    assert (across["status"], across["off"], across["unit"]) == ("fail", pytest.approx(0.4, abs=1e-3), "mm")
    assert report["directions"]["turn"]["unit"] == "deg"
    assert (report["register"]["dx_mm"], report["register"]["dy_mm"]) == (0.4, -0.3)
    assert report["register"]["rotation_deg"] == 0.0
    assert report["register"]["worst_mm"] == 0.5
    assert report["datum"] == {"offset_mm": [205.0, 0.0]}
    assert report["bounds"]["back_mm"] == pytest.approx([-7.6, -11.3, 213.4, 114.7], abs=0.001)
    assert report["diagnosis"].startswith("The back sits 0.40 mm to the right")
    assert {"pass", "fail", "warn", "not determined"} >= {finding["status"] for finding in report["findings"]}
    assert report["findings"][0]["check"] == "register"
    assert report["findings"][0]["status"] == "fail"


def test_what_is_not_known_is_null_and_never_a_number() -> None:
    report = json.loads(json_text(to_json(check(paddle(), [Mill().drill(1, 1).program()], tolerance_mm=0.1))))
    assert report["in_register"] is None
    assert report["flip"]["axis"] is None
    assert report["flip"]["datum_mm"] is None
    assert report["register"]["worst_mm"] is None
    assert report["datum"]["offset_mm"] is None
    assert report["bounds"]["back_mm"] is None
    assert report["diagnosis"] is None


def test_alternatives_are_choices_like_the_flip_itself() -> None:
    report = to_json(check(tray(), tray(), tolerance_mm=0.1))
    flip = report["flip"]
    assert isinstance(flip, dict)
    # Where several fit none is found.
    assert (flip["found"], flip["axis"], flip["datum_mm"]) == (False, None, None)
    assert flip["alternatives"] == [
        {"axis": "y", "half_turn": False, "datum_mm": [300.0, 0.0]},
        {"axis": "x", "half_turn": False, "datum_mm": [0.0, 200.0]},
        {"axis": "none", "half_turn": False, "datum_mm": [0.0, 0.0]},
        {"axis": "none", "half_turn": True, "datum_mm": [300.0, 200.0]},
    ]
