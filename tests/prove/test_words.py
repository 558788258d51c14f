"""Words compared one by one, without the motions: what an isometry may change, and what it may not."""

import re
from dataclasses import replace

import numpy as np
import pytest

from flipreg.errors import ProofError
from flipreg.prove.words import compare_words, compared_rows
from tests.prove.reads import read


def passes(source: str, output: str) -> None:
    compare_words(read(source), read(output))


def stops(source: str, output: str, message: str) -> None:
    with pytest.raises(ProofError, match=f"^{re.escape(message)}; nothing was written$"):
        compare_words(read(source), read(output))


HEAD = "G21 G90 G17\nG0 X0 Y0 Z0\n"


@pytest.mark.parametrize(
    ("source", "output"),
    [
        ("G1 X1 F100\n", "G1 X-1 Y0 F100\n"),
        ("G2 X10 I5 F100\n", "G3 X10 I5 F100\n"),
        ("G3 X10 I5 F100\n", "G2 X10 I5 F100\n"),
        ("G18 G2 X10 I5 F100\n", "G19 G3 Y10 J5 F100\n"),
        ("G19 G2 Y10 J5 F100\n", "G18 G3 X10 I5 F100\n"),
        ("G41 D1 G1 X9 F100\n", "G42 D1 G1 X-9 F100\n"),
        ("G42 D1 G1 X9 F100\n", "G41 D1 G1 X-9 F100\n"),
        ("G92 X5\n", "G92 X-5\n"),
        ("G28 X5 Y5\n", "G28 X-5 Y5\n"),
        ("G55 G0 X1\nG10 L2 P1 X5\nG1 X1 F5\n", "G55 G0 X2\nG10 L2 P1 X5\nG1 X2 F5\n"),
    ],
)
def test_what_an_isometry_may_exchange_is_left_to_the_motions(source: str, output: str) -> None:
    passes(HEAD + source, HEAD + output)


@pytest.mark.parametrize(
    ("source", "output", "word"),
    [
        ("G1 X1 F100\n", "G0 X1 F100\n", "G1"),
        ("G18 G1 X1 F100\n", "G17 G1 X1 F100\n", "G18"),
        ("G55 G1 X1 F100\n", "G56 G1 X1 F100\n", "G55"),
        ("G59.1 G1 X1 F100\n", "G59.2 G1 X1 F100\n", "G59.1"),
        ("G91 G1 X1 F100\n", "G91.1 G1 X1 F100\n", "G91"),
        ("G41 D1 G1 X9 F100\n", "G40 G1 X9 F100\n", "G41"),
        ("G41 D1 G1 X9 F100\n", "G42 D2 G1 X9 F100\n", "D1"),
        ("G4 P1\n", "G4 P2\n", "P1"),
        ("M3 S100\n", "M4 S100\n", "M3"),
        ("M3 S100\n", "M3 S101\n", "S100"),
        ("T1 M6\n", "T2 M6\n", "T1"),
        ("N7 G1 X1 F100\n", "N8 G1 X1 F100\n", "N7"),
        ("G1 X1 F[4+1]\n", "G1 X1 F[4+2]\n", "F[4+1]"),
        ("G53 G0 Z0\n", "G53 G0 Z1\n", "Z0"),
        ("G1 X1 F5\nG53 G0 X1 Z0\n", "G1 X1 F6\nG53 G0 X1 Z0\n", "F5"),
        ("G10 L2 P1 X5\n", "G10 L2 P1 X-5\n", "X5"),
        ("G10 L2 P1 X5\n", "G10 L2 P2 X5\n", "P1"),
        ("G83 X1 Z-1 R1 Q.5 F9\n", "G83 X1 Z-1 R1 Q.6 F9\n", "Q.5"),
    ],
)
def test_a_word_that_may_not_change_is_named_with_its_line(source: str, output: str, word: str) -> None:
    stops(HEAD + source, HEAD + output, f"front.ngc:3: {word} would change")


@pytest.mark.parametrize(
    ("source", "output", "message"),
    [
        ("M8\nG1 X1 F9\n", "M8\nG1 X1\n", "front.ngc:4: F9 would change"),
        ("G1 X1 F9\nM8\n", "G1 X1\nM8 F9\n", "front.ngc:3: F9 would change"),
        ("M8\nG1 X1\n", "M8\nG1 X1 F9\n", "front.ngc:4: F9 would be added"),
        ("G1 F9 X1\nX2\n", "G1 F9 X1\nX2 M8\n", "front.ngc:4: M8 would be added"),
        ("G1 F9 X1\nX2\n", "G1 F9 X1\nG1 X2\n", "front.ngc:4: G1 would be added"),
        ("X2\n", "G80\n", "front.ngc:3: G80 would be added"),
        ("X2\n", "G90 X2\n", "front.ngc:3: G90 would be added"),
        ("X2\nM8 M1\n", "X2 M8 M1\n\n", "front.ngc:4: M8 would change"),
    ],
)
def test_a_word_lost_added_or_moved_is_named_with_its_line(source: str, output: str, message: str) -> None:
    stops(HEAD + source, HEAD + output, message)


def test_the_words_of_a_later_chunk_are_named_by_their_lines_of_the_file() -> None:
    for source, output, message in (
        ("G1 X1 F9\nM8\n", "G1 X1 F9\nM9\n", "front.ngc:102: M8 would change"),
        ("G1 X1 F9\nM8\n", "G1 X1 F9\n\n", "front.ngc:102: M8 would change"),
        ("G1 X1 F9\n\n", "G1 X1 F9\nM8\n", "front.ngc:102: M8 would be added"),
        ("G1 X1 F9\n", "G1 X1 F9\n\n", "front.ngc:101: lines would be lost or added"),
        ("G1 X1 F9 (a)\n", "G1 X1 F9 (b)\n", "front.ngc:101: a comment would change"),
        ("M8\n#1=5\n", "M8\n#1=6\n", "front.ngc:102: a parameter setting would change"),
        ("M2\nX1\n", "M2\nX2\n", "front.ngc:101: text after the end would change"),
    ):
        ours = read(source)
        ours = replace(ours, blocks=replace(ours.blocks, first_line=101))
        with pytest.raises(ProofError, match=f"^{re.escape(message)}; nothing was written$"):
            compare_words(ours, read(output))


class TestCodesNamedAgain:
    """An arc's or a cycle's code may be named where it carries on, because a mirror changed the direction before it."""

    @pytest.mark.parametrize(
        ("source", "output"),
        [
            ("G2 X10 I5 F9\nX20 I5\n", "G3 X10 I5 F9\nG2 X20 I5\n"),
            ("G2 X10 I5 F9\nG54 X20 I5\n", "G3 X10 I5 F9\nG54 G2 X20 I5\n"),
            ("G2 X10 I5 F9\nG90 X20 I5\n", "G3 X10 I5 F9\nG90 G3 X20 I5\n"),
            ("G2 X10 I5 F9\nX20 I5\nX30 I5\nG1 X40\n", "G2 X10 I5 F9\nG2 X20 I5\nG3 X30 I5\nG1 X40\n"),
            ("G81 X1 Z-1 R1 F9\nX2\nG80\n", "G81 X1 Z-1 R1 F9\nG81 X2\nG80\n"),
            ("G0 X1\nG2 X11 I5 F9\nX21 I5\nG80\nG1 X3\n", "G0 X1\nG2 X11 I5 F9\nG2 X21 I5\nG80\nG1 X3\n"),
            ("G2 X10 I5 F9\nX20 I5\nG4 P1\n", "G2 X10 I5 F9\nG2 X20 I5\nG4 P1\n"),
        ],
    )
    def test_in_a_block_that_names_none(self, source: str, output: str) -> None:
        passes(HEAD + source, HEAD + output)

    @pytest.mark.parametrize(
        ("source", "output", "message"),
        [
            ("G2 X10 I5 F9\nX20 I5\nM8\n", "G2 X10 I5 F9\nG2 X20 I5\nM9\n", "front.ngc:5: M8 would change"),
            ("G2 X10 I5 F9\nX20 I5\nM8\n", "G2 X10 I5 F9\nG2 X20 I5\n\n", "front.ngc:5: M8 would change"),
            ("G2 X10 I5 F9\nX20 I5\n\n", "G2 X10 I5 F9\nG2 X20 I5\nM8\n", "front.ngc:5: M8 would be added"),
            ("G2 X10 I5 F9\nG1 X20\nX30\n", "G2 X10 I5 F9\nG2 X20 I5\nG2 X30 I5\n", "front.ngc:4: G1 would change"),
            ("G2 X10 I5 F9\nG0 X20\nX30\n", "G2 X10 I5 F9\nG2 X20 I5\nG2 X30 I5\n", "front.ngc:4: G0 would change"),
            (
                "G0 X1\nG80\nG2 X3 I1 F9\nX4 I.5\n",
                "G0 X1\nG2 X1 I1 F9\nG2 X3 I1\nG2 X4 I.5\n",
                "front.ngc:4: G80 would change",
            ),
            ("G2 X10 I5 F9\nX20 I5\n", "G2 X10 I5 F9\nG4 P2\n", "front.ngc:4: G4 would be added"),
        ],
    )
    def test_and_nothing_else_slips_through_with_them(self, source: str, output: str, message: str) -> None:
        stops(HEAD + source, HEAD + output, message)


class TestLines:
    @pytest.mark.parametrize(
        ("source", "output"),
        [
            ("G0 X1\n", "G0 X1\n\n"),
            ("G0 X1\n\n", "G0 X1\n"),
            ("G0 X1\n", "/G0 X1\n"),
            ("/G0 X1\n", "G0 X1\n"),
        ],
    )
    def test_one_lost_added_or_marked_otherwise_is_stopped(self, source: str, output: str) -> None:
        stops(source, output, "front.ngc:1: lines would be lost or added")

    def test_text_after_the_end_is_the_same(self) -> None:
        message = "front.ngc:1: text after the end would change"
        passes("G0 X1\nM2\nX9 ( a)\n", "G0 X2\nM2\nX9 ( a)\n")
        stops("G0 X1\nM2\nX9 Y[1]\n", "G0 X1\nM2\nX9 Y[2]\n", message)
        stops("G0 X1\nM2\nX9\n", "G0 X1\nM2\nx9\n", message)
        stops("G0 X1\nM2\nX9\n", "M2\nG0 X1\nX9\n", message)
        stops("G0 X1\nM5\nX9\n", "G0 X1\nM2\nX9\n", message)
        stops("G0 X1\nM2\nX9\n", "G0 X1\nM5\nX9\n", message)


class TestComments:
    @pytest.mark.parametrize(
        ("source", "output"),
        [
            ("G0 X1 (abc)\n", "G0 X1 (abd)\n"),
            ("G0 X1 (abc)\n", "G0 X1 (abcd)\n"),
            ("G0 X1 (abc)\n", "G0 X1\n"),
            ("G0 X1\n", "G0 X1 (abc)\n"),
            ("G0 X1 (abc)\nX2\n", "G0 X1\nX2 (abc)\n"),
            ("G0 X1 (abc) (d)\n", "G0 X1 (ab) (cd)\n"),
            ("G0 X1 (a)\nX2 (b)\n", "G0 X1 (b)\nX2 (a)\n"),
        ],
    )
    def test_changed_added_lost_or_moved_are_stopped(self, source: str, output: str) -> None:
        stops(source, output, "front.ngc:1: a comment would change")

    def test_may_stand_elsewhere_in_their_line(self) -> None:
        passes("G0 X1 (abc)\nX2 (d)\n", "G0 X1.55 Y7 (abc)\nX2.1 (d)\n")


class TestSettings:
    @pytest.mark.parametrize(
        ("source", "output", "line"),
        [
            ("#1=5\n#2=6\n", "#1=5\n#2=7\n", 2),
            ("#1=5\n#2=6\n", "#1=5\n#3=6\n", 2),
            ("#1=5\n#2=6\n", "#1=5\n\n", 2),
            ("#1=5 #2=6\n\n", "#1=5\n\n", 1),
            ("#1=5\n\n\n", "#1=5\n#2=6\n\n", 3),
        ],
    )
    def test_changed_lost_or_added_are_named_with_their_line(self, source: str, output: str, line: int) -> None:
        stops(source, output, f"front.ngc:{line}: a parameter setting would change")

    def test_are_the_same_if_the_same(self) -> None:
        passes("#1=5\n#2=[#1+6]\n", "#1=5\n#2=[#1+6]\n")


def test_the_rows_that_are_compared_are_all_but_coordinates_in_programs_own_numbers() -> None:
    source = read("N1 G1 X1 Y2 Z3 A0 F100\nG2 X3 I1 J0 K0\nG3 X1 R5\nG53 G0 Z5\nG10 L2 P1 Y7\n")
    letters = "".join(chr(letter) for letter in source.blocks.letter[compared_rows(source)])
    assert letters == "NGAFGGGGZGLPY"


def test_an_empty_chunk_is_the_same_as_an_empty_chunk() -> None:
    empty = read("G0 X1\n")
    blocks = replace(
        empty.blocks,
        **{
            name: getattr(empty.blocks, name)[:0]
            for name in ("line_start", "line_end", "flags", "letter", "mantissa", "decimals", "start", "number", "end")
        },
        block=empty.blocks.block[:0],
    )
    nothing = replace(empty, blocks=blocks, modes=replace(empty.modes, values=empty.modes.values[:0].copy()))
    compare_words(nothing, nothing)


def test_an_unknown_value_equals_no_known_one() -> None:
    ours = read("G1 X1 F90\n")
    values = ours.modes.values.copy()
    values[2] = np.nan
    unknown = replace(ours, modes=replace(ours.modes, values=values))
    compare_words(unknown, unknown)
    for one, other in ((ours, unknown), (unknown, ours)):
        with pytest.raises(ProofError, match=r"^front\.ngc:1: F90 would change; nothing was written$"):
            compare_words(one, other)
