"""The check command from outside: exit status, JSON, and which of two files is bad."""

import json
from pathlib import Path as File

import pytest

from tests.commands.command import assert_one_message, run

GOOD = b"G21 G90 F100\nG0 X0 Y0 Z5\nG1 X10 Z-1\nM2\n"

BAD: dict[str, tuple[bytes, int | None]] = {
    "binary junk": (bytes(range(256)) * 20, None),
    "an empty file": (b"", None),
    "an arc whose radii disagree": (b"G21 G90 F100\nG0 X0 Y0 Z5\nG2 X10 Y0 I4\nM2\n", 3),
    "an unknown G code": (b"G21 G90 F100\nG0 X0 Y0 Z5\nG5.7 X1\nM2\n", 3),
}

SQUARE = "G21 G90 G17 F100\nG0 X-3 Y-3 Z5\nG1 Z-11\nX63\nY43\nX-3\nY-3\nG0 Z5\nG81 X10 Y10 Z-22 R1\nX40 Y25\nG80\nM2\n"


def test_check_says_0_for_a_true_flip_and_1_for_one_that_is_off(tmp_path: File) -> None:
    front, back, off = (tmp_path / name for name in ("front.ngc", "back.ngc", "off.ngc"))
    front.write_text(SQUARE)
    assert run(["flip", str(front), "--axis", "y", "--at", "0", "-o", str(back)])[0] == 0
    assert run(["shift", str(back), "--by", "0.5,0", "-o", str(off)])[0] == 0
    options = ["--axis", "y", "--at", "0", "--tolerance", "0.1", "--tool", "6"]
    assert run(["check", str(front), str(back), *options])[0] == 0
    assert run(["check", str(front), str(off), *options])[0] == 1
    status, out, _ = run(["check", str(front), str(off), *options, "--json"])
    report = json.loads(out)
    assert status == 1
    assert report["in_register"] is False
    assert abs(report["register"]["dx_mm"]) == pytest.approx(0.5, abs=0.01)
    assert report["register"]["dy_mm"] == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize("name", BAD)
@pytest.mark.parametrize("bad", [0, 1], ids=["front", "back"])
def test_check_names_the_file_that_is_bad(name: str, bad: int, tmp_path: File) -> None:
    files = [tmp_path / "front.ngc", tmp_path / "back.ngc"]
    text, at_line = BAD[name]
    for index, file in enumerate(files):
        file.write_bytes(text if index == bad else GOOD)
    status, out, err = run(["check", *map(str, files), "--axis", "y", "--at", "0", "--tolerance", "0.1", "--tool", "6"])
    assert (status, out) == (2, b"")
    assert_one_message(err, str(files[bad]), at_line)


def test_tools_are_given_by_t_number_where_a_program_changes_them(tmp_path: File) -> None:
    text = SQUARE.replace("G81", "T3 M6\nG81").replace("G21", "T1 M6\nG21")
    front, back = tmp_path / "front.ngc", tmp_path / "back.ngc"
    front.write_text(text)
    assert run(["flip", str(front), "--axis", "y", "--at", "0", "-o", str(back)])[0] == 0
    check = ["check", str(front), str(back), "--axis", "y", "--at", "0", "--tolerance", "0.1"]
    assert run([*check, "--tool", "T1=6", "--tool", "T3=0.25in"])[0] == 0
    status, _, err = run([*check, "--tool", "T1=6"])
    assert (status, "front.ngc:10:1: nothing says what tool T3 is" in err) == (2, True)
    status, _, err = run([*check, "--tool", "6"])
    assert (status, "front.ngc:1:1: nothing says what tool T1 is" in err) == (2, True)
    for wrong in ("X1=6", "T=6", "T1=", "T1=-6"):
        assert run([*check, "--tool", wrong])[0] == 2
    assert "T1 twice" in run([*check, "--tool", "T1=6", "--tool", "T1=8"])[2]


def test_a_job_whose_program_changes_tools_names_what_would_settle_it(tmp_path: File) -> None:
    samples = File(__file__).parents[2] / "samples/tray"
    for file in samples.glob("*.nc"):
        (tmp_path / file.name).write_bytes(file.read_bytes())
    rough = (tmp_path / "front-rough.nc").read_text()
    (tmp_path / "front-rough.nc").write_text(rough.replace("M30", "T7 M6\nS9000 M3\nG1 X1 Y1 F900\nM30"))
    (tmp_path / "job.toml").write_text((samples / "job.toml").read_text())
    status, _, err = run(["check", str(tmp_path / "job.toml")])
    assert status == 2
    assert "nothing says what tool T1 is" in err
    assert "$.setups[0].programs[0] tools = { 1 = " in err
