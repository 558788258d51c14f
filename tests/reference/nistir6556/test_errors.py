"""Error conditions: NISTIR 6556 as listed in sections 7.1 and 7.3 of the reference.

Every bad line stands on line 3 of a program that is legal otherwise. The column, from 1, is stated as a span:

- a word or code that may not be there, or whose value is out of range: the column of its letter;
- a number, expression or comment that does not follow the grammar: from the start of the word it belongs to, up
  to the character where it cannot go on (one after the line where something is missing at its end);
- a word that is missing: the code that needs it, or the block as a whole (column 1).

All is read to the letter of the report: what is read as a habit otherwise is an error at the same place.
"""

import pytest

import flipreg
from tests.every import every
from tests.motions import motions, position_after
from tests.reference.nistir6556.strictly import error_by_the_report, strict_motions

HEAD = "G21 G17 G90 G94 F100 S100 T1 M6 M3\nG0 X0 Y0 Z2\n"

SYNTAX: list[tuple[str, int, int]] = [
    # line, first and last column that point at the fault
    ("N100000 G1 X1", 1, 7),  # six digits; the sixth is at 7
    ("N-1", 1, 2),
    ("N1.5 G1 X1", 1, 3),
    ("G1 X1 N10", 7, 7),  # N only at the start
    ("N10 /G1 X1", 5, 5),  # `/` only as the first character
    ("X.", 1, 3),
    ("X+", 1, 3),
    ("X1e3", 1, 3),  # no exponents, and E is no letter of the language
    ("X1.2.3", 1, 5),
    ("G1 X", 4, 5),
    ("G1 X-[2]", 4, 6),  # a sign belongs to a literal only
    ("G1 X-#1", 4, 6),
    ("(abc", 1, 5),
    ("abc)", 1, 2),  # A has no value
    ("G1, X1", 3, 3),
    ('G1 X"3"', 4, 5),
    ("E1", 1, 1),
    ("U1", 1, 1),
    ("G1 X1 %", 7, 7),
    ("G1 X[1+2", 4, 9),
    ("G1 X1+2]", 4, 8),
    ("x [2 mod]", 1, 9),
    ("X sin 30", 1, 7),
    ("X atan[1]", 1, 10),
    ("[1+2]", 1, 1),
    ("#1 2", 1, 5),  # blanks vanish: #12, and no `=`
    ("G1 X#", 4, 6),
    ("G1 X[]", 4, 6),
    ("G1 X[1 2 / ]", 4, 12),
    ("G1 X1$", 6, 6),
    ("G1 X1 \\ Y1", 7, 7),
    ("G1 X1 \x00", 7, 7),
]

COMBINATIONS: list[tuple[str, int, int]] = [
    ("G1 X1 X2", 7, 7),
    ("G0 G1 X1", 4, 4),
    ("G17 G18", 5, 5),
    ("M3 M5", 4, 4),
    ("M7 M8", 4, 4),
    ("M2 M6 M3 M8 M48", 13, 13),  # the fifth M word
    ("G1 X#0", 4, 5),  # at the word or at its #
    ("G1 X#5400", 4, 5),
    ("G1 X#1.001", 4, 5),
    ("#0=1", 1, 2),
    ("#5400=1", 1, 2),
    ("G59.4", 1, 1),
    ("G5 X1", 1, 1),
    ("M99", 1, 1),
    ("M1.5", 1, 1),
    ("G1.1 X1", 1, 1),
    ("M-3", 1, 1),
    ("G92 X1 G1", 1, 8),  # two users of the axis words: either one
    ("G28 G0 X1", 1, 5),
    ("G10 L2 P0 X1", 1, 8),
    ("G10 L2 P10 X1", 1, 8),
    ("G10 L2 P1.5 X1", 1, 8),
    ("G38.2 Z1.9", 1, 7),  # 0.1 mm away, less than 0.254
]

SEMANTICS: list[tuple[str, int, int]] = [
    ("G1", 1, 1),
    ("G0", 1, 1),
    ("G17 G2 X1", 1, 5),
    ("G17 G2 I1", 1, 5),
    ("G18 G2 Y1 I1", 1, 5),
    ("G17 G3 Z1 R5", 1, 5),
    ("G80 X1", 1, 5),
    ("G81 X1 Y1 R0.2", 1, 1),
    ("G81 X1 Y1 Z0.5 R0.2", 11, 16),  # R below the bottom: at either word
    ("G81 X1 Y1 Z-1 R0.2 L0", 20, 20),
    ("G83 X1 Y1 Z-1 R0.2 Q0", 20, 20),
    ("G82 X1 Y1 Z-1 R0.2 P-1", 20, 20),
    ("G93 G1 X1", 1, 5),
    ("G18 G41 D1", 5, 5),
    ("G4 P-1", 4, 4),
    ("G4", 1, 1),
    ("S-1", 1, 1),
    ("T-1", 1, 1),
    ("T1.5", 1, 1),
]


HABITS = {
    "N100000 G1 X1",
    "N10 /G1 X1",
    "(abc",
    "M7 M8",
    "M2 M6 M3 M8 M48",
    "G28 G0 X1",
    "G1",
    "G0",
    "G17 G2 I1",
    "G18 G2 Y1 I1",
}
"""Lines from above that are read where a program is not held to the report."""

ODD = ["(a (b) c)", ";comment", "G1 X1 ; comment", "O100", "(" + "x" * 400 + ")"]
"""Habits that say nothing of motions."""


def error_of(line: str, head: str = HEAD) -> flipreg.ProgramError:
    """Return the error that one line in an otherwise legal program causes."""
    return error_by_the_report(f"{head}{line}\nM2\n", is_habit=line in HABITS)


def assert_is_at(error: flipreg.ProgramError, line: str, first: int, last: int) -> None:
    assert error.location.line == 3
    assert first <= error.location.column <= last, line


@every("line, first, last", SYNTAX)
def test_a_line_against_the_grammar_is_an_error_at_the_place(line: str, first: int, last: int) -> None:
    assert_is_at(error_of(line), line, first, last)


@pytest.mark.parametrize(("line", "first", "last"), COMBINATIONS, ids=[line for line, *_ in COMBINATIONS])
def test_a_word_that_may_not_be_there_is_an_error_at_the_word(line: str, first: int, last: int) -> None:
    assert_is_at(error_of(line), line, first, last)


@pytest.mark.parametrize(("line", "first", "last"), SEMANTICS, ids=[line for line, *_ in SEMANTICS])
def test_a_line_that_means_nothing_is_an_error_at_the_code_or_word(line: str, first: int, last: int) -> None:
    assert_is_at(error_of(line), line, first, last)


@pytest.mark.parametrize("block", ["G41", "G42", "G41 D1", "G55"])
def test_compensation_twice_or_a_new_work_offset_meanwhile_is_an_error_at_the_code(block: str) -> None:
    location = error_of(f"N20 {block}", head="G21 G90 F100 T1 M6\nG41 D1 G1 X1 Y1 Z1\n").location
    assert (location.line, location.column) == (3, 5)


@every("line", [line for line, *_ in SYNTAX + COMBINATIONS + SEMANTICS if line.isprintable()])
def test_an_error_prints_its_place_what_was_found_and_the_line(line: str) -> None:
    error = error_of(line)
    first, shown, carets = str(error).split("\n")
    assert first == f"example.ngc:3:{error.location.column}: {error.message}"
    assert len(error.message) > 10
    assert shown.strip() == line
    assert carets.strip("^ ") == ""
    assert carets.index("^") == error.location.column - 1 + 2


@pytest.mark.parametrize(
    "line",
    [
        "N00009 G1 X1",
        "N99999 G1 X1",
        "M2 M6 M3 M8",
        "#5399=1",
        "#1.00005=2",
        "G4 P1 G1 X3",
        "G80",
        "G40",
        "G49",
        "G2.000005 X1 R1",
        "G1 X[1--3]",
        "G1 X[2+-3]",
        "(msg, a message) G1 X1",
        "n 0 0 1 0 g 1 x - 1",
        "g0x +0. 12 34y 7",
        "N0",
        "",
        " \t ",
        *ODD,
    ],
)
def test_a_line_that_looks_odd_and_is_legal_is_no_error(line: str) -> None:
    # The last five are habits that are not in the report, and errors where a program is held to it.
    text = f"{HEAD}{line}\nM2\n"
    assert motions(text).end[0].tolist() == [0, 0, 2]
    if line in ODD:
        assert error_by_the_report(text, is_habit=True).location.line == 3
    else:
        assert strict_motions(text).end[0].tolist() == [0, 0, 2]


def test_blanks_inside_numbers_vanish() -> None:
    # L1 R, section 3.3; L12 and L14 D.
    path = motions(f"{HEAD}g0x +0. 12 34y 7\nG1 X[1 2]\nX-.5\nX5.\nX+007.50\nM2\n")
    assert position_after(path, 3) == pytest.approx([0.1234, 7, 2], abs=1e-12)
    assert [position_after(path, line)[0] for line in (4, 5, 6, 7)] == [12, -0.5, 5, 7.5]


def test_a_lone_percent_line_in_a_program_that_did_not_start_with_one_is_an_error() -> None:
    # Appendix A.1 item 4. With text after it, it is no habit either: the error stands at that text and names the %.
    alone = error_by_the_report(f"{HEAD}%\n", is_habit=True)
    assert (alone.location.line, alone.location.column) == (3, 1)
    followed = error_by_the_report(f"{HEAD}%\nM2\n")
    assert (followed.location.line, followed.location.column) == (4, 1)
    assert "a % (line 3)" in followed.message


def test_an_opening_percent_line_without_a_closing_one_is_an_error() -> None:
    # Section 3.1. Which place is the fault, the opening line or the end, the report does not say.
    error_by_the_report(f"%\n{HEAD}G1 X1\nM2\n", is_habit=True)
