"""Setups and clamps called anything: reports show the names as they are, because nobody reads them out of sentences."""

from dataclasses import replace

import pytest

from flipreg.drawing.picture import check_pages
from flipreg.job.clamp import Clamp
from flipreg.job.job import Job
from flipreg.job.machine import Machine
from flipreg.job_check.check import check_job
from flipreg.job_check.report import JobReport
from flipreg.report.job import job_text
from flipreg.report.json.job import job_json
from tests.drawing.board_job import write_board

NAMES = (
    ("shaft: front", "shaft: back"),
    ("setup 'one': clamps", "setup \"two\": it's the back"),
    ("contour 12, section", "1: 2: 3: holes / outline"),
    ("'front'", "' back: '"),
)


@pytest.fixture(scope="module", params=NAMES)
def named(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Job, JobReport]:
    job = write_board(tmp_path_factory.mktemp("named"), off_mm=0.5)
    clamps = (Clamp("end: near", (500.0, 510.0), (500.0, 510.0), 5.0),)
    machine = Machine(6000.0, 250.0, travel_mm=((-900.0, 900.0), None, None))
    setups = tuple(
        replace(setup, name=name, clamps=clamps, machine_zero_mm=(0.0, 0.0, 0.0))
        for setup, name in zip(job.setups, request.param, strict=True)
    )
    coarse = replace(job, setups=setups, machine=machine, limits=replace(job.limits, grid_mm=2.0))
    return coarse, check_job(coarse)


def test_the_text_names_each_setup_as_it_is_called(named: tuple[Job, JobReport]) -> None:
    job, report = named
    front, back = (setup.name for setup in job.setups)
    text = " ".join(job_text(report, full=True).split())
    for words in ("keeps clear of the clamps", "all motion is within the machine's travel"):
        assert f"{front}, {back}: " in text.split(words)[0][-len(f"{front}, {back}: ") - 60 :]
    assert f"{front} / {back}: " in text


def test_the_findings_of_a_setup_begin_with_its_name(named: tuple[Job, JobReport]) -> None:
    job, report = named
    findings: list[dict[str, str]] = job_json(report)["findings"]  # type: ignore[assignment]
    for check in ("clamp", "travel", "datum"):
        said = [one["message"] for one in findings if one["check"] == check]
        assert [message.startswith(f"setup {setup.name!r}: ") for message, setup in zip(said, job.setups)] == [True] * 2  # noqa: B905


def test_both_setups_of_a_comparison_are_named(named: tuple[Job, JobReport]) -> None:
    job, report = named
    front, back = (setup.name for setup in job.setups)
    (register,) = [one for one in report.findings if one.check == "register"]
    assert (register.setups, register.message) == ((front, back), f"{front} / {back}: {register.says}")


def test_the_picture_names_each_setup_as_it_is_called(named: tuple[Job, JobReport]) -> None:
    job, report = named
    shown = " ".join(" ".join(label.text for page in check_pages(job, report) for label in page.labels).split())
    assert [setup.name for setup in job.setups if " ".join(setup.name.split()) not in shown] == []
