"""The picture of a check from outside: what is written where, and what is refused before anything is done."""

from pathlib import Path as File

import pytest

from tests.commands.command import run
from tests.drawing.board_job import write_board


@pytest.fixture
def folder(tmp_path: File) -> File:
    made = tmp_path / "Brett größer 3"
    made.mkdir()
    write_board(made)
    return made


def test_the_report_stays_on_standard_output_and_the_file_is_told_on_standard_error(folder: File) -> None:
    job, picture = str(folder / "job.toml"), folder / "check.PNG"
    plain_status, plain, _ = run(["check", job])
    status, out, err = run(["check", job, "--picture", str(picture)])
    assert (plain_status, plain) == (status, out)
    assert err == f"{picture}: written; 4 pages\n"
    assert picture.read_bytes().startswith(b"\x89PNG")


def test_a_job_out_of_register_is_drawn_too_and_its_picture_replaces_the_one_that_was_there(folder: File) -> None:
    write_board(folder, off_mm=0.5)
    picture = folder / "check.svg"
    picture.write_text("old")
    before = {path.name for path in folder.iterdir()}
    status, out, _ = run(["check", str(folder / "job.toml"), "--picture", str(picture)])
    assert status == 1
    assert out.startswith(b"NOT IN REGISTER")
    drawn = picture.read_bytes()
    assert drawn.startswith(b"<?xml")
    assert b"<svg" in drawn
    assert before == {path.name for path in folder.iterdir()}


def test_another_ending_is_refused_before_the_job_is_read(tmp_path: File) -> None:
    picture = tmp_path / "check.bmp"
    status, out, err = run(["check", str(tmp_path / "no-such-job.toml"), "--picture", str(picture)])
    assert (status, out) == (2, b"")
    assert err == f"{str(picture)!r}: a drawing is a .pdf, a .svg or a .png\n"
    assert list(tmp_path.iterdir()) == []


def test_two_programs_are_drawn_on_one_page_besides_their_report(folder: File) -> None:
    programs = [str(folder / "front.nc"), str(folder / "back.nc"), "--tolerance", "0.1"]
    picture = folder / "faces.pdf"
    status, out, err = run(["check", *programs, "--picture", str(picture)])
    assert run(["check", *programs]) == (status, out, "")
    assert err == f"{picture}: written; 1 page\n"
    assert picture.read_bytes().startswith(b"%PDF")


def test_two_programs_are_not_read_for_a_picture_with_another_ending(tmp_path: File) -> None:
    programs = [str(tmp_path / "no-front.nc"), str(tmp_path / "no-back.nc"), "--tolerance", "0.1"]
    status, out, err = run(["check", *programs, "--picture", str(tmp_path / "faces.bmp")])
    assert (status, out) == (2, b"")
    assert "a drawing is a .pdf, a .svg or a .png" in err


def test_a_picture_that_cannot_be_written_is_an_error_without_a_report(folder: File) -> None:
    picture = folder / "no-such-folder" / "check.svg"
    status, out, err = run(["check", str(folder / "job.toml"), "--json", "--picture", str(picture)])
    assert (status, out) == (2, b"")
    assert err.startswith(f"{picture}: cannot be written: ")
