"""`flipreg home`: start and end over program zero at a safe height, and nothing between touched."""

import numpy as np
import pytest

from flipreg.path import Kind
from flipreg.rs274.read import lines as text_lines
from tests.commands.command import run
from tests.motions import motions

AWAY = "G21 G90 (mm)\r\nT1 M6\r\nS9000 M3\r\nG0 X5 Y5\r\nZ2\r\nG1 Z-1 F300\r\nX20 (cut)\r\nG0 Z2\r\nM5\r\nM30\r\n"
AT_HOME = "G21 G90\nG0 Z15\nX0 Y0\nX5 Y5\nG1 Z-1 F300\nX20\nG0 Z15\nX0 Y0\nM2\n"

LOW = AT_HOME.replace("X20\nG0 Z15\nX0 Y0", "X20\nG0 Z2\nX0 Y0\nZ15")


def sent_home(text: str, *options: str) -> bytes:
    status, out, err = run(["home", "-", *options], text.encode())
    assert (status, err.split(";")[0]) == (0, "standard output: written")
    return out


def test_the_way_home_is_added_at_both_ends_and_nothing_else_changes() -> None:
    lines = sent_home(AWAY, "--safe-z", "10").decode().splitlines(keepends=True)
    added = [line for line in lines[4:] if line not in AWAY.splitlines(keepends=True)]
    assert added == ["G21 G90 G0 Z10\r\n", "G0 X0 Y0\r\n", "G0 Z10\r\n", "G0 X0 Y0\r\n"]
    assert "".join(line for line in lines[4:] if line not in added) == AWAY
    assert lines[7:9] == ["G21 G90 G0 Z10\r\n", "G0 X0 Y0\r\n"]
    assert lines[14:16] == ["G0 Z10\r\n", "G0 X0 Y0\r\n"]


def test_the_motions_between_are_the_motions_of_the_source() -> None:
    before, after = motions(AWAY), motions(sent_home(AWAY, "--safe-z", "10"))
    assert after.end[[0, 1, -2, -1]].round(9).tolist()[1:] == [[0, 0, 10], [20, 5, 10], [0, 0, 10]]
    assert after.kind[[0, 1, -2, -1]].tolist() == [Kind.RAPID] * 4
    kept = ~np.isnan(before.end)
    assert (after.end[2:-2][kept] == before.end[kept]).all()
    assert after.spindle_rpm[2:-2].tolist() == before.spindle_rpm.tolist()


def test_a_program_that_is_at_home_already_gets_no_line() -> None:
    out = sent_home(AT_HOME, "--safe-z", "10")
    assert out.endswith(AT_HOME.encode())
    assert b"(nothing added: it did so already)" in out


def test_a_program_that_ends_higher_does_not_come_down_first() -> None:
    out = sent_home(AT_HOME.replace("X20\nG0 Z15\nX0 Y0", "X20\nG0 Z30"), "--safe-z", "10")
    assert b"G0 Z30\nG0 X0 Y0\nM2" in out


def test_inches_and_increments_are_heeded() -> None:
    text = "G20 G90\nG0 Z1\nX0 Y0\nG1 Z-.1 F10\nG91\nG1 X1\nG0 Z.2\nM2\n"
    out = sent_home(text, "--safe-z", "10")
    assert b"G0 Z.2\nG90\nG0 Z0.3938\nG0 X0 Y0\nG91\nM2" in out
    assert motions(out).end[-1, 2] >= 10


def test_a_file_without_a_last_line_end_gets_one() -> None:
    assert sent_home("G21 G90\nG0 X5 Y5\nZ2", "--safe-z", "10").endswith(b"Z2\nG0 Z10\nG0 X0 Y0")


def test_twice_is_once() -> None:
    once = sent_home(AWAY, "--safe-z", "10")
    assert sent_home(once.decode(), "--safe-z", "10").endswith(once.split(b"first)\r\n", 1)[1])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (AT_HOME, "<stdin>: starts and ends over program zero at the safe height\n"),
        (
            AWAY,
            "<stdin>:4: does not start by going up and then over zero; expected X0 Y0 at Z10 or higher\n"
            "<stdin>:8: ends at X20 Y5 Z2, expected X0 Y0 at Z10 or higher\n",
        ),
        (LOW, "<stdin>:8: crosses to zero below Z10\n"),
    ],
)
def test_a_check_writes_no_program(text: str, said: str) -> None:
    status, out, err = run(["home", "-", "--safe-z", "10", "--check"], text.encode())
    assert (status, out.decode(), err) == (0 if text == AT_HOME else 1, said, "")


def test_going_up_and_across_at_once_is_no_start_at_a_safe_height() -> None:
    text = AT_HOME.replace("Z15\nX0 Y0", "X0 Y0 Z15", 1)
    status, out, _ = run(["home", "-", "--safe-z", "10", "--check"], text.encode())
    assert (status, out.count(b"does not start by going up")) == (1, 1)


@pytest.mark.parametrize(
    ("text", "start"),
    {
        "no unit": ("G90\nG0 X5 Y5\nZ2\nM2\n", "2:1: the program moves before it says G20 or G21"),
        "an increment first": ("G21 G91\nG0 X5 Y5\nM2\n", "2:1: "),
        "a second work offset": ("G21 G90\nG0 X5 Y5 Z2\nG55 G0 X1 Y1 Z1\nM2\n", "3:1: a second work offset"),
        "an axis offset": ("G21 G90\nG0 X5 Y5 Z2\nG92 X0\nG0 X1\nM2\n", "3:1: G92 gives program zero another place"),
        "compensation on": ("G21 G90\nG0 X5 Y5 Z2\nG41 D1\nG1 X9 F100\nX20\n", "5:1: cutter compensation is on"),
        "the end beside the last motion": ("G21 G90\nG0 X5 Y5 Z2\nX9 M2\nM5\n", "3:4: the last motion and the end"),
        "nothing moves": ("G21 G90\nM2\n", "1:1: nothing moves"),
        "a line that may be skipped": ("G21 G90\nG0 X5 Y5 Z2\n/G0 X9\nM2\n", "3:1: a line that may be skipped"),
        "a cut from where the machine stands": ("G21 G90\nG0 Z5\nG1 Z-1 F90\nX5 Y5\n", "3:1: this cuts from where"),
        "a cut from a Y that is not named": (
            "G21 G90\nG0 Z5\nX5\nG1 Z-1 F90\nX5 Y5\n",
            "4:1: this cuts from where the machine happens to stand in Y, which the added lines would change",
        ),
        "a cut across at a height that is not named": (
            "G21 G90\nG0 X5 Y5\nG1 X9 F90\nZ5\n",
            "3:1: this cuts from where the machine happens to stand in Z",
        ),
    }.values(),
)
def test_what_would_be_a_guess_is_refused_with_its_line(text: str, start: str) -> None:
    status, out, err = run(["home", "-", "--safe-z", "10"], text.encode())
    assert (status, out) == (2, b"")
    assert err.startswith(f"<stdin>:{start}")


def test_long_programs_are_written_chunk_by_chunk() -> None:
    middle = "".join(f"X{index % 90} Y{index % 70} (some text to fill chunks)\n" for index in range(60_000))
    text = f"G21 G90\nG0 Z5\nX1 Y1\nG1 Z-1 F300\n{middle}G0 Z5\nM2\n"
    out = sent_home(text, "--safe-z", "10")
    body = out.split(b"first)\n", 1)[1].decode()
    assert body == text.replace("G0 Z5\nX1", "G21 G90 G0 Z10\nG0 X0 Y0\nG0 Z5\nX1").replace(
        "G0 Z5\nM2", "G0 Z5\nG0 Z10\nG0 X0 Y0\nM2"
    )


def test_a_feed_straight_down_from_a_height_that_is_not_named_is_fed_from_the_safe_height() -> None:
    out = sent_home("G21 G90\nG0 X5 Y5\nG1 Z-1 F300\nX9\nG0 Z20\nM2\n", "--safe-z", "10")
    assert b"G21 G90\nG21 G90 G0 Z10\nG0 X0 Y0\nG0 X5 Y5\nG1 Z-1 F300\n" in out


@pytest.mark.parametrize(
    "text",
    [
        "G21 G90\nG0 Z5\nG1 Z-1 F300\nX5 Y5\nG0 Z15\nX0 Y0\nM2\n",
        "G21 G90\nG0 Z5\nX5\nG1 Z-1 F300\nX5 Y5\nG0 Z15\nX0 Y0\nM2\n",
        "G21 G90\nG0 X5 Y5\nG1 X9 F300\nG0 Z15\nX0 Y0\nM2\n",
        "G21 G90\nG53 G0 Z0\nG43 Z5 H1\nG1 Z-1 F300\nX5 Y5\nG0 Z15\nX0 Y0\nM2\n",
    ],
)
def test_the_proof_stops_a_cut_that_would_begin_where_added_lines_lead(
    text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("flipreg.rewrite.shop.home_start._check_cuts", lambda *_: None)
    status, out, err = run(["home", "-", "--safe-z", "10"], text.encode())
    assert (status, out) == (2, b"")
    assert "a cut would begin where the added lines lead; nothing was written" in err


@pytest.mark.parametrize("cycle", ["G81 X5 Y5 Z-2 R2 F90", "G99 G81 X5 Y5 Z-2 R2 F90", "G98 G82 Y5 X5 Z-2 R2 P1 F90"])
@pytest.mark.parametrize("head", ["G0 Z5\n", "G43 Z20 H1\n", "G53 G0 Z0\n"])
def test_a_program_that_begins_with_a_hole_comes_to_it_from_over_zero(cycle: str, head: str) -> None:
    text = f"G21 G90\nG0\n{head}{cycle}\nX9\nG80\nG0 Z20\nM2\n"
    lines = sent_home(text, "--safe-z", "10").decode().splitlines()
    assert lines.index("G0 X0 Y0") < lines.index(cycle)


def test_a_hole_at_a_y_that_nobody_named_is_refused() -> None:
    status, _, err = run(["home", "-", "--safe-z", "10"], b"G21 G90\nG0 Z5\nG81 X5 Z-2 R2 F90\nG80\nG0 Z5\nM2\n")
    assert (status, err.split(",")[0]) == (2, "<stdin>:3:1: this cuts from where the machine happens to stand in Y")


FLIPPED = "G21 G90\nG0 Z15\nX50 Y0\nX40 Y20\nG1 Z-1 F300\nX30\nG0 Z15\nX50. Y0 (back)\nM2\n"
"""As a flip about X25 leaves a program that started and ended over zero."""


@pytest.mark.parametrize(
    ("source", "height"),
    [
        (AWAY, "10"),
        (LOW, "15"),
        (FLIPPED, "15"),
        (FLIPPED.replace("X40 Y20", "M0\nX40 Y20"), "15"),
        (AWAY.replace("M5\r\nM30\r\n", "X1"), "10"),
        (AWAY.replace("\r\nM5\r\nM30", " M30"), "10"),
        (AWAY.replace("\r\nM5\r\nM30\r\n", " M30"), "10"),
    ],
)
def test_home_does_the_same_however_a_program_is_cut_to_be_read(
    source: str, height: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = run(["home", "-", "--safe-z", height], source.encode())
    monkeypatch.setattr(text_lines, "CHUNK_BYTES", 1)
    assert run(["home", "-", "--safe-z", height], source.encode()) == whole


def test_a_motion_beside_the_end_of_the_program_is_refused_on_the_last_line_too() -> None:
    status, out, err = run(["home", "-", "--safe-z", "10"], AT_HOME.replace("\nX0 Y0\nM2\n", " M2").encode())
    assert (status, out, err.split("\n")[0]) == (
        2,
        b"",
        "<stdin>:7:8: the last motion and the end of the program share a line; put them on two",
    )


def moved(out: bytes) -> str:
    return out.decode().split("first)\n", 1)[1]


def test_a_place_where_a_program_only_starts_and_ends_becomes_zero() -> None:
    out = sent_home(FLIPPED, "--safe-z", "15")
    assert moved(out) == FLIPPED.replace("X50", "X0")
    assert b"(X50 Y0 became X0 Y0 in lines 3 and 8: the program did nothing there)" in out
    assert moved(sent_home(out.decode(), "--safe-z", "15")).endswith(FLIPPED.replace("X50", "X0"))
    status, said, _ = run(["home", "-", "--safe-z", "15", "--check"], FLIPPED.encode())
    assert (status, [line.split(b": ")[0] for line in said.splitlines()]) == (1, [b"<stdin>:3", b"<stdin>:8"])


@pytest.mark.parametrize(
    ("head", "start"),
    {
        "no height yet": ("G0 X50 Y0\nZ15\nX40 Y20\n", "G21 G90 G0 Z12\nG0 X0 Y0\nG0 X0 Y0\nZ15\nX40 Y20\n"),
        "a height of the machine": (
            "G53 G0 Z0\nX50 Y0\nG43 H1 Z15\nX40 Y20\n",
            "G53 G0 Z0\nX0 Y0\nG43 H1 Z15\nX40 Y20\n",
        ),
        "a hole": ("G0 Z15\nX50 Y0\nG81 X40 Y20 Z-2 R2 F90\nG80\n", "G0 Z15\nX0 Y0\nG81 X40 Y20 Z-2 R2 F90\nG80\n"),
        "a tool after it": ("G0 Z15\nX50 Y0\nT1 M6\nX40 Y20\n", None),
        "a cut": ("G0 Z15\nX50 Y0\nG1 Z-1 F300\nG0 Z15\nX40 Y20\n", None),
    }.values(),
)
def test_only_a_start_on_which_nothing_depends_becomes_zero(head: str, start: str | None) -> None:
    text = f"G21 G90\n{head}G1 Z-1 F300\nX30\nG0 Z15\nM2\n"
    status, out, err = run(["home", "-", "--safe-z", "12"], text.encode())
    if start is None:
        assert status == 2 or "X50 Y0" in out.decode()
    else:
        assert (status, moved(out)) == (0, f"G21 G90\n{start}G1 Z-1 F300\nX30\nG0 Z15\nG0 X0 Y0\nM2\n"), err


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (FLIPPED, "3:1: this program starts and ends over X50 Y0 mm, which can't become zero: line 3 is lower than"),
        (FLIPPED.replace("X40 Y20", "X40"), "line 4 goes on from there; name X and Y in it in G90"),
        (FLIPPED.replace("X50 Y0\nX40", "X50 Y0\nM0\nX40"), "the program stops there before line 5"),
        (FLIPPED.replace("X50. Y0", "G91 X20 Y-20\nG90"), "8:1: this program starts and ends over X50 Y0 mm"),
    ],
)
def test_a_place_that_can_not_become_zero_is_refused_with_its_line(text: str, said: str) -> None:
    status, out, err = run(["home", "-", "--safe-z", "20" if text == FLIPPED else "15"], text.encode())
    assert (status, out) == (2, b"")
    assert said in err


def test_other_ways_to_that_place_stay_and_are_told() -> None:
    text = FLIPPED.replace("X30\n", "X30\nG0 Z15\nX50 Y0\nX20 Y5\nG1 Z-1\n")
    status, out, err = run(["home", "-", "--safe-z", "15"], text.encode())
    assert (status, moved(out).count("X50")) == (0, 1)
    assert "line 8 still leads to X50 Y0, between the start and the end; see that nothing stands there" in err
