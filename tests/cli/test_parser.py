"""The command line: what is said where, with which exit status, and arguments that do not go together."""

import io
import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from flipreg.cli import parser as cli
from flipreg.errors import UsageError
from flipreg.rs274.read.location import ProgramError
from tests.commands.command import run

FRONT = "G21 G90 G17\nG0 X10 Y20 Z5\nG1 Z-1 F300\nX40\nY60\nX10\nY20\nG0 Z5\nM2\n"


@pytest.fixture
def front(tmp_path: Path) -> str:
    file = tmp_path / "front.ngc"
    file.write_text(FRONT)
    return str(file)


@pytest.fixture
def back(tmp_path: Path, front: str) -> str:
    file = str(tmp_path / "back.ngc")
    assert run(["flip", front, "--axis", "y", "--at", "25", "-o", file])[0] == 0
    return file


def last_line(program: bytes) -> str:
    return program.decode().splitlines()[4]


@pytest.mark.parametrize(
    "arguments", [["--help"], ["-h"], ["flip", "--help"], ["shift", "-h"], ["bounds", "-h"], ["check", "-h"]]
)
def test_help_goes_to_standard_output(arguments: list[str]) -> None:
    status, out, err = run(arguments)
    assert (status, err) == (0, "")
    assert out.startswith(b"usage: flipreg")
    assert b"above the work first" in out.replace(b"\n", b" ")


def test_the_version_goes_to_standard_output() -> None:
    status, out, err = run(["--version"])
    assert (status, err) == (0, "")
    assert out.startswith(b"flipreg ")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ([], "the following arguments are required: COMMAND"),
        (["mill"], "invalid choice: 'mill'"),
        (["flip", "FRONT"], "the following arguments are required: --axis"),
        (["flip", "FRONT", "--axis", "z"], "invalid choice: 'z'"),
        (["flip", "FRONT", "--axis", "y"], "say where the flip axis lies"),
        (["flip", "FRONT", "--axis", "y", "--at", "1", "--datum", "1,2"], "not allowed with argument"),
        (["flip", "FRONT", "--axis", "y", "--at", "1cm"], "'1cm' is not a length"),
        (["flip", "FRONT", "--axis", "y", "--at", "-"], "'-' is not a length"),
        (["flip", "FRONT", "--axis", "y", "--datum", "1"], "expected X,Y"),
        (["flip", "FRONT", "--axis", "y", "--at"], "expected one argument"),
        (["flip", "FRONT", "--axis", "y", "--at", "9" * 400], "needs finite numbers"),
        (["shift", "FRONT", "--by", "1"], "expected X,Y or X,Y,Z"),
        (["shift", "FRONT", "--by", "1,2,3,4"], "expected X,Y or X,Y,Z"),
        (["shift", "FRONT", "--turn", "quarter"], "'quarter' is not an angle in degrees"),
        (["shift", "FRONT", "--turn", "361"], "is not an angle from -360 to 360"),
        (["shift", "FRONT", "--turn", "nan"], "is not an angle from -360 to 360"),
        (["shift", "FRONT", "--chords", "0"], "has to be more than 0"),
        (["shift", "FRONT", "--chords", "-0.1"], "has to be more than 0"),
        (["check", "FRONT", "BACK", "--axis", "y", "--at", "25"], "--tolerance"),
        (["check", "FRONT"], "expected two programs, FRONT and BACK, got 1"),
        (["check", "one.toml", "other.toml"], "a job file is checked alone: flipreg check JOB.toml"),
        (["check", "FRONT", "--tolerance", "1"], "expected two programs, FRONT and BACK, got 1"),
        (["check", "FRONT", "BACK", "BACK", "--tolerance", "1"], "expected two programs, FRONT and BACK, got 3"),
        (["check", "FRONT", "--back", "BACK", "--tolerance", "1"], "not both"),
        (["check", "--back", "BACK", "--tolerance", "1"], "--front and --back go together"),
        (["check", "FRONT", "BACK", "--at", "25", "--tolerance", "1"], "--axis"),
        (["check", "FRONT", "BACK", "--datum", "50,0", "--tolerance", "1"], "--axis"),
        (["check", "FRONT", "BACK", "--tolerance", "0"], "has to be more than 0"),
        (["check", "FRONT", "BACK", "--tolerance", "-1"], "has to be more than 0"),
        (["check", "FRONT", "BACK", "--tolerance", "1", "--tool", "-6"], "has to be 0 or more"),
        (["check", "FRONT", "BACK", "--tolerance=1", "--tool=6", "--tool=3", "--tool=2"], "3 tools for 2 programs"),
        (["check", "FRONT", "BACK", "--tolerance", "1", "--thickness", "0"], "has to be more than 0"),
        (["check", "-", "-", "--tolerance", "1"], "standard input"),
        (["bounds", "FRONT", "BACK"], "unrecognized arguments"),
    ],
)
def test_arguments_that_cannot_be_used_are_told_and_nothing_is_written(
    arguments: list[str], message: str, front: str, back: str, tmp_path: Path
) -> None:
    names = {"FRONT": front, "BACK": back}
    before = sorted(tmp_path.iterdir())
    status, out, err = run([names.get(argument, argument) for argument in arguments], FRONT.encode())
    assert (status, out) == (2, b"")
    assert message in err
    assert "Traceback" not in err
    assert sorted(tmp_path.iterdir()) == before


@pytest.mark.parametrize(
    ("options", "line"),
    [
        (["--by", "-5,-.5"], "G0 X5 Y19.5 Z5"),
        (["--by=-5,2,1"], "G0 X5 Y22 Z6"),
        (["--by", "1in,0"], "G0 X35.4 Y20 Z5"),
        (["--turn", "-90"], "G0 Y-10 X20 Z5"),
        (["--turn", "90", "--about", "-10,20"], "G0 Y40 X-10 Z5"),
        ([], "G0 X10 Y20 Z5"),
    ],
)
def test_numbers_below_zero_are_arguments_like_others(options: list[str], line: str, front: str) -> None:
    status, out, _ = run(["shift", front, *options])
    assert status == 0
    assert last_line(out) == line


def test_the_place_of_the_axis_may_be_below_zero(front: str) -> None:
    assert last_line(run(["flip", front, "--axis", "x", "--at", "-.5"])[1]) == "G0 X10 Y-21 Z5"
    assert last_line(run(["flip", front, "--axis", "y", "--datum", "-1,-2"])[1]) == "G0 X-11 Y22 Z5"


def test_a_dash_as_output_is_standard_output(front: str) -> None:
    status, out, err = run(["flip", front, "--axis", "y", "--at", "0", "-o", "-"])
    assert (status, last_line(out)) == (0, "G0 X-10 Y20 Z5")
    written, contours = err.splitlines()
    assert written == "standard output: written; 7 motions proved, largest deviation 0.000000 mm"
    assert contours.startswith("1 closed contour changed direction, climb to conventional or back: lines 4-7")


def test_a_written_file_is_named(front: str, tmp_path: Path) -> None:
    target = str(tmp_path / "new.ngc")
    assert run(["shift", front, "--by", "1,0", "-o", target]) == (
        0,
        b"",
        f"{target}: written; 7 motions proved, largest deviation 0.000000 mm\n",
    )


def test_with_traceback_the_error_itself_comes_through(tmp_path: Path) -> None:
    bad = tmp_path / "bad.ngc"
    bad.write_text("G1 Xx\n")
    assert run(["bounds", str(bad)])[0] == 2
    with pytest.raises(ProgramError):
        run(["bounds", str(bad), "--traceback"])
    with pytest.raises(UsageError):
        run(["flip", str(bad), "--axis", "y", "--traceback"])


def test_check_reads_one_of_the_programs_from_standard_input(front: str, back: str) -> None:
    options = ["--axis", "y", "--at", "25", "--tolerance", "0.1", "--tool", "6", "--json"]
    from_file = run(["check", front, back, *options])
    status, out, err = run(["check", front, "-", *options], Path(back).read_bytes())
    assert (status, err) == (from_file[0], from_file[2])
    found, expected = json.loads(out), json.loads(from_file[1])
    assert found["in_register"] is expected["in_register"]
    assert found["register"] == expected["register"]


def test_check_takes_a_tool_for_all_or_one_for_each(front: str, back: str) -> None:
    base = ["check", front, back, "--axis", "y", "--at", "25", "--tolerance", "0.1", "--json"]
    one = json.loads(run([*base, "--tool", "6"])[1])
    each = json.loads(run([*base, "--tool", "6", "--tool", "6"])[1])
    assert one["register"] == each["register"]


def test_a_stream_that_fails_is_told_like_a_file(front: str) -> None:
    class Broken(io.BytesIO):
        def read(self, _size: int | None = -1, /) -> bytes:
            raise OSError(5, "Input/output error")

    out, err = io.BytesIO(), io.StringIO()
    assert cli.main(["bounds", "-"], Broken(), out, err) == 2
    assert err.getvalue() == "<stdin>: cannot be read: input/output error\n"


def test_nothing_is_written_before_the_whole_program_is_proved(front: str) -> None:
    written: list[bytes] = []

    class Counting(io.BytesIO):
        def writelines(self, parts: object, /) -> None:
            assert isinstance(parts, tuple)
            written.extend(parts)

    def text() -> Iterator[bytes]:
        yield b"G21 G90\nG0 X1\n" * 100_000
        yield b"G1 Xx\n"

    source = io.BytesIO(b"".join(text()))
    status = cli.main(["flip", "-", "--axis", "y", "--at", "0"], source, Counting(), io.StringIO())
    assert (status, written) == (2, [])
