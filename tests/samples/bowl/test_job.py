"""The bowl's own job, and the way to one from its programs alone: a check of a whole job takes a second or two."""

import sys
from pathlib import Path
from shutil import copy
from time import process_time

import pytest

from flipreg.job.file.read import read_job
from flipreg.job_check.check import check_job
from flipreg.units import INCH_MM
from tests.commands.command import run

BOWL = Path(__file__).parents[3] / "samples/bowl"


def test_the_job_passes_with_the_walls_and_the_tabs_that_its_page_has() -> None:
    report = check_job(read_job(BOWL / "job.toml"))
    assert (report.in_register, report.fails, report.remarks) == (True, False, ())
    assert pytest.approx([tab.thickness_mm / INCH_MM for _, tab in report.tabs], abs=0.002) == [0.25] * 4
    (left,) = report.left
    for across, along, thick in ((0.0, 4.5, 0.375), (1.1875, 4.5, 0.25), (-1.1875, 4.5, 0.25), (0.0, 7.1875, 0.25)):
        row = round((along * INCH_MM - left.grid.y_mm) / left.grid.step_mm)
        column = round((across * INCH_MM - left.grid.x_mm) / left.grid.step_mm)
        assert float(left.faces.left_mm[row, column]) / INCH_MM == pytest.approx(thick, abs=0.012)


def test_a_script_of_commands_makes_a_checked_job_of_the_programs(tmp_path: Path) -> None:
    for name in ("front.nc", "back.nc"):
        copy(BOWL / name, tmp_path)
    job = tmp_path / "bowl.toml"
    programs = ["--front", str(tmp_path / "front.nc"), "--back", str(tmp_path / "back.nc")]
    began = process_time()
    status, _, err = run(["draft", *programs, "--blank", "10in,6 1/2in,1 1/4in", "-o", str(job)])
    assert status == 0, err
    assert len(read_job(job).guesses) >= 12
    # What a person does at the bench: each guess looked at, one value mended, its words taken away.
    lines = [line.partition("# check:")[0].rstrip() for line in job.read_text().splitlines()]
    job.write_text("\n".join(lines).replace("tolerance = 0.005", "tolerance = 0.01") + "\n")
    status, out, err = run(["check", str(job)])
    # Shown with `pytest -rP`.
    sys.stdout.write(f"draft and check took {process_time() - began:.1f} s of processor time\n")
    assert (status, err) == (0, "")
    assert out.decode().startswith("IN REGISTER")
