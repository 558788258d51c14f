"""The bench sheet from outside: what is written where, when it says NOT CHECKED, and what is refused."""

import argparse
import re
import zlib
from hashlib import sha256
from pathlib import Path as File

import pytest

from flipreg.job.job import Job
from flipreg.job_check.report import JobReport
from tests.commands.command import run
from tests.drawing.board_job import write_board

_BAR = re.compile(rb"([\d.]+) ([\d.]+) m\s+([\d.]+) ([\d.]+) l\s+S")
_POINT_MM = 25.4 / 72


@pytest.fixture
def folder(tmp_path: File) -> File:
    made = tmp_path / "Brett größer 3"
    made.mkdir()
    write_board(made)
    return made


def test_a_job_with_problems_gives_a_sheet_that_says_so_and_status_1(folder: File) -> None:
    write_board(folder, off_mm=0.8)
    sheet = folder / "job.pdf"
    status, out, err = run(["sheet", str(folder / "job.toml"), "-o", str(sheet)])
    assert (status, out) == (1, b"")
    assert "NOT CHECKED stands across it" in err
    assert sheet.exists()


@pytest.mark.parametrize(("paper", "unit", "bar_mm"), [("a4", "mm", 100.0), ("letter", "inch", 101.6)])
def test_a_job_that_passes_gives_a_sheet_whose_bar_is_as_long_as_it_says_on_both_papers(
    tmp_path: File, paper: str, unit: str, bar_mm: float
) -> None:
    write_board(tmp_path, inch=unit == "inch")
    sheet = tmp_path / "job.pdf"
    status, out, err = run(["sheet", str(tmp_path / "job.toml"), "-o", str(sheet), "--paper", paper])
    assert (status, out) == (0, b"")
    assert re.fullmatch(re.escape(str(sheet)) + r": written; \d pages\n", err)
    data = sheet.read_bytes()
    assert data.startswith(b"%PDF")
    boxes = {tuple(map(float, box.split())) for box in re.findall(rb"/MediaBox \[ ([\d. ]+) \]", data)}
    sides = (210.0, 297.0) if paper == "a4" else (215.9, 279.4)
    in_points = [side / _POINT_MM for side in sides]
    assert {tuple(round(value, 3) for value in sorted(box[2:])) for box in boxes} == {
        tuple(round(value, 3) for value in in_points)
    }
    pages = [text for text in _streams(data) if b"BT" in text]
    assert len(pages) == data.count(b"/Type /Page\n") + data.count(b"/Type /Page ")
    for page in pages:
        # The two short upright lines that the bar lies between are the lowest lines of the page.
        upright = [
            (float(y0), float(x0)) for x0, y0, x1, _ in _BAR.findall(page) if x0 == x1
        ]
        (_, one), (_, other) = sorted(upright)[:2]
        assert abs(one - other) * _POINT_MM == pytest.approx(bar_mm, abs=0.01)


def test_the_same_words_are_on_the_sheet_as_in_the_report(folder: File) -> None:
    from flipreg.drawing.bench import bench_pages
    from flipreg.drawing.paper import Paper
    from tests.drawing.bench_job import sheet_of

    job, sheet = sheet_of(folder)
    pages = [" ".join(label.text for label in page.labels) for page in bench_pages(job, sheet, Paper.A4)]
    assert all("checked on 2031-05-04 10:20" in page for page in pages)
    texts = " ".join(pages)
    for name in ("job.toml", "front.nc", "holes.nc", "back.nc", "holes-back.nc"):
        assert sha256((folder / name).read_bytes()).hexdigest()[:10] in texts
        assert f"{(folder / name).stat().st_size}" in texts


def test_another_paper_and_another_ending_are_refused_before_anything_is_read(tmp_path: File) -> None:
    status, out, err = run(["sheet", "no-such-job.toml", "-o", str(tmp_path / "job.png")])
    assert (status, out) == (2, b"")
    assert "the bench sheet needs a .pdf" in err
    status, _, err = run(["sheet", "no-such-job.toml", "-o", str(tmp_path / "job.pdf"), "--paper", "a5"])
    assert status == 2
    assert "'a5'" in err
    status, _, err = run(["sheet", "no-such-job.toml"])
    assert status == 2
    assert list(tmp_path.iterdir()) == []


def test_a_job_that_cannot_be_used_leaves_no_sheet(folder: File) -> None:
    (folder / "front.nc").write_text("G21 G90 G17\nG0 X1 Y\nM2\n")
    sheet = folder / "job.pdf"
    status, out, err = run(["sheet", str(folder / "job.toml"), "-o", str(sheet)])
    assert (status, out) == (2, b"")
    assert "front.nc:2:" in err
    assert not sheet.exists()


def test_a_program_that_changes_while_it_is_checked_is_told(folder: File, monkeypatch: pytest.MonkeyPatch) -> None:
    from flipreg.cli import checked

    kept = checked.checked_job

    def meddled(job: Job, options: argparse.Namespace) -> JobReport:
        report = kept(job, options)
        (folder / "front.nc").write_text("M2\n")
        return report

    monkeypatch.setattr("flipreg.cli.sheet.checked_job", meddled)
    status, _, err = run(["sheet", str(folder / "job.toml"), "-o", str(folder / "job.pdf")])
    assert status == 2
    assert "was changed while it was checked" in err
    assert not (folder / "job.pdf").exists()


def _streams(data: bytes) -> list[bytes]:
    found = []
    # The last byte of what is compressed may be a carriage return, which belongs to no line end.
    for body in re.findall(rb"stream\r?\n(.*?)\nendstream", data, re.DOTALL):
        try:
            found.append(zlib.decompressobj().decompress(body))
        except zlib.error:
            continue
    return found
