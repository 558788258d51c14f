"""A place where another block runs before a block than in the source: what is told again, what is refused."""

import pytest

import flipreg
from flipreg.rewrite.floor.movable import check_movable
from flipreg.rewrite.text.junction import Junctions, first_word, line_end_of, motion_code, names_motion
from flipreg.rs274.interpret.whole import Whole, read_whole

HEAD = "G21 G90\nG0 X0 Y0 Z5\n"


def whole(text: str) -> Whole:
    return read_whole(flipreg.parse(text, source="a.nc"))


@pytest.mark.parametrize(
    ("text", "end"),
    [
        (b"", b"\n"),
        (b"G0", b"\n"),
        (b"\nG0\r\n", b"\n"),
        (b"G0\n", b"\n"),
        (b"G\r\n", b"\r\n"),
        (b"\r\nG0\n", b"\r\n"),
        (b"G0\rG1\r", b"\r"),
        (b"\r", b"\r"),
        (b"G0\rG1\n", b"\n"),
    ],
)
def test_a_text_ends_its_lines_as_its_first_line_feed_says(text: bytes, end: bytes) -> None:
    assert line_end_of(text) == end


@pytest.mark.parametrize(
    ("block", "names"),
    [
        ("X1", False),
        ("G0 X1", True),
        ("G1 X1 F9", True),
        ("G17 X1", False),
        ("G80", True),
        ("G4 P1", False),
        ("G90", False),
        ("G81 X1 R1 Z-1 F9", True),
        ("G38.2 X3 F9", True),
        ("G91.1", False),
        ("M3 S0 F0", False),
    ],
)
def test_a_block_names_its_motion_by_a_code_of_the_motion_group(block: str, names: bool) -> None:  # noqa: FBT001
    assert names_motion(whole(f"{HEAD}{block}\n"), 2) is names


@pytest.mark.parametrize(
    ("lines", "at", "code"),
    [
        ("X1\nX2\n", 3, "G0 "),
        ("G1 X1 F9\nX2\n", 4, "G1 "),
        ("G1 X1 F9\nM3 S9\nN7 X2\n", 4, "G1 "),
        ("G2 X2 R1 F9\nX4 R1\n", 4, "G2 "),
    ],
)
def test_the_motion_code_is_put_before_the_first_word_of_the_first_motion(lines: str, at: int, code: str) -> None:
    text = HEAD + lines
    program = whole(text)
    ((start, end, new),) = motion_code(program, at)
    last = text.splitlines(keepends=True)[-1] if at > 3 else "X1\nX2\n"
    assert (start, end, new.decode()) == (text.index(last) + len("N7 ") * last.startswith("N"), start, code)


def test_no_motion_code_is_put_where_one_is_or_where_nothing_moves() -> None:
    program = whole(f"{HEAD}G1 X1 F9\nM5\n")
    assert motion_code(program, 3) == []
    assert motion_code(program, 4) == []
    assert motion_code(program, 2) == []


def test_the_first_word_is_none_of_the_line_s_number() -> None:
    program = whole("N1 G21 G90\n N20   G0 X1\nG0 X2\n")
    text = program.blocks.text
    assert [text[first_word(program.blocks, block) :][:3] for block in range(3)] == [b"G21", b"G0 ", b"G0 "]


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("G1 X1 F9 M7", "3:10: a pass that has to be repeated holds M7; put that outside of the passes"),
        ("S900", "3:1: a pass that has to be repeated holds S900; put that outside of the passes"),
        ("G64 P0.1", "3:1: a pass that has to be repeated holds G64; put that outside of the passes"),
        ("T4", "3:1: a pass that has to be repeated holds T4; put that outside of the passes"),
        ("G4 P1", "3:1: a pass that has to be repeated holds G4; put that outside of the passes"),
        ("#1=5", "3:1: a pass that has to be repeated sets a parameter"),
        ("G28", "3:1: a pass that has to be repeated moves in machine coordinates"),
        ("G91", "3:1: a pass that has to be repeated is in increments (G91)"),
        ("/G1 X1 F9", "3:1: a pass that has to be repeated holds a line that may be skipped"),
    ],
)
@pytest.mark.parametrize("at", [0, 1, 2])
def test_lines_that_do_more_than_cut_are_not_run_again_or_left_out(line: str, said: str, at: int) -> None:
    lines = ["G1 X5 F9", "G1 X6 F9", "X7"]
    lines[at] = line
    program = whole(HEAD + "\n".join(lines) + "\nG90\n")
    with pytest.raises(flipreg.RefusedError) as caught:
        check_movable(program, 3, 5, "repeated")
    place, _, message = said.partition(": ")
    if message.startswith("a pass that has to be repeated holds") and "skipped" not in message:
        place = f"{3 + at}:{place.partition(':')[2]}"
    assert str(caught.value).startswith(f"a.nc:{place}: {message}")
    # Outside of the lines it may stand.
    check_movable(program, 3, 2 + at, "repeated")
    if line != "G91":
        check_movable(program, 4 + at, 5, "repeated")


def test_a_pass_that_depends_on_more_than_a_code_and_a_feed_is_refused() -> None:
    program = whole("G21 G90\nG0 X0 Y0 Z5\nG1 X1 Y1 F9\nG91\nX2\nG90\nG1 X9 Y9\nX5\n")
    junctions = Junctions(program)
    with pytest.raises(flipreg.RefusedError) as caught:
        junctions.lines_before(5, 4, 3)
    said = "a.nc:5:1: this pass needs another incremental than the pass before it leaves behind"
    assert str(caught.value).startswith(said)
    with pytest.raises(flipreg.RefusedError) as caught:
        junctions.lines_before(8, 7, 3)
    assert str(caught.value).startswith(
        "a.nc:8:1: this line does not name Y, which would have another value here when passes are repeated or dropped; "
        "name the whole point in the source"
    )
