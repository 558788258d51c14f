"""The report of a job's check: on one screen by default, all of it when asked for, in the job's unit."""

import io
import os
import pty
import re
from dataclasses import replace

import pytest

from flipreg.cli.columns import columns
from flipreg.findings import Finding, Status
from flipreg.job.file.read import read_job
from flipreg.job.guess import Guess
from flipreg.job.limits import Limits
from flipreg.job_check.check import check_job
from flipreg.job_check.report import JobReport
from flipreg.report.job import job_text
from tests.commands.paddle import PADDLE
from tests.stock.wood_jobs import checked, part, profile

TABBED = profile(20.0, 30.0, -10.5, tab_mm=14.0, top_mm=-6.0)
PROGRAMS = {"front-profile": ("6 flat", TABBED), "back-profile": ("6 flat", TABBED)}


@pytest.fixture(scope="module")
def plate() -> JobReport:
    return checked(part(PROGRAMS, limits=Limits(grid_mm=0.5)), PROGRAMS, compares=True)


@pytest.fixture(scope="module")
def paddle() -> JobReport:
    job = read_job(PADDLE / "job.toml")
    return check_job(replace(job, limits=replace(job.limits, grid_mm=2.0)))


def labels(text: str) -> list[str]:
    return re.findall(r"^([A-Z][a-z]+(?: [a-z]+)*) {1,}(?=[^ ])", text, re.MULTILINE)


def test_the_paddles_report_is_at_most_forty_lines_of_eighty_columns(paddle: JobReport) -> None:
    lines = job_text(paddle).splitlines()
    assert len(lines) <= 40
    assert max(map(len, lines)) <= 80
    assert lines[0].startswith("IN REGISTER: ")


def test_key_figures_take_at_most_ten_lines(paddle: JobReport) -> None:
    text = job_text(paddle)
    figures = text[text.index("Thinnest web") : text.index("\n\nThis compares")]
    assert len(figures.splitlines()) <= 10
    for label in ("Thinnest web", "Weakest tab", "Deepest bite", "Step at seam", "Time in all", "Not determined"):
        assert f"\n{label} " in f"\n{figures}"


def test_an_order_of_mending_is_named_only_where_there_is_more_than_one_thing_to_mend(plate: JobReport) -> None:
    def says(count: int) -> str:
        fails = tuple(Finding("web", Status.FAIL, f"web {number}") for number in range(count))
        return " ".join(job_text(replace(plate, findings=fails)).split())

    assert "What to do Mend what fails: 1 below." in says(1)
    assert "What to do Mend what fails, in this order, for one may come from another: 1, 2 below." in says(2)


def test_what_fails_is_told_whole_and_first(plate: JobReport) -> None:
    long = "word " * 100
    look = Finding("seam", Status.WARN, long.strip())
    fail = Finding("web", Status.FAIL, long.strip())
    text = job_text(replace(plate, findings=(look, fail)))
    assert text.index("1. web, fails") < text.index("2. seam, look")
    first, second = text[text.index("1. web") :].split("2. seam")
    assert first.count("word") == 100
    assert len(second.split("\n\n")[0].splitlines()) == 3
    assert second.split("\n\n")[0].endswith(" …")


def test_the_full_report_leaves_nothing_out(plate: JobReport) -> None:
    long = "word " * 100
    look = Finding("seam", Status.WARN, long.strip())
    settled = Finding("web", Status.NOT_DETERMINED, "thin somewhere", settle="a look")
    report = replace(plate, findings=(look, settled))
    assert job_text(report).count("word") < 100
    assert "thin somewhere" not in job_text(report)
    assert "Not determined  web (2): would need a look\n" in job_text(report)
    full = job_text(report, full=True)
    assert full.count("word") == 100
    assert "2. web, not determined: thin somewhere." in full
    assert "\nTabs when all setups have run" in full


def test_guesses_are_listed_with_their_lines_and_weaken_the_verdict(plate: JobReport) -> None:
    guess = Finding("guess", Status.WARN, "blank.length: measure it", "job.toml", 9)
    text = job_text(replace(plate, findings=(*plate.findings, guess)))
    assert "BUT A GUESS IS NOT CONFIRMED, and this holds only as far as it does." in " ".join(text.split())
    assert "\n  line 9   blank.length: measure it\n" in text


def test_a_guess_of_the_job_becomes_a_finding() -> None:
    job = replace(part(PROGRAMS, limits=Limits(grid_mm=1.0)), guesses=(Guess(("blank", "width"), "measure it", 3),))
    (found,) = checked(job, PROGRAMS).guesses
    assert (found.status, found.message, found.line) == (Status.WARN, "blank.width: measure it", 3)


def test_a_job_in_inches_is_told_in_inches(plate: JobReport) -> None:
    for full in (False, True):
        text = job_text(replace(plate, inch=True, findings=()), full=full)
        assert not re.search(r"[0-9] mm\b|[0-9] mm²|cm²|cm³", text), text
        assert " in" in text


def test_running_text_is_wrapped_to_the_width(plate: JobReport) -> None:
    report = replace(plate, findings=(Finding("seam", Status.WARN, "word " * 40),))
    for width in (60, 80, 120):
        widest = max(len(line) for line in job_text(report, width=width).splitlines())
        assert width - 20 < widest <= width


def test_the_width_is_the_terminals_and_eighty_in_a_pipe(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "100")
    ours, theirs = pty.openpty()
    try:
        with open(theirs, "wb", closefd=False) as terminal:
            assert columns(terminal) == 100
    finally:
        os.close(ours)
        os.close(theirs)
    assert columns(io.BytesIO()) == 80
