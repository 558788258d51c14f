"""Names of files: any bytes may be one, and a report of it is still one; the name of a folder is none."""

import json
import os
import sys
from pathlib import Path

import pytest

from tests.commands.command import run

RING = "G21 G17 G90\nT1 M6\nS9000 M3\nG0 Z5\nG0 X30 Y0\nG1 Z-5 F300\nG2 X30 Y0 I-30 J0 F900\nG0 Z5\nG0 X0 Y0\nM30\n"


@pytest.mark.skipif(sys.platform != "linux", reason="names of files are text there")
def test_a_name_that_is_no_text_is_shown_with_its_bytes_spelled_out(tmp_path: Path) -> None:
    name = os.fsdecode(os.fsencode(tmp_path) + b"/\xff.nc")
    Path(name).write_text(RING)
    status, out, err = run(["bounds", name])
    assert (status, err) == (0, "")
    assert out.decode().splitlines()[0].endswith("/\\udcff.nc")
    for command in (["check", name, name, "--axis", "y", "--at", "0", "--tolerance", "0.1", "--tool", "6"],):
        text = run(command)[1].decode()
        assert "\\udcff.nc" in text
        assert json.loads(run([*command, "--json"])[1])["tolerance_mm"] == 0.1
    assert "\\udcff.nc" in run(["home", name, "--check", "--safe-z", "10"])[1].decode()


def test_the_name_of_a_folder_makes_no_file(tmp_path: Path) -> None:
    (tmp_path / "ring.nc").write_text(RING)
    out = f"{tmp_path / 'moved'}/"
    status, _, err = run(["flip", str(tmp_path / "ring.nc"), "--axis", "y", "--at", "0", "-o", out])
    assert (status, err) == (2, f"{out}: cannot be written: it is a directory\n")
    assert [path.name for path in tmp_path.iterdir()] == ["ring.nc"]
