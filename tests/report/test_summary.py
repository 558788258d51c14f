"""The summary of `bounds` for people and for scripts."""

import json

import pytest

import flipreg
from flipreg.program.summary import summarise
from flipreg.report.json.program import summary_json
from flipreg.report.summary import summary_text
from flipreg.units import shown_in

TRAY = "G21 G90\nT2 M6\nS12000 M3\nG0 X10 Y0 Z5\nG1 Z-1 F300\nX40 F600\nG81 X0 Y0 Z-3 R1\nG80\nG0 Z-0.0001\nM2\n"


def text_of(program: str) -> str:
    return summary_text(summarise(flipreg.parse(program, source="front.ngc")))


def json_of(program: str) -> str:
    return summary_json(summarise(flipreg.parse(program, source="front.ngc")))


def test_a_summary_reads_like_this() -> None:
    assert text_of(TRAY) == (
        "front.ngc\n"
        "  10 lines, 8 motions, numbers in mm\n"
        "  cutting       X 0.000 to 40.000,  Y 0.000 to 0.000,  Z -3.000 to 5.000\n"
        "  all motion    X 0.000 to 40.000,  Y 0.000 to 0.000,  Z -3.000 to 5.000\n"
        "  first goes to X 10.000  Y 0.000  Z 5.000\n"
        "  ends at       X 0.000  Y 0.000  Z 0.000\n"
        "  tools         T2\n"
        "  feed          300 to 600 mm/min\n"
        "  spindle       12000 rpm\n"
        "  canned cycles 1 blocks\n"
        "  work offset   G54\n"
        "  path          40.0 mm fed, 47.0 mm traversed\n"
        "  time          0:05 min:s of cutting at the feeds named; traverses and acceleration not counted\n"
    )


def test_what_is_not_known_is_said() -> None:
    text = text_of("G0 X1\nG1 X2\n")
    assert "numbers in mm (not stated: no G20 or G21)" in text
    assert "cutting       X 1.000 to 2.000,  Y not named to not named" in text
    assert "ends at       X 2.000  Y not named  Z not named" in text
    assert "tools         none named" in text
    assert "feed          not named" in text
    assert "spindle       not named" in text
    assert "time          not determined: a cutting motion has no feed" in text


def test_a_feed_of_zero_is_said() -> None:
    text = text_of("G21 G90\nG0 X0 Y0 Z0\nG1 X1 F0\n")
    assert "time          not determined: a cutting motion has no feed, or feed 0" in text


def test_a_program_that_moves_nothing_is_said_to() -> None:
    text = text_of("(nothing)\nM2\n")
    assert "cuts nothing" in text
    assert "all motion" not in text
    assert "tools         -" in text
    assert "work offset   -" in text


@pytest.mark.parametrize("program", [TRAY, "G0 X1\nG1 X2\n", "(nothing)\n", "G21 G90\nG0 X0 Y0 Z0\nG1 X1 F0\n"])
def test_the_json_is_strict_and_has_the_same_keys_for_every_program(program: str) -> None:
    def refuse(constant: str) -> None:
        raise AssertionError(f"{constant} is not JSON")

    found = json.loads(json_of(program), parse_constant=refuse)
    assert set(found) == set(json.loads(json_of(TRAY)))


def test_the_json_has_the_figures_and_null_for_what_is_not_known() -> None:
    found = json.loads(json_of("G20\nG0 X1\nG1 X2\n"))
    assert found["unit"] == "inch"
    assert found["unit_stated"] is True
    assert found["cutting"] == {"low_mm": [25.4, None, None], "high_mm": [50.8, None, None]}
    assert found["end_mm"] == [50.8, None, None]
    assert found["cut_min"] is None
    assert found["feed_mm_per_min"] is None
    assert found["tools"] == [-1]


@pytest.mark.parametrize(
    ("minutes", "shown"), [("0.0082", "0:00"), ("0.5", "0:30"), ("0.9999", "1:00"), ("61.5", "61:30")]
)
def test_time_is_minutes_and_seconds(minutes: str, shown: str) -> None:
    text = text_of(f"G21 G90\nG0 X0 Y0 Z0\nG93 G1 X1 F{1 / float(minutes):.8f}\n")
    assert f"time          {shown} min:s" in text


def test_beside_a_job_in_inches_lengths_are_told_in_inches() -> None:
    summary = summarise(flipreg.parse("G20 G90\nG0 X1 Y2 Z0.5\nG1 Z-0.25 F30\nX3\nM2\n"))
    with shown_in(inch=True):
        text = summary_text(summary)
    assert "told in" not in text
    assert "X 1.0000 to 3.0000" in text
    assert "30 in/min" in text
    assert " mm" not in text
