import numpy as np
import pytest

import flipreg
from flipreg.rs274.interpret.state import BlockDelete
from flipreg.rs274.interpret.subprograms import MOST_DEEP, executed
from flipreg.rs274.read.program import parse
from tests.motions import motions

HEAD = "G21 G90 F100\nG0 X0 Y0 Z5\n"


def error_of(text: str) -> flipreg.ProgramError:
    with pytest.raises(flipreg.ProgramError) as caught:
        motions(text)
    return caught.value


def test_a_subprogram_runs_where_it_is_called_as_often_as_it_says() -> None:
    path = motions(HEAD + "M98 P100 L2\nG90 G0 X50\nM98 P100\nM30\nO100\nG91\nG1 X5\nM99\n")
    assert path.end[:, 0].tolist() == [0, 5, 10, 50, 55]
    assert path.line.tolist() == [2, 9, 9, 4, 9]


def test_subprograms_call_subprograms_and_come_back() -> None:
    path = motions(HEAD + "M98 P1\nX9\nM2\nO1\nX1\nM98 P2 L2\nX3\nM99\nO2\nG91 X1\nG90\nM99\n")
    assert path.end[:, 0].tolist() == [0, 1, 2, 3, 3, 9]


def test_a_subprogram_may_end_the_program() -> None:
    assert motions(HEAD + "M98 P1\nX9\nM2\nO1\nX1\nM2\nM99\n").end[:, 0].tolist() == [0, 1]


def test_a_subprogram_that_nobody_calls_is_never_run() -> None:
    assert motions(HEAD + "X1\nM2\nO1\nX5\nM99\n").end[:, 0].tolist() == [0, 1]


def test_number_and_repeats_may_be_expressions_and_the_call_may_be_in_company() -> None:
    text = HEAD + "#1=3\nS100 M98 P[#1+4] L#1 M8\nM2\nO7\nG91 X1\nM99\n"
    assert motions(text).end[:, 0].tolist() == [0, 1, 2, 3]


def test_a_deleted_call_is_none_with_the_switch_on() -> None:
    program = parse(HEAD + "/M98 P1\nX9\nM2\nO1\nX1\nM99\n")
    assert flipreg.interpret(program).end[:, 0].tolist() == [0, 1, 9]
    assert flipreg.interpret(program, block_delete=BlockDelete.ON).end[:, 0].tolist() == [0, 9]


@pytest.mark.parametrize(
    ("text", "line", "column", "words"),
    [
        ("M98 P7\nM2\n", 1, 1, "no subprogram O7"),
        ("M98 P1\nM2\nO1\nM8\n", 1, 1, "no M99"),
        ("M98\nM2\n", 1, 1, "without a whole P"),
        ("M98 P1.5\nM2\n", 1, 1, "without a whole P"),
        ("M98 P1 L0\nM2\nO1\nM99\n", 1, 8, "1 or more"),
        ("G0 X1\nM99\n", 2, 1, "outside a subprogram"),
        ("M98 P1\nM2\nO1\nM98 P1\nM99\n", 4, 1, str(MOST_DEEP)),
        ("M98 P1\nM2\nO1\nM99\nO1\nM99\n", 5, 1, "a second O1"),
        ("M98 P1\nM2\nO1\nM99 P3\n", 4, 1, "another line"),
        ("M98 P1 L1999\nM98 P1 L2\nM2\nO1\nM99\n", 2, 1, "2000 runs"),
        ("G0 X1 P3\nM2\n", 1, 7, "M98"),
    ],
)
def test_a_call_that_cannot_be_made_is_an_error_at_its_word(text: str, line: int, column: int, words: str) -> None:
    error = error_of(text)
    assert (error.location.line, error.location.column) == (line, column)
    assert words in error.message


def test_the_steps_of_the_main_program_are_the_text() -> None:
    text = HEAD + "M98 P100 L2\nG90 G0 X50\nM98 P100\nM30\nO100\nG91\nG1 X5\nM99\n"
    steps = list(executed(parse(text)))
    lines = [step.blocks.line(block) for step in steps if not step.depth for block in range(len(step.blocks))]
    assert lines == text.splitlines()
    assert [step.call_line for step in steps if step.depth] == [3, 3, 5]


def test_lines_left_out_change_no_modes_and_values_of_the_lines_after_them() -> None:
    program = parse("G21 G90 F100\nG0 X1 Y1 Z1\n/G91 #1=5\n#1=3\nX[#1+1]\n/M2\nY2\nM2\n")
    on = flipreg.interpret(program, block_delete=BlockDelete.ON)
    np.testing.assert_array_equal(on.end, [[1, 1, 1], [4, 1, 1], [4, 2, 1]])
    assert flipreg.interpret(program).end.tolist() == [[1, 1, 1], [5, 1, 1]]


def test_a_program_with_a_name_is_none_that_is_called_by_number() -> None:
    path = flipreg.interpret(flipreg.parse(b"OTRAY\nG0 X1\nM98 P4\nM30\nO4\nG0 X2\nM99\n"))
    assert path.end[:, 0].tolist() == [1.0, 2.0]
    with pytest.raises(flipreg.FlipregError, match="4"):
        flipreg.interpret(flipreg.parse(b"OTRAY\nG0 X1\nM98 P4\nM30\nOLID\nM99\n"))
