"""Work offsets of their own zero, lines under the block-delete switch, and subprograms, on the command line."""

import json
from pathlib import Path

import pytest

import flipreg
from tests.commands.command import run
from tests.commands.laws import EXACT, assert_is_flip, flipped
from tests.motions import motions

TWO = b"G21 G90\nG54 G0 X1 Y2 Z5\nG55 X3 Y4\nG54 X5\nM30\n"


def body(out: bytes) -> list[str]:
    return [line for line in out.decode().splitlines() if not line.startswith("(")]


def test_each_named_work_offset_is_flipped_about_its_own_zero() -> None:
    status, out, _ = run(["flip", "-", "--axis", "y", "--at", "10", "--offset", "G55=100,3"], TWO)
    assert (status, body(out)) == (0, ["G21 G90", "G54 G0 X19 Y2 Z5", "G55 X97 Y1", "G54 X15", "M30"])


def test_a_turn_is_about_a_point_of_each_work_offset() -> None:
    arguments = ["shift", "-", "--turn", "90", "--about", "0,0", "--offset", "g55=10,0"]
    status, out, _ = run(arguments, TWO)
    assert (status, body(out)) == (0, ["G21 G90", "G54 G0 Y1 X-2 Z5", "G55 Y-7 X6", "G54 Y5", "M30"])


def test_a_free_turn_of_several_work_offsets_needs_both_coordinates_after_each_change() -> None:
    status, out, err = run(["shift", "-", "--turn", "5", "--offset", "G55=10,0"], TWO)
    assert (status, out) == (2, b"")
    assert err.startswith("<stdin>:4:")


@pytest.mark.parametrize("offset", ["G60=1,2", "55=1,2", "G55", "G55=1", "G55=a,b"])
def test_what_is_no_work_offset_is_refused(offset: str) -> None:
    status, out, err = run(["flip", "-", "--axis", "y", "--at", "0", "--offset", offset], TWO)
    assert (status, out) == (2, b"")
    assert offset.split("=")[0] in err


def test_bounds_and_check_leave_deleted_lines_out_if_the_switch_is_on(tmp_path: Path) -> None:
    file = tmp_path / "a.nc"
    file.write_bytes(b"G21 G90 F100\nG0 X0 Y0 Z1\nG1 Z-1\nX1\n/X100\nM30\n")
    for switch, furthest in (("on", 1.0), ("off", 100.0)):
        _, out, _ = run(["bounds", str(file), "--json", "--block-delete", switch])
        assert json.loads(out)["cutting"]["high_mm"][0] == furthest
        flip = ["--axis", "y", "--at", "0"]
        arguments = ["check", str(file), str(file), *flip, "--tolerance", "1", "--json", "--block-delete", switch]
        _, out, _ = run(arguments)
        assert json.loads(out)["bounds"]["front_mm"][2] == furthest


def test_a_flip_that_holds_with_the_switch_off_only_is_refused_at_the_slash() -> None:
    status, out, err = run(["flip", "-", "--axis", "y", "--at", "9"], b"G21 G90 G0 X1 Y1 Z1\n/G91\nX5\nM2\n")
    assert (status, out) == (2, b"")
    assert err.startswith("<stdin>:2:1: with lines like this one left out")


def test_a_flip_that_holds_both_ways_says_so() -> None:
    status, out, _ = run(["flip", "-", "--axis", "y", "--at", "9"], b"G21 G90 G0 X1 Y1 Z1\n/X5\nX7\nM2\n")
    assert status == 0
    assert b"with block delete off and on" in out
    assert body(out)[1:] == ["/X13", "X11", "M2"]


def test_a_line_spelled_out_under_a_slash_is_left_out_whole() -> None:
    text = b"G21 G90 G18 F9\nG0 X0 Y0 Z5\n/G2 X10 Z5 I5 K0\nG0 X1 Y2 Z5\nM2\n"
    status, out, _ = run(["shift", "-", "--turn", "3", "--chords", "1"], text)
    assert status == 0
    chords = [line for line in body(out) if line.lstrip("/").startswith("G1")]
    assert len(chords) > 1
    assert all(line.startswith("/") for line in chords)


def test_a_subprogram_is_flipped_where_it_stands() -> None:
    text = b"G21 G90 F9\nG0 X0 Y0 Z5\nM98 P7 L2\nG0 X4 Y9\nM98 P7\nM30\nO7\nG1 X5 Y3\nG2 X9 Y3 I2\nM99\n"
    status, out, _ = run(["flip", "-", "--axis", "y", "--at", "10"], text)
    assert (status, body(out)[7:]) == (0, ["G1 X15 Y3", "G3 X11 Y3 I-2", "M99"])
    assert b"subprograms run where they are called" in out


def test_a_subprogram_that_is_read_in_two_ways_is_refused_at_the_second_call() -> None:
    text = b"G21 G90 F9\nG0 X0 Y0 Z5\nM98 P7\nG91\nM98 P7\nM30\nO7\nG1 X5 Y3\nM99\n"
    status, out, err = run(["flip", "-", "--axis", "y", "--at", "10"], text)
    assert (status, out) == (2, b"")
    assert err.startswith("<stdin>:5:1: this call runs line 8 under the other distance mode")


def test_steps_in_a_subprogram_are_mirrored_and_cannot_be_turned_freely() -> None:
    text = b"G21 G90 F9\nG0 X0 Y0 Z5\nM98 P7 L3\nM30\nO7\nG91 G1 X5 Y3\nM99\n"
    status, out, _ = run(["flip", "-", "--axis", "y", "--at", "10"], text)
    assert (status, body(out)[5:]) == (0, ["G91 G1 X-5 Y3", "M99"])
    status, out, _ = run(["shift", "-", "--by", "3,4"], text)
    assert (status, body(out)[5:]) == (0, ["G91 G1 X5 Y3", "M99"])


@pytest.mark.parametrize(("block", "name"), [(b"G28 Z9", "G28"), (b"G91 G30 Z0", "G30"), (b"G53 G0 Z0", "G53")])
def test_a_safe_retract_is_kept_and_told(block: bytes, name: str) -> None:
    text = b"G21 G90\nG0 X1 Y2 Z5\n" + block + b"\nM30\n"
    status, out, err = run(["flip", "-", "--axis", "x", "--at", "7"], text)
    assert status == 0
    assert block in out
    assert f"({name} in line 3 of the source kept as it is".encode() in out
    assert f"{name} in line 3 of the source kept as it is" in err


def test_steps_from_a_machine_position_cannot_carry_a_shift() -> None:
    text = b"G21 G90\nG0 X1 Y2 Z5\nG53 G0 Z0\nG91 Z-5\nM30\n"
    assert run(["shift", "-", "--by", "1,1"], text)[0] == 0
    status, out, err = run(["shift", "-", "--by", "0,0,1"], text)
    assert (status, out) == (2, b"")
    assert err.startswith("<stdin>:4:5: a step along Z from a place that is not in the program")


def test_a_turn_that_works_expressions_out_says_so() -> None:
    text = b"#1=3\nG21 G90 G0 X#1 Y[#1+1] Z5\nM2\n"
    status, out, err = run(["shift", "-", "--turn", "30"], text)
    assert status == 0
    assert b"worked out" in out
    assert "worked out" in err
    status, out, _ = run(["shift", "-", "--turn", "90"], text)
    assert (status, body(out)[1]) == (0, "G21 G90 G0 Y#1 X[0-[#1+1]] Z5")


def test_an_axis_offset_in_one_work_offset_is_turned_once_where_several_are_used() -> None:
    text = b"G21 G90\nG54 G0 X1 Y2 Z5\nG92 X10 Y0\nG92.1\nG55 G0 X3 Y4\nM2\n"
    status, out, _ = run(["shift", "-", "--turn", "90.5", "--offset", "G55=3,4"], text)
    assert (status, body(out)[2]) == (0, "G92 X-0.0873 Y9.9996")


def test_a_turn_of_a_program_with_calls_that_holds_with_the_switch_off_only_is_refused_at_the_slash() -> None:
    text = b"G21 G90 F9\nG0 X0 Y0 Z5\nM98 P7\n/G0 X1 Y9\nX3\nM2\nO7\nG0 X5 Y3\nM99\n"
    status, out, err = run(["shift", "-", "--turn", "5"], text)
    assert (status, out) == (2, b"")
    assert err.startswith("<stdin>:4:1: with lines like this one left out")


CARRIED = {
    "from the main program into a subprogram": (
        "G2 X2 Y0 I1\nM98 P7\nG18 G2 X9 Z5 I1 K0\nM2\nO7\nG18 X4 Z5 I1 K0\nG0 X7\nM99\n"
    ),
    "from a subprogram back": "G2 X2 Y0 I1\nM98 P7\nG17 X6 Y0 I1 J0\nM2\nO7\nG18 G2 X4 Z5 I1 K0\nM99\n",
    "from a subprogram that goes back to the plane": (
        "G2 X2 Y0 I1\nM98 P7\nX6 I1\nM2\nO7\nG18 G2 X4 Z5 I1 K0\nG17\nM99\n"
    ),
    "from one subprogram into another": (
        "M98 P7\nM98 P8\nG0 Z9\nM2\nO8\nG17 X6 Y0 I1 J0\nG1 X8\nM99\nO7\nG18 G2 X4 Z5 I2 K0\nM99\n"
    ),
}


@pytest.mark.parametrize("axis", list(flipreg.FlipAxis))
@pytest.mark.parametrize("text", CARRIED.values(), ids=CARRIED.keys())
def test_an_arc_code_that_is_carried_over_a_call_turns_the_right_way(text: str, axis: flipreg.FlipAxis) -> None:
    # Which of two arcs turns the other way depends on its plane, and text and run are in different order.
    text = f"G21 G90 G17 F50\nG0 X0 Y0 Z5\n{text}"
    after = motions(flipped(text, axis, ("10", "0")))
    assert_is_flip(motions(text), after, axis, ("10", "0"), EXACT)
