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
    job, picture = str(folder / "job.toml"), folder / "check.png"
    plain_status, plain, _ = run(["check", job])
    status, out, err = run(["check", job, "--picture", str(picture)])
    assert (plain_status, plain) == (status, out)
    assert err == f"{picture}: written; 4 pages\n"
    assert picture.read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize(("ending", "start"), [("svg", b"<?xml"), ("pdf", b"%PDF"), ("PNG", b"\x89PNG")])
def test_the_ending_says_what_it_is(folder: File, ending: str, start: bytes) -> None:
    picture = folder / f"check.{ending}"
    status, _, _ = run(["check", str(folder / "job.toml"), "--json", "--picture", str(picture)])
    assert status == 0
    assert picture.read_bytes().startswith(start)


def test_an_existing_picture_is_replaced_and_nothing_else_is_left_behind(folder: File) -> None:
    picture = folder / "check.svg"
    picture.write_text("old")
    before = {path.name for path in folder.iterdir()}
    assert run(["check", str(folder / "job.toml"), "--picture", str(picture)])[0] == 0
    assert b"<svg" in picture.read_bytes()
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
    picture = folder / "no-such-folder" / "check.png"
    status, out, err = run(["check", str(folder / "job.toml"), "--picture", str(picture)])
    assert (status, out) == (2, b"")
    assert err.startswith(f"{picture}: cannot be written: ")


def test_a_job_out_of_register_is_drawn_too_and_keeps_its_exit_status(tmp_path: File) -> None:
    write_board(tmp_path, off_mm=0.5)
    picture = tmp_path / "check.svg"
    status, out, _ = run(["check", str(tmp_path / "job.toml"), "--picture", str(picture)])
    assert status == 1
    assert out.startswith(b"NOT IN REGISTER")
    assert picture.exists()
