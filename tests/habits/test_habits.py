"""Each habit of the table: what a program with it does, worked out by hand, what is told of it, and `--strict`."""

import io
import re
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest

import flipreg
from flipreg.cli import parser as cli
from flipreg.rs274.interpret.subprograms import executed
from flipreg.rs274.read.habit import Habit
from tests.every import every

PAGE = Path(__file__).parents[2] / "docs" / "reference" / "language.md"

H = "G21 G90 G17\nG0 X0 Y0 Z5\n"
"""Two lines that every example begins with: the first motion ends at X0 Y0 Z5."""

Ends = list[tuple[float, float, float]]

_NAN = float("nan")

EXAMPLES: dict[Habit, tuple[str, list[int], Ends]] = {
    Habit.REMARK: (f"{H}G1 X1 F9 ; to the right\n", [3], [(1, 0, 5)]),
    Habit.MOTION_IN_REMARK: (f"{H}G1 X1 F9; G1 Z-1\nX2 ;N5 g0y7 (up) ; on\n", [3, 4], [(1, 0, 5), (2, 0, 5)]),
    Habit.NESTED_COMMENT: (f"{H}G1 X1 F9 (a (b) c)\n", [3], [(1, 0, 5)]),
    Habit.OPEN_COMMENT: (f"{H}G1 X1 F9 (to X7\nY2 (then (up)\n", [3, 4], [(1, 0, 5), (1, 2, 5)]),
    Habit.PROGRAM_NUMBER: (f"{H}O7\nX1\n", [3], [(1, 0, 5)]),
    Habit.PROGRAM_NAME: (f"{H}O7997A\nX1\n", [3], [(1, 0, 5)]),
    Habit.PROGRAM_MARK: (f"%TRAY\n{H}X1\n%\n", [1], [(1, 0, 5)]),
    Habit.LONG_LINE: (f"{H}X1 ({'-' * 300})\n", [3], [(1, 0, 5)]),
    Habit.BYTE_ORDER_MARK: (f"\ufeff{H}X1\n", [1], [(1, 0, 5)]),
    Habit.END_BYTES: (f"{H}X1\nM2\n\x1a\x00", [5], [(1, 0, 5)]),
    Habit.ODD_BLANK: (f"{H}X1\u00a0Y2\n", [3], [(1, 2, 5)]),
    Habit.OPEN_PERCENT: (f"%\n{H}X1\n", [4], [(1, 0, 5)]),
    Habit.CLOSING_PERCENT: (f"{H}X1\n%\n", [4], [(1, 0, 5)]),
    Habit.MORE_PERCENTS: (f"%\n%\n{H}X1\n%\n%\n", [2, 7], [(1, 0, 5)]),
    Habit.UNREAD_TEXT: (f"%\n{H}X1\n%\nX2\n", [6], [(1, 0, 5)]),
    Habit.LONG_LINE_NUMBER: (f"{H}N100000 X1\nN000001 Y1\n", [3, 4], [(1, 0, 5), (1, 1, 5)]),
    Habit.LATE_SLASH: (f"{H}N10 /X1\nY2\n", [3], [(1, 0, 5), (1, 2, 5)]),
    Habit.SAID_TWICE: (f"{H}X1 X1\n", [3], [(1, 0, 5)]),
    Habit.ARC_CENTRES: (f"{H}G91.1 X1\n", [3], [(1, 0, 5)]),
    Habit.SUBPROGRAM: (f"{H}M98 P1\nM2\nO1\nX1\nM99\n", [3], [(1, 0, 5)]),
    Habit.PATH_WORDS: (f"{H}G64 P0.005 Q0.005 X3\nG61.1 R2 I1\n", [3, 4], [(3, 0, 5)]),
    Habit.MODE_ALONE: (f"{H}G1 F1500\nX2\nG0 S10000\nY3\n", [3, 5], [(2, 0, 5), (2, 3, 5)]),
    Habit.CANCEL_BESIDE_MOTION: (
        f"{H}G81 X1 Y1 Z-1 R2 F9\nG80 G0 Z8\nX4\n",
        [4],
        [(1, 1, 5), (1, 1, 2), (1, 1, -1), (1, 1, 5), (1, 1, 8), (4, 1, 8)],
    ),
    Habit.HOME_BESIDE_TRAVERSE: (f"{H}G91 G28 G0 Z0\nG90 X1\n", [3], [(0, 0, 5), (0, 0, _NAN), (1, 0, _NAN)]),
    Habit.LATER_OF_TWO: (f"{H}G49 G43 H1 Z3\nG61 G64 X1\n", [3, 4], [(0, 0, 3), (1, 0, 3)]),
    Habit.BOTH_COOLANTS: (f"{H}M7 M8 X1\n", [3], [(1, 0, 5)]),
    Habit.MANY_M_CODES: (f"{H}M3 M8 M48 M6 M1 X1\n", [3], [(1, 0, 5)]),
    Habit.UNUSED_CANCEL: (f"{H}G15 G40 G50 G69 X1\n", [3], [(1, 0, 5)]),
    Habit.IDLE_WORDS: (f"{H}X1 I3 J4\nG1 Y2 R5 F9\n", [3, 4], [(1, 0, 5), (1, 2, 5)]),
    Habit.CANCELLED_NUMBER: (f"{H}G49 H0\nG40 D1 X1\n", [3, 4], [(1, 0, _NAN)]),
    Habit.WHOLE_CIRCLE: (f"{H}G2 I5 J0 F9\nJ3\nG3 Z1 I2\n", [3, 4, 5], [(0, 0, 5), (0, 0, 5), (0, 0, 1)]),
    Habit.ROUNDED_RADII: (f"{H}G3 X9 Y3.004 I5 F9\n", [3], [(9, 3.004, 5)]),
    Habit.UNEQUAL_RADII: (f"{H}G3 X10.0100 Y0 I5 F9\n", [3], [(10.01, 0, 5)]),
    Habit.DWELL_BY_X: (f"{H}G4 X1.\nY2\n", [3], [(0, 2, 5)]),
    Habit.OWN_LENGTH: (f"{H}G43\nX1\nG43 Z7\n", [3, 5], [(1, 0, _NAN), (1, 0, 7)]),
    Habit.PARKED_BESIDE_THE_CUTTER: (
        f"{H}G41 D1 X1\nG53 G0 Z0\nG40\nX2\n",
        [4],
        [(1, 0, 5), (1, 0, _NAN), (2, 0, _NAN)],
    ),
    Habit.PASSIVE_CODE: (f"{H}M62 P1\nG187 Q3\nX1\n", [3, 4], [(1, 0, 5)]),
}
PASSIVE = ("M62", "G187")

WORDS: dict[Habit, str] = {
    Habit.REMARK: "; to the right",
    Habit.MOTION_IN_REMARK: "; G1 Z-1",
    Habit.NESTED_COMMENT: "(a (b) c)",
    Habit.OPEN_COMMENT: "(to X7",
    Habit.PROGRAM_NUMBER: "O7",
    Habit.PROGRAM_NAME: "O",
    Habit.LONG_LINE: "-",
    Habit.END_BYTES: "\x1a",
    Habit.ODD_BLANK: "\u00a0".encode().decode("latin-1")[:1],
    Habit.LONG_LINE_NUMBER: "N100000",
    Habit.LATE_SLASH: "/",
    Habit.SAID_TWICE: "X1",
    Habit.ARC_CENTRES: "G91.1",
    Habit.SUBPROGRAM: "M98",
    Habit.PATH_WORDS: "P0.005",
    Habit.MODE_ALONE: "G1",
    Habit.CANCEL_BESIDE_MOTION: "G80",
    Habit.HOME_BESIDE_TRAVERSE: "G0",
    Habit.LATER_OF_TWO: "G43",
    Habit.BOTH_COOLANTS: "M8",
    Habit.MANY_M_CODES: "M1",
    Habit.UNUSED_CANCEL: "G15",
    Habit.IDLE_WORDS: "I3",
    Habit.CANCELLED_NUMBER: "H0",
    Habit.WHOLE_CIRCLE: "G2",
    Habit.ROUNDED_RADII: "I5",
    Habit.UNEQUAL_RADII: "I5",
    Habit.DWELL_BY_X: "X1.",
    Habit.OWN_LENGTH: "G43",
    Habit.PARKED_BESIDE_THE_CUTTER: "G53",
    Habit.PASSIVE_CODE: "M62",
}
"""The word that the error of a strict reading points at; without one it points at the line."""


def test_every_habit_has_an_example() -> None:
    assert set(Habit) == set(EXAMPLES)


@every("habit", Habit)
def test_a_program_with_a_habit_makes_the_motions_worked_out_by_hand(habit: Habit) -> None:
    text, _, ends = EXAMPLES[habit]
    path = flipreg.interpret(flipreg.parse(text, passive=PASSIVE))
    assert str([tuple(map(float, end)) for end in [(0, 0, 5), *ends]]) == str([*map(tuple, path.end.tolist())])


@every("habit", Habit)
def test_a_habit_is_noticed_at_its_lines_and_told_if_it_says_something(habit: Habit) -> None:
    text, lines, _ = EXAMPLES[habit]
    program = flipreg.parse(text, passive=PASSIVE)
    noticed: dict[Habit, list[int]] = {}
    for step in executed(program):
        for each in (*([] if step.depth else step.blocks.habits), *step.modes.habits):
            noticed.setdefault(each.habit, []).extend(each.line.tolist())
    told = [(each.line, each.message) for each in flipreg.bounds(program).findings if each.check == "habit"]
    if habit.value.is_said:
        assert noticed[habit] == lines
        (found,) = [each for each in told if each[1].startswith(habit.sentence)]
        assert found[0] == lines[0]
        assert (f"lines {', '.join(map(str, lines))}" in found[1]) == (len(lines) > 1)
    assert {each for each in noticed if each.value.is_said} <= {habit, *([Habit.END_BYTES] if "\x1a" in text else [])}


@pytest.mark.parametrize("habit", Habit)
def test_a_program_held_to_the_report_is_an_error_at_its_first_habit(habit: Habit) -> None:
    text, lines, _ = EXAMPLES[habit]
    program = flipreg.parse(text, passive=PASSIVE, strict=True, source="one.nc")
    if habit is Habit.UNREAD_TEXT:
        assert len(flipreg.interpret(program)) > 0
        return
    with pytest.raises(flipreg.ProgramError, match=re.escape(habit.complaint)) as caught:
        flipreg.interpret(program)
    where = caught.value.location
    assert where.line == lines[0]
    line = text.encode().splitlines()[where.line - 1].decode("latin-1")
    assert line[where.column - 1 : where.end_column - 1] == WORDS.get(habit, line)


@pytest.mark.parametrize("habit", Habit)
@pytest.mark.parametrize("axis", flipreg.FlipAxis)
def test_a_flip_keeps_a_habit_and_says_so(habit: Habit, axis: flipreg.FlipAxis) -> None:
    text, _, ends = EXAMPLES[habit]
    made = flipreg.flip(flipreg.parse(text, passive=PASSIVE), axis=axis, datum_mm=(Decimal(20), Decimal(3)))
    path = flipreg.interpret(flipreg.parse(made.text, passive=PASSIVE))
    flip_about_y = axis is flipreg.FlipAxis.Y
    flipped = [(20 - x, y - 3, z) if flip_about_y else (x - 20, 3 - y, z) for x, y, z in [(0, 0, 5), *ends]]
    np.testing.assert_allclose(path.end, np.array(flipped, float), rtol=0, atol=1e-9)
    assert any(note.startswith(habit.sentence) for note in made.notes) == habit.value.is_said


def test_the_table_of_the_language_page_is_the_table_of_the_code() -> None:
    rows = re.findall(r"^\| ([a-z-]+) \| (.*) \| (.*) \| (yes|no) \| (.*) \|$", PAGE.read_text(), re.MULTILINE)
    wanted = [
        (
            habit.code,
            habit.value.found,
            habit.value.read,
            "yes" if habit.value.is_said else "no",
            habit.value.instead or "the report allows it",
        )
        for habit in Habit
    ]
    assert wanted == [tuple(cell.replace("`", "") for cell in row) for row in rows]


def command(arguments: list[str], text: str) -> tuple[int, str, str]:
    out, err = io.BytesIO(), io.StringIO()
    status = cli.main(arguments, io.BytesIO(text.encode("latin-1")), out, err)
    return status, out.getvalue().decode("latin-1"), err.getvalue()


def test_the_command_line_names_passive_codes_and_holds_to_the_report() -> None:
    text = f"{H}M25\nX1\nM2\n"
    status, _, err = command(["bounds", "-"], text)
    assert status == 2
    assert err.startswith("<stdin>:3:1: M25 is not a code of RS-274/NGC, so that what it does is not known here; ")
    assert "take it out or, if it moves nothing on your machine, name it with --passive M25" in err
    for arguments in (["bounds", "-"], ["flip", "-", "--axis", "y", "--at", "0"], ["shift", "-", "--turn", "30"]):
        assert command([*arguments, "--passive", "m025"], text)[0] == 0
        status, _, err = command([*arguments, "--passive", "m025", "--strict"], text)
        assert status == 2
        assert err.startswith(f"<stdin>:3:1: {Habit.PASSIVE_CODE.complaint}\n")


@pytest.mark.parametrize(
    ("code", "message"),
    [
        ("M6", "M6 is a code of RS-274/NGC and cannot be passive"),
        ("G68", "G68 moves the tool or changes what numbers mean on usual machines"),
        ("G73.0", "G73 moves the tool"),
        ("G38.3", "G38.3 moves the tool"),
        ("G54.1", "G54.1 moves the tool"),
        ("G29", "G29 moves the tool"),
        ("M1.5", "'M1.5' is not a code; expected one of the machine's own such as M25 or G187"),
        ("X5", "'X5' is not a code"),
    ],
)
def test_a_code_that_does_something_cannot_be_passive(code: str, message: str) -> None:
    with pytest.raises(flipreg.UsageError, match=re.escape(message)):
        flipreg.parse(H, passive=[code])


def test_axis_words_beside_a_passive_code_are_an_error() -> None:
    with pytest.raises(flipreg.ProgramError, match="beside a code that is said to move nothing; write two blocks"):
        flipreg.interpret(flipreg.parse(f"{H}M25 X1\n", passive=["M25"]))
    for code in ("G68", "G43.4", "G48"):
        with pytest.raises(flipreg.ProgramError, match=rf"{code} is not a code .* write the program without it"):
            flipreg.interpret(flipreg.parse(f"{H}{code} X1\n"))


def test_a_variant_of_a_code_that_moves_nothing_may_be_passive() -> None:
    flipreg.interpret(flipreg.parse(f"{H}G64.1\n", passive=["G64.1"]))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("\ufeffG21\nG0 X1\n".encode("utf-16-le").decode("latin-1"), "this file is UTF-16 text: save it as plain text"),
        ("G21\nN G1 X1\n", "neither sign nor point"),
        ("G21\nG90 G91 X1\n", "of which only one can hold; leave one out, or write two blocks"),
        ("G21\nG17 G18 X1\n", "of which only one can hold"),
        ("G20 G21\nX1\n", "of which only one can hold"),
        ("G54 G55 G0 X1\n", "of which only one can hold"),
        ("G0 X1 Y1\nG2 X2 I.5 P3\n", "turns of a helix are not in NISTIR 6556; write a block for each turn"),
        ("G0 X1 Y1\nG2 X2 I.5 L3\n", "turns of a helix are not in NISTIR 6556; write a block for each turn"),
        ("G0 X1 Y1 Z0\nG2 X1 Y1 Z-2 I.5 K1\n", "leave K out, and write a block for each turn if it is the pitch"),
        ("G54 P2 G0 X1\n", "NISTIR 6556 has G54 to G59.3; write one of them"),
        ("G0 X1\n%\nG0 X2\n", "take out the % or the text after it"),
        ("G0 G80\nX1\n", "no motion is in force here; expected G0, G1, G2, G3 or a canned cycle before it"),
        ("G0 X1 Y1\nG41 D1 X2\nG53 G0 Z0\nX3\nG40\n", "write G40 before it"),
    ],
)
def test_what_means_more_than_one_thing_is_refused_and_says_what_to_do(text: str, says: str) -> None:
    with pytest.raises(flipreg.ProgramError, match=re.escape(says)):
        flipreg.interpret(flipreg.parse(text.encode("latin-1")))


def test_a_park_under_compensation_is_read_however_the_program_is_cut() -> None:
    filler = "(" + "-" * 200 + ")\n"
    text = f"{H}G41 D1 X1\n" + filler * 2600 + "G53 G0 Z0\n" + filler * 2600 + "G40\nX2\n"
    assert flipreg.interpret(flipreg.parse(text)).end[-1, 0] == 2
    with pytest.raises(flipreg.ProgramError, match="G40"):
        flipreg.interpret(flipreg.parse(text.replace("G40\n", "X5\nG40\n")))
