"""`home` on machines with tools of any length: what it adds never goes lower than it says, and changes no state."""

import pytest

from tests.machine.judge_home import judge_home
from tests.machine.shops import places
from tests.machine.verbs import Ran, ran

POST = """\
G21 G90 G17 G94
G53 G0 Z0
T1 M6
G54
S12000 M3
G0 X5 Y5
G43 Z15 H1
G1 Z-1 F300
X20
G0 Z15
M5
M30
"""
REFERENCE = """\
G21 G90
G28 G91 Z0
G90
T2 M6
G54
S9000 M3
M8
G43 H2
G0 Z15
X5 Y5
G1 Z-1 F300
X20
G0 Z15
M9
M5
M30
"""
ENDS = {
    "the length offset goes": "G49\nM5\nM30\n",
    "up to machine zero": "G53 G0 Z0\nM5\nM30\n",
    "up to the reference point": "M5\nG28 G91 Z0\nG90\nM30\n",
    "up to machine zero without the length offset": "M5\nG49 G53 G0 Z0\nM30\n",
    "up to the second reference point": "M5\nG91 G30 Z0\nG90\nM2\n",
}


def sent_home(source: str, safe: float = 10) -> Ran:
    found = ran(["home", "a", "--safe-z", f"{safe:g}"], a=source)
    assert found.status == 0, found.said
    assert judge_home(source, found.out["-"], safe, places(), found.said) == []
    return found


@pytest.mark.parametrize("source", [POST, REFERENCE], ids=["machine zero", "reference point"])
def test_a_posts_head_is_gone_through_before_anything_is_added(source: str) -> None:
    sent_home(source)


@pytest.mark.parametrize("end", ENDS.values(), ids=list(ENDS))
@pytest.mark.parametrize("source", [POST, REFERENCE], ids=["post", "reference"])
def test_the_tip_never_comes_down_at_the_end(source: str, end: str) -> None:
    sent_home(source.split("M9\n")[0].split("M5\n")[0].replace("M8\n", "") + end)


def test_a_low_end_rises_with_the_length_offset_that_it_was_cut_with() -> None:
    sent_home(POST.replace("X20\nG0 Z15\nM5", "X20\nG0 Z2\nG49\nM5"))


@pytest.mark.parametrize("last", ["G0 Z15\n", "G1 X40\nG0 Z15\n"])
def test_nothing_ends_a_radius_off_zero(last: str) -> None:
    source = POST.replace("X20\n", f"G41 D1 X20\nY20\nX60\n{last}").replace("G0 Z15\nM5", "G0 Z20\nM5")
    found = ran(["home", "a", "--safe-z", "10"], a=source)
    assert (found.status, found.out) == (2, {"-": ""})
    assert "cutter compensation is on in the last motion, so that the tool is a radius beside its numbers" in found.said


@pytest.mark.parametrize(
    "source", ["G21 G90\nX1\nM30\n", "G21 G90\nG1 X1 F100\nX5\nM30\n", "G21 G90\nG0 X1 Y1\nG1 X5 F99\nM2\n"]
)
def test_a_program_that_does_not_say_enough_is_told_what_is_missing(source: str) -> None:
    found = ran(["home", "a", "--safe-z", "10"], a=source)
    if found.status == 0:
        assert judge_home(source, found.out["-"], 10, places(), found.said) == []
    assert "Infinity" not in found.said
    assert "nothing was written" not in found.said, "the proof's words are no help"


FLIPPED = POST.replace("G0 X5 Y5\nG43 Z15 H1\n", "G0 X50 Y0\nG43 Z15 H1\nX5 Y5\n").replace("M5\n", "X50 Y0\nM5\n")


def test_a_place_that_became_zero_is_reached_and_left_high() -> None:
    found = sent_home(FLIPPED)
    assert "X50" not in found.out["-"].split("first)")[1]


def test_the_judge_sees_a_place_that_became_zero_too_low() -> None:
    low = FLIPPED.replace("G53 G0 Z0\n", "").replace("G43 Z15 H1\n", "").replace("G54\n", "G54\nG43 H1\nG0 Z5\n")
    faults = judge_home(low, low.replace("X50 Y0", "X0 Y0"), 10, places(), "")
    assert {"plunge", "start"} <= {fault.kind for fault in faults}
