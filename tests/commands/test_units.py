"""A program without G20 and G21: what was taken for its unit, who settles it, and where it has to be said."""

import json
from decimal import Decimal
from pathlib import Path

import pytest

import flipreg
from tests.commands.command import run
from tests.motions import motions

BARE = "G90 G17\nG0 X0 Y0 Z5\nG1 Z-2 F300\nX101.6\nG0 Z5\nM2\n"
SAYS_INCH, SAYS_MM = "G20 " + BARE, "G21 " + BARE

FLIP = ["flip", "-", "--axis", "y"]
COMMANDS = {
    "flip": [*FLIP, "--at", "{}"],
    "flip with a datum": [*FLIP, "--datum", "{},0"],
    "keep climb": [*FLIP, "--at", "{}", "--keep-climb"],
    "shift": ["shift", "-", "--by", "{},0"],
    "shift up": ["shift", "-", "--by", "0,0,{}"],
    "depth": ["depth", "-", "--floor", "-{}", "--step-down", "900"],
}
"""Commands that combine a length with the numbers of a program."""


def bodies(out: bytes) -> list[str]:
    return [line for line in out.decode().splitlines() if not line.startswith("(")]


@pytest.mark.parametrize("name", COMMANDS)
def test_a_number_without_a_unit_is_one_of_the_program_and_it_is_said_what_was_taken(name: str) -> None:
    arguments = [each.format("1.5") for each in COMMANDS[name]]
    status, out, err = run(arguments, BARE.encode())
    assert status == 0
    assert "no G20 or G21 before line 2: the machine decides what the numbers are" in err
    assert "taken for millimetres" in err
    assert "X and Y go up to 101.6, which says neither the one nor the other" in err
    assert "--units mm or --units inch settles it" in err
    # The same text is right in inches with the same number of inches.
    inch = run([*[each.format("1.5in") for each in COMMANDS[name]], "--units", "inch"], BARE.encode())
    assert inch[0] == 0
    assert bodies(inch[1]) == bodies(out)


@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize("length", ["0.5in", "12.7mm"])
def test_a_length_with_a_unit_needs_the_programs(name: str, length: str) -> None:
    arguments = [each.format(length) for each in COMMANDS[name]]
    status, out, err = run(arguments, BARE.encode())
    assert (status, out) == (2, b"")
    assert err.startswith("<stdin>:2: no G20 or G21 before this line, so that nobody knows what ")
    assert "12.7 mm are in its numbers; say --units mm or --units inch" in err
    for units, said in (("mm", SAYS_MM), ("inch", SAYS_INCH)):
        status, out, err = run([*arguments, "--units", units], BARE.encode())
        assert status == 0, err
        assert "no G20 or G21" not in err
        wanted = bodies(run(arguments, said.encode())[1])
        assert bodies(out) == [wanted[0].split(" ", 1)[1], *wanted[1:]]


@pytest.mark.parametrize("text", [SAYS_MM, SAYS_INCH, BARE.replace("G0 X0", "G20 G0 X0")])
@pytest.mark.parametrize("name", COMMANDS)
def test_a_program_that_says_its_unit_is_asked_nothing(text: str, name: str) -> None:
    status, _, err = run([each.format("0.5in") for each in COMMANDS[name]], text.encode())
    assert (status, "G20 or G21" in err) == (0, False)
    # What is said for programs that do not say it changes nothing here.
    arguments = [each.format("0.5in") for each in COMMANDS[name]]
    assert run([*arguments, "--units", "inch"], text.encode())[1] == run(arguments, text.encode())[1]


@pytest.mark.parametrize(
    "arguments",
    [[*FLIP, "--at", "0"], [*FLIP, "--at", "0in"], [*FLIP, "--datum", "0,0"], ["shift", "-", "--turn", "90"]],
)
def test_where_no_length_enters_nothing_is_asked_or_said(arguments: list[str]) -> None:
    status, _, err = run(arguments, BARE.encode())
    assert (status, "G20" in err) == (0, False)


def test_a_unit_after_the_first_number_comes_too_late() -> None:
    text = BARE.replace("G1 Z-2", "G21 G1 Z-2")
    status, _, err = run([*FLIP, "--at", "0.5in"], text.encode())
    assert (status, err.split(",")[0]) == (2, "<stdin>:2: no G20 or G21 before this line")


@pytest.mark.parametrize(
    ("scale", "says"),
    [("1", "X and Y go up to 4, which is little in millimetres; they may be inches"),
     ("40", "X and Y go up to 160, which as inches would be 4.1 m: millimetres fit")],
)  # fmt: skip
def test_the_size_of_the_numbers_is_looked_at(scale: str, says: str) -> None:
    text = BARE.replace("X101.6", f"X{4 * int(scale)}")
    assert says in run([*FLIP, "--at", "1"], text.encode())[2]


def test_the_remark_stands_in_the_program_too() -> None:
    out = run([*FLIP, "--at", "1"], BARE.encode())[1]
    assert b"(no G20 or G21 before line 2:" in out


def test_a_subprogram_counts() -> None:
    text = "G90 G17\nM98 P1\nM2\nO1\nG0 X0 Y0 Z5\nG1 X9 F90\nM99\n"
    assert "no G20 or G21 before line 5" in run([*FLIP, "--at", "1"], text.encode())[2]
    status, out, err = run([*FLIP, "--at", "1in", "--units", "inch"], text.encode())
    assert status == 0, err
    assert b"G1 X-7 F90" in out


def test_bounds_and_check_read_what_is_said() -> None:
    for units, far in (("mm", 101.6), ("inch", 101.6 * 25.4)):
        _, out, _ = run(["bounds", "-", "--json", "--units", units], BARE.encode())
        assert f"{far:g}" in json.dumps(json.loads(out))
    assert b"X 0.000 to 101.600" in run(["bounds", "-"], BARE.encode())[1]


def test_check_compares_in_the_unit_that_is_said(tmp_path: Path) -> None:
    (tmp_path / "front.nc").write_text(BARE)
    (tmp_path / "back.nc").write_bytes(run([*FLIP, "--at", "0"], BARE.encode())[1])
    arguments = ["check", str(tmp_path / "front.nc"), str(tmp_path / "back.nc"), "--axis", "y", "--at", "0"]
    assert run([*arguments, "--tolerance", "0.1"])[0] in (0, 1)
    status, _, err = run([*arguments, "--tolerance", "0.1mm"])
    assert (status, "say --units mm or --units inch" in err) == (2, True)
    assert run([*arguments, "--tolerance", "0.1mm", "--units", "inch"])[0] in (0, 1)


def test_the_library_takes_the_unit_with_the_program() -> None:
    program = flipreg.parse(BARE, units=flipreg.Units.INCH)
    zero = Decimal(0)
    flipped = flipreg.flip(program, axis=flipreg.FlipAxis.Y, datum_mm=(Decimal("25.4"), zero))
    assert bodies(flipped.text)[3] == "X-100.6"
    assert not any("no G20 or G21" in note for note in flipped.notes)
    assert flipreg.interpret(program).end[-1, 0] == pytest.approx(101.6 * 25.4)
    assert flipreg.depth(program, floor_mm=Decimal("-25.4")).text.splitlines()[-4] == b"G1 Z-1 F300"
    assert motions(BARE).end[-1, 0] == 101.6
