"""Codes of NISTIR 6556 that are read but not interpreted yet: each is a clear refusal, never a guess.

Home positions, machine coordinates, origins and probe trips are not in a program, so that the numbers after such
a block mean something else. When a code is interpreted, move its line out of here to a test of its result.
"""

import pytest

import flipreg
from flipreg.path import Path


@pytest.mark.parametrize(
    ("block", "column"),
    [
        ("G10 L2 P1 X3.5 Y17.2", 1),
        ("G28 X1", 1),
        ("G30", 1),
        ("G38.2 Z-5", 1),
        ("G53 G0 X1", 1),
        ("N50 G92 X7", 5),
        ("G92.3", 1),
        ("G1 X1 A10", 7),
        ("G0 B-90", 4),
    ],
)
def test_a_code_not_interpreted_yet_is_refused_at_its_word(block: str, column: int) -> None:
    # The column is that of the word that cannot be interpreted, from 1: of the code, or of the rotary axis.
    program = flipreg.parse(f"G21 G17 G90 F100\nG0 X0 Y0 Z0\n{block}\nM2\n", source="example.ngc")
    with pytest.raises(flipreg.RefusedError) as caught:
        flipreg.interpret(program)
    assert (3, column) == (caught.value.location.line, caught.value.location.column)
    assert str(caught.value).startswith(f"example.ngc:3:{column}: ")


@pytest.mark.parametrize("block", ["G10 L2 P1 X3.5", "G28 X1", "G30", "G38.2 Z-5", "G53 G0 X1", "G92 X7"])
def test_a_code_not_interpreted_yet_is_read_and_kept(block: str) -> None:
    text = f"G21\n{block}\nM2\n".encode()
    program = flipreg.parse(text, source="example.ngc")
    assert sum(len(blocks) for blocks in program.chunks()) == 3
    assert text == program.text


def test_absolute_arc_centres_are_never_taken_for_increments() -> None:
    # G90.1 is a widespread habit, not of the report: I, J are positions. Either so, or refused.
    program = flipreg.parse("G21 G17 G90 G90.1 F100\nG0 X20 Y0 Z0\nG3 X0 Y20 I0 J0\nM2\n", source="example.ngc")
    result = interpreted_or_refused(program)
    if isinstance(result, flipreg.RefusedError):
        assert result.location.line == 1
    else:
        assert result.centre[-1].tolist() == [0, 0, 0]


def interpreted_or_refused(program: flipreg.Program) -> Path | flipreg.RefusedError:
    try:
        return flipreg.interpret(program)
    except flipreg.RefusedError as refusal:
        return refusal
