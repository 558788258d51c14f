"""A shop that works in inches: what is told in its unit, what says that it is not, and remedies done as told."""

import re
from pathlib import Path

import numpy as np
import pytest

from flipreg.rs274.read import lines
from tests.commands.command import run
from tests.motions import motions

DISC = (
    "G20 G17 G90 G94\nT1 M6\nS16000 M3\nG0 Z0.5\nG0 X3 Y1.5\nG1 Z-0.4 F30\nG2 X3 Y1.5 I-1 J0 F60\n"
    "G1 Z-0.8 F30\nG2 X3 Y1.5 I-1 J0 F60\nG0 Z0.5\nG0 X0 Y0\nM30\n"
)
"""A disc about X2 Y1.5, cut out of a board of three quarters of an inch."""

JOB = """
name = "lid"
units = "inch"
tolerance = 0.005

[blank]
length = 12
width = 6
thickness = 0.75
edge = "left"
centre_line = 3

[[marks]]
name = "A"
face = "both"
along = 1

[[marks]]
name = "far"
face = "both"
along = 10

[[tools]]
name = "quarter"
shape = "flat"
diameter = 0.25
number = 1

[[setups]]
name = "front"
up = "front"
mark = "A"
zero = [0, 0]
z_zero = "top"
programs = [{ file = "disc.nc", through = true }]
"""

LANGUAGE_MM = DISC.replace("G20", "G21")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "disc.nc").write_text(DISC)
    (tmp_path / "job.toml").write_text(JOB)
    return tmp_path


def _checked(job: Path) -> str:
    return " ".join(run(["check", str(job)])[1].decode().split())


def test_the_point_of_a_piece_that_may_fall_can_be_written_into_the_job_as_it_is_told(folder: Path) -> None:
    job = folder / "job.toml"
    said = _checked(job)
    found = re.search(r"say (may_fall = \[\[[^]]*\]\])", said)
    assert found, said
    job.write_text(JOB.replace("through = true", f"through = true, {found[1]}"))
    assert "may_fall" not in _checked(job)


TOUCHES = ["A=0.01,0", "far=-0.02,9"]


def test_moving_each_program_instead_does_the_same_as_applying_it(folder: Path) -> None:
    touched = ["touch", str(folder / "job.toml"), "--setup", "front", *TOUCHES]
    said = " ".join(run(touched)[1].decode().split())
    found = re.search(r"flipreg shift PROGRAM (--turn \S+ --about (\S+) --by (\S+))", said)
    assert found, said
    assert all(length.endswith("in") for length in (*found[2].split(","), *found[3].split(",")))
    assert run([*touched, "--apply", str(folder / "moved")])[0] == 0
    status, by_hand, err = run(["shift", str(folder / "disc.nc"), *found[1].split()])
    assert status == 0, err
    applied = motions((folder / "moved" / "disc.nc").read_bytes())
    assert len(applied) == len(motions(by_hand))
    np.testing.assert_allclose(applied.end, motions(by_hand).end, atol=1e-4)


def test_nobody_is_told_to_push_by_nothing(folder: Path) -> None:
    said = run(["touch", str(folder / "job.toml"), "--setup", "front", "A=0.01,0", "far=-0.02,9"])[1].decode()
    assert "push its end" in said
    assert not re.search(r"\b0\.0+ in (to the|away|towards)", " ".join(said.split()))


EDITS = {
    "flip": ["flip", "-", "--axis", "y", "--at", "5in"],
    "keep climb": ["flip", "-", "--axis", "y", "--at", "5in", "--keep-climb"],
    "shift": ["shift", "-", "--by", "0.5in,0"],
    "home": ["home", "-", "--safe-z", "0.5in"],
    "depth": ["depth", "-", "--floor", "-0.9in", "--step-down", "0.5in"],
}
UNIT = "lengths in flipreg's words are in millimetres, and numbers of this program in inches"


@pytest.mark.parametrize("name", EDITS)
def test_a_program_in_inches_says_that_lengths_told_of_it_are_not(name: str) -> None:
    status, out, err = run(EDITS[name], DISC.encode())
    assert status == 0, err
    assert f"({UNIT})\n" in out.decode()
    assert f"{UNIT}\n" in err
    status, out, err = run(EDITS[name], LANGUAGE_MM.replace("G1 Z-0.", "G1 Z-").encode())
    assert UNIT not in out.decode() + err


@pytest.mark.parametrize("name", EDITS)
def test_a_program_says_so_too_where_its_inches_come_late(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lines, "CHUNK_BYTES", 64)
    status, out, err = run(EDITS[name], ("(a disc that says its unit late)\n" * 4 + DISC).encode())
    assert status == 0, err
    assert f"({UNIT})\n" in out.decode()
    assert f"{UNIT}\n" in err


def test_a_program_that_is_said_to_be_in_inches_says_it_too() -> None:
    bare = DISC.replace("G20 ", "").encode()
    status, out, err = run([*EDITS["flip"], "--units", "inch"], bare)
    assert status == 0, err
    assert f"({UNIT})\n" in out.decode()


@pytest.mark.parametrize(
    ("text", "name", "x"), [(DISC, "inch", "1.0000 to 3.0000"), (LANGUAGE_MM, "mm", "1.000 to 3.000")]
)
def test_extents_are_told_in_the_programs_own_unit_unless_another_is_asked_for(text: str, name: str, x: str) -> None:
    said = run(["bounds", "-"], text.encode())[1].decode()
    assert f"numbers in {name}\n" in said
    assert f"X {x}," in said
    other = {"inch": "mm", "mm": "inch"}[name]
    assert f"numbers in {name}, told in {other}\n" in run(["bounds", "-", "--units", other], text.encode())[1].decode()


def test_floors_of_a_program_in_inches_are_told_with_their_unit() -> None:
    status, _, err = run(["depth", "-", "--floor", "-0.9in", "--level", "-0.8"], DISC.encode())
    assert status == 2
    assert "Z-0.8 mm is no floor of this program; its floors are Z-20.32 mm (line 8)" in err


def test_home_is_told_with_its_unit() -> None:
    status, out, _ = run(["home", "-", "--check", "--safe-z", "1in"], DISC.encode())
    assert status == 1
    assert "expected X0 Y0 at Z25.4 mm or higher" in out.decode()


def test_a_job_of_one_setup_says_that_there_is_nothing_to_compare_it_with(folder: Path) -> None:
    status, out, _ = run(["check", str(folder / "job.toml")])
    assert status == 1
    said = " ".join(out.decode().split())
    assert said.startswith("NOT DETERMINED: there is one setup only, and nothing that it could be in register with.")
    (folder / "job.toml").write_text(JOB.replace("tolerance", 'register = "by marks"\ntolerance'))
    said = _checked(folder / "job.toml")
    assert said.startswith("BY THE MARKS: there is one setup only, and where it cuts rests on the lines alone.")


def test_extents_are_told_in_the_unit_of_a_job_that_knows_no_machine(folder: Path) -> None:
    status, out, err = run(["bounds", str(folder / "disc.nc"), "--job", str(folder / "job.toml")])
    assert status == 0
    assert "told in" not in out.decode()
    assert "Z -0.8000 to 0.5000" in out.decode()
    assert err == f"{folder / 'job.toml'} says nothing about time: its machine table needs rapid and acceleration\n"
