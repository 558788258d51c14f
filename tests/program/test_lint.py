import pytest

import flipreg
from flipreg.findings import Status

GOOD = "G21 G90 G17\nT1 M6\nS900 M3\nG0 X0 Y0 Z5\nG1 Z-1 F100\nX5\nG0 Z5\nM5\nM30\n"


def found(text: str) -> list[tuple[int | None, str]]:
    findings = flipreg.bounds(flipreg.parse(text, source="one.nc")).findings
    assert {(f.status, f.program) for f in findings} <= {(Status.WARN, "one.nc")}
    assert {f.check for f in findings} <= {"program", "spindle", "tool"}
    return [(finding.line, finding.message.split(":")[0]) for finding in findings]


def test_nothing_is_found_in_a_program_that_says_all_it_should() -> None:
    assert found(GOOD) == []
    assert found("%\n" + GOOD + "%\n") == []


@pytest.mark.parametrize(
    ("old", "new", "line", "message"),
    [
        ("G21 ", "", 4, "no G20 or G21 before the first motion"),
        ("G90 ", "", 4, "no G90 or G91 before the first motion"),
        (" F100", "", 5, "a cut before any feed was named (F)"),
        ("S900 M3", "S900", 5, "a cut while the spindle does not turn"),
        ("S900 M3", "M3", 5, "a cut while the spindle does not turn"),
        ("S900 M3", "S900 M4", 5, "a cut while the spindle turns counter-clockwise (M4), wrong for most cutters"),
        ("T1 M6", "T1", 5, "a cut with a tool that was never named (T, M6)"),
        ("X5\n", "G20 X5\n", 6, "the unit changes from millimetres to inches in the middle of the program"),
        ("X5\n", "G41 D1 X5\n", 7, "cutter compensation is still on at the end; write G40"),
        ("M30\n", "", 8, "no program end"),
        ("X5\n", "/X5\n", 6, "lines that begin with / were read as run; with the switch on they are not"),
        ("S900 M3\n", "S900 M3 G92 X0 Y0 Z9\n", 3, "G92 makes program zero where the tool stands when this line runs"),
        ("M30\n", "M30\nX7\n", 10, "a motion after the program's end (M2 or M30), which is never made"),
        ("M30\n", "M30\nO2\nX7\nM30\n", 10, "another program after the end of this one, which is never run"),
        ("M30\n", "M30\nO2\nM99\nO3\nX7\nM2\n", 12, "another program after the end of this one, which is never run"),
        ("M30\n", "M30\n(done)\nX7 Y8\n", 11, "a motion after the program's end (M2 or M30), which is never made"),
    ],
)
def test_what_a_program_never_says_is_found_with_its_line(old: str, new: str, line: int, message: str) -> None:
    assert GOOD.count(old) == 1
    assert found(GOOD.replace(old, new)) == [(line, message)]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("X5\n", "G41 D1 X5\nG40\n"),
        ("M30\n", "M98 P1\nM30\nO1\nX7\nM99\n"),
        ("M30\n", "M30\nO1\nX7\nM99\n"),
        ("M30\n", "M30\nM5 (off)\n"),
        ("M5\n", "M5\nG38.2 Z-1\n"),
        ("X5\n", "X5\nG99 G86 X1 R1 Z-2 P1\nG80\nG1 X2\n"),
    ],
)
def test_what_is_in_order_is_not_found(old: str, new: str) -> None:
    assert found(GOOD.replace(old, new)) == []


@pytest.mark.parametrize(
    ("x", "units", "says"),
    [
        (5, None, "taken for millimetres; X and Y go up to 5, which is little in millimetres; they may be inches"),
        (50, None, "they were taken for millimetres; X and Y go up to 50, which says neither the one nor the other"),
        (500, None, "millimetres; X and Y go up to 500, which as inches would be 12.7 m: millimetres fit"),
        (5, flipreg.Units.INCH, "they were taken for inches, as was said"),
    ],
)
def test_numbers_without_a_unit_are_told_with_what_they_were_taken_for_and_what_their_size_says(
    x: int, units: flipreg.Units | None, says: str
) -> None:
    text = GOOD.replace("G21 ", "").replace("X5\n", f"X{x}\nG21 X900\n")
    messages = [finding.message for finding in flipreg.bounds(flipreg.parse(text, units=units)).findings]
    assert says in messages[0]


def test_a_program_that_sets_the_origin_of_a_work_offset_fails() -> None:
    text = GOOD.replace("G17\n", "G17\nG10 L2 P1 X5 Y0\n")
    (found,) = flipreg.bounds(flipreg.parse(text, source="one.nc")).findings
    assert (found.check, found.status, found.line) == ("datum", Status.FAIL, 2)
    program = flipreg.face_program(flipreg.parse(text, source="a.nc"))
    assert flipreg.check([program], [program], tolerance_mm=0.1).passes is False


def test_each_thing_is_found_once_and_in_the_order_of_the_lines() -> None:
    assert [line for line, _ in found("G0 X1\nG1 X2\nG1 X3\nG20 X4\nX5\nG21 X6\n")] == [1, 1, 2, 2, 2, 4, 6]


def test_a_unit_after_the_first_motion_is_too_late() -> None:
    assert found(GOOD.replace("G21 ", "").replace("X5\n", "G21 X5\n"))[0][0] == 4


def test_findings_are_the_same_however_long_the_program_is() -> None:
    filler = "X5\n" * 60_000
    text = GOOD.replace("X5\n", filler).replace("G21 ", "").replace("M30\n", "")
    assert [line for line, _ in found(text)] == [4, 60_007]


def test_a_check_shows_them_and_decides_nothing_by_them() -> None:
    program = flipreg.face_program(flipreg.parse(GOOD.replace("T1 M6\n", "").replace("M30\n", ""), source="a.nc"))
    report = flipreg.check([program], [program], tolerance_mm=0.1)
    shown = [(f.status, f.program, f.line) for f in report.findings if f.check in ("program", "tool")]
    assert sorted(shown, key=str) == sorted([(Status.WARN, "a.nc", 4), (Status.WARN, "a.nc", 7)] * 2, key=str)
    bare = flipreg.face_program(flipreg.parse(GOOD, source="a.nc"))
    assert flipreg.check([bare], [bare], tolerance_mm=0.1).in_register == report.in_register
