"""Lines that are not in the language: NISTIR 6556 section 3.3 and appendix E, the bad-input list of the reference.

Each was refused by a strict parser written from the report when the list was made. What is pointed at is ours:
the report says that a line is an error, not where.
"""

import pytest

from flipreg.rs274.read.grammar import BlockSyntaxError, parse_block
from tests.reference.nistir6556.strictly import error_by_the_report, marked

BAD: list[tuple[str, int, str]] = [
    # line, first column (from 1) of the fault, what is pointed at ("" after the end of the line)
    ("N-1", 1, "N-"),
    ("N1.5 G1 X1", 1, "N1."),
    ("G1 X1 N10", 7, "N"),
    ("X.", 2, "."),
    ("X+", 2, "+"),
    ("X1e3", 2, "1e3"),
    ("X1.2.3", 2, "1.2.3"),
    ("G1 X", 4, "X"),
    ("G1 X-[2]", 5, "-"),
    ("G1 X-#1", 5, "-"),
    ("abc)", 1, "a"),
    ("G1, X1", 3, ","),
    ('G1 X"3"', 4, "X"),
    ("E1", 1, "E"),
    ("U1", 1, "U"),
    ("G1 X1 %", 7, "%"),
    ("G1 X[1+2", 5, "[1+2"),
    ("x [2 mod]", 9, "]"),
    ("X sin 30", 7, "3"),
    ("X atan[1]", 10, ""),
    ("[1+2]", 1, "["),
    ("G1 X#0", 5, "#0"),
    ("G1 X#5400", 5, "#5400"),
    ("G1 X#1.001", 5, "#1.001"),
    ("#1 2", 5, ""),
    ("g1 x asim[0.5]", 6, "asim"),  # Table 10: an error in the report's session too, R
]

HABITS: list[tuple[str, int, str]] = [
    # Refused by the report, and read with a note where a program is not held to it; columns as above.
    ("N100000 G1", 1, "N100000"),
    ("N10 /G1 X1", 5, "/"),
    ("(abc", 1, "(abc"),
    ("N000009 G1", 1, "N000009"),  # L3, R, 3.3.1
]


@pytest.mark.parametrize(("line", "column", "found"), BAD, ids=[line for line, *_ in BAD])
def test_a_line_against_the_grammar_is_refused_at_its_place(line: str, column: int, found: str) -> None:
    with pytest.raises(BlockSyntaxError) as caught:
        parse_block(line)
    assert (caught.value.start + 1, line[caught.value.start : caught.value.end]) == (column, found)


@pytest.mark.parametrize(("line", "column", "found"), HABITS, ids=[line for line, *_ in HABITS])
def test_a_habit_against_the_grammar_is_refused_by_the_letter_and_its_place_is_marked(
    line: str, column: int, found: str
) -> None:
    # Such an error marks its whole line, and the fault in it.
    block = parse_block(line)
    assert block.words or block.comments
    error = error_by_the_report(f"{line}\n", is_habit=True)
    assert error.location.line == 1
    assert set(range(column, column + len(found))) <= set(marked(error))


@pytest.mark.parametrize("line", ["#5399=1", "#1.00005=1", "X[1--3]", "X[2+-3]", "X[-2**2]", "M2 M6 M3 M8", "N99999"])
def test_a_line_that_looks_wrong_and_is_legal_is_read(line: str) -> None:
    block = parse_block(line)
    assert block.words or block.settings


@pytest.mark.parametrize("line", ["(a (b) c)", ";comment", "O100", "(" + "x" * 300 + ")"])
def test_a_line_the_report_refuses_and_habit_allows_is_read(line: str) -> None:
    # On the report's list of bad lines, or over its limit of 256 characters; read on purpose.
    block = parse_block(line)
    assert block.comments or block.words
