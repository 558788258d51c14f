"""The wording of every report of the samples: no minus nothing, no powers of ten, no sentence twice, no "1 holes"."""

from dataclasses import replace
from pathlib import Path as File

import pytest

from flipreg.job.file.read import read_job
from flipreg.job_check.check import check_job
from flipreg.report.job import job_text
from tests.commands.blunders.bench import said_badly
from tests.commands.command import run

SAMPLES = File(__file__).parents[2] / "samples"
TRAY = SAMPLES / "tray"
FRONT = ("--front", str(TRAY / "front-holes.nc"), str(TRAY / "front-profile.nc"), "--tolerance", "0.1")
JOBS = sorted(SAMPLES.glob("*/job*.toml"))


def badly(text: str) -> list[str]:
    return said_badly(" ".join(text.split()))


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("the worst at X -0.00 Y 12.0.", "minus nothing"),
        ("turned -0°", "minus nothing"),
        ("X 2.12417e-16", "a number in powers of ten"),
        ("1 shared holes", "one in the plural"),
        ("look it up..", "two full stops"),
    ],
)
def test_what_is_said_badly_is_found(text: str, what: str) -> None:
    assert what in badly(text)


def test_what_is_said_well_is_not() -> None:
    assert badly("X -0.50 Y 0.00, 21 holes, from -10 to -0.3 mm (G-code line 1-0).") == []


@pytest.mark.parametrize("path", JOBS, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_the_check_of_each_sample_job_is_worded_well(path: File) -> None:
    job = read_job(str(path))
    report = check_job(replace(job, limits=replace(job.limits, grid_mm=2.0)))
    assert badly(job_text(report)) == []
    assert badly(job_text(report, full=True)) == []


@pytest.mark.parametrize("backs", ["", "mistake", "mistake/not-mirrored"])
def test_the_check_of_two_sample_faces_is_worded_well(backs: str) -> None:
    back = TRAY / backs
    status, out, _ = run(["check", *FRONT, "--back", str(back / "back-holes.nc"), str(back / "back-profile.nc")])
    assert (status, badly(out.decode())) == (1 if "not-mirrored" in backs else 0, [])


@pytest.mark.parametrize("path", JOBS, ids=lambda path: f"{path.parent.name}-{path.stem}")
@pytest.mark.parametrize("command", ["marks", "budget"])
def test_sheets_and_budgets_of_the_samples_are_worded_well(path: File, command: str) -> None:
    status, out, err = run([command, str(path)])
    # A sheet says for each setup how to lay the blank, in the same words if it is the same way.
    wrong = [what for what in badly(out.decode()) if not (command == "marks" and what.startswith("said twice"))]
    assert (status in (0, 1) and out and wrong == []) or "$.budget: missing" in err
