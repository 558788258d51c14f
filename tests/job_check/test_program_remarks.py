"""What a job is told of its programs themselves: remarks once for all, standing spindles, lengths of other tools."""

from flipreg.findings import Status
from flipreg.job_check.program_remarks import program_remarks
from tests.job_check.motion_jobs import one_setup

HEAD = "G21 G90 G17\nT{0} M6\nS9000 M3\nG43 H{1} G0 Z10\nX-5 Y-5\n"
CUT = "G1 Z-2 F300\nX5\nG0 Z10\nM5\nM30\n"


def said(*texts: str) -> list[tuple[str, Status, str, int | None]]:
    faces, _ = one_setup(*texts)
    return [(one.check, one.status, one.says, one.line) for one in program_remarks(faces)]


def test_nothing_is_said_of_programs_that_say_all_they_should() -> None:
    assert said(HEAD.format(1, 1) + CUT) == []


def test_what_several_programs_lack_is_said_once_with_their_names() -> None:
    text = (HEAD.format(1, 1) + CUT).replace("M30\n", "")
    ((check, status, says, line),) = said(text, text, text)
    assert (check, status, line) == ("program", Status.WARN, 9)
    assert says == "no program end: neither M2 nor M30 is reached; so in front 1.nc, front 2.nc"


def test_a_feed_into_the_wood_with_a_spindle_that_was_stopped_fails() -> None:
    text = HEAD.format(1, 1) + CUT.replace("M30", "G1 Z-3\nX5\nG0 Z10\nM30")
    ((check, status, says, line),) = said(text)
    assert (check, status, line) == ("spindle", Status.FAIL, 10)
    assert "fed up to 3.00 mm below the face while the spindle stands still" in says


def test_a_feed_in_the_air_with_a_standing_spindle_is_only_worth_a_look() -> None:
    text = (HEAD.format(1, 1) + CUT).replace("S9000 M3\nG43 H1 G0 Z10", "G43 H1 G1 Z10 F900\nS9000 M3")
    assert [(check, status) for check, status, _, _ in said(text)] == [("spindle", Status.WARN)]


def test_a_spindle_that_no_program_word_starts_may_be_started_by_hand() -> None:
    text = (HEAD.format(1, 1) + CUT).replace("S9000 M3\n", "")
    assert [(check, status) for check, status, _, _ in said(text)] == [("spindle", Status.WARN)]


def test_a_tool_under_the_length_of_another_programs_tool_fails() -> None:
    found = said(HEAD.format(2, 2) + CUT, HEAD.format(1, 2) + CUT)
    assert [(check, status, line) for check, status, _, line in found] == [("length", Status.FAIL, 6)]


def test_a_program_that_ends_in_the_wood_fails() -> None:
    ((check, status, says, line),) = said(HEAD.format(1, 1) + CUT.replace("G0 Z10\n", ""))
    assert (check, status, line) == ("rapid", Status.FAIL, 7)
    assert says.startswith("at the end the cutter stands 2.00 mm below the face")


def test_a_program_that_goes_up_by_the_machine_does_not_end_in_the_wood() -> None:
    assert said(HEAD.format(1, 1) + CUT.replace("G0 Z10\n", "G53 G0 Z0\n")) == []


def test_a_program_without_tool_words_is_not_told_for_the_job_names_its_tool() -> None:
    assert said((HEAD.format(1, 1) + CUT).replace("T1 M6\n", "").replace("G43 H1 ", "")) == []
