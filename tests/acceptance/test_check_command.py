"""The check command from outside: exit status, JSON, and which of two files is bad."""

import json
from pathlib import Path as File

import pytest

from tests.acceptance.command import assert_one_message, run

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
