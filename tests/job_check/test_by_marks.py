"""Register that rests on the marks: said once in the job file, and still held against what the programs show."""

from pathlib import Path

import pytest

from flipreg.findings import Status
from flipreg.job.file.read import read_job
from flipreg.job_check.check import check_job
from flipreg.job_check.report import JobReport
from flipreg.report.job import job_text
from flipreg.report.json.job import job_json
from tests.job.plain_file import plain_job

HOLES = ((-20, 30), (41, 90), (24, 150), (53, 40))


def slot(y: float) -> str:
    return f"G21 G90 G17\nT1 M6\nM3 S9000\nG0 Z5\nG0 X20 Y{y}\nG1 Z-3 F300\nG1 X70 Y{y + 9}\nG0 Z5\nG0 X0 Y0\nM5\nM30\n"


def holes(side: int, away: float = 0.0) -> str:
    drilled = "".join(f"G0 X{side * x + away} Y{y}\nG1 Z-21 F200\nG0 Z5\n" for x, y in HOLES)
    return f"G21 G90 G17\nT1 M6\nM3 S9000\nG0 Z5\n{drilled}G0 X0 Y0\nM5\nM30\n"


def job(register: str) -> str:
    return plain_job((300, 200, 20), along=20, centre_line=100, tolerance=0.2, more=register)


def checked(folder: Path, front: str, back: str, *, by_marks: bool) -> JobReport:
    register = 'register = "by marks"' if by_marks else ""
    (folder / "front.nc").write_text(front)
    (folder / "back.nc").write_text(back)
    (folder / "job.toml").write_text(job(register))
    return check_job(read_job(folder / "job.toml"))


def test_programs_that_share_nothing_rest_on_the_marks_only_if_the_job_says_so(tmp_path: Path) -> None:
    plain = checked(tmp_path, slot(30.0), slot(120.0), by_marks=False)
    assert (plain.in_register, plain.by_marks) == (None, False)
    # Of a board that is flat, no sentence speaks of its sections.
    assert any("cut from both faces, or two holes" in finding.message for finding in plain.findings)
    assert not any("section" in finding.message for finding in plain.findings)
    told = checked(tmp_path, slot(30.0), slot(120.0), by_marks=True)
    assert (told.in_register, told.by_marks) == (True, True)
    assert "by the marks: program zeros, jogs and mark lines agree" in " ".join(one.says for one in told.findings)
    assert job_text(told).startswith("BY THE MARKS: ")
    assert job_json(told)["by_marks"] is True


def test_what_the_programs_show_comes_before_the_marks(tmp_path: Path) -> None:
    wrong = checked(tmp_path, holes(1), holes(-1, 4.0), by_marks=True)
    assert (wrong.in_register, wrong.by_marks) == (False, False)


def test_another_word_than_by_marks_is_refused(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(job('register = "yes"'))
    with pytest.raises(ValueError, match="register"):
        read_job(tmp_path / "job.toml")


def test_register_that_the_programs_show_does_not_rest_on_the_marks(tmp_path: Path) -> None:
    shown = checked(tmp_path, holes(1), holes(-1), by_marks=True)
    assert (shown.in_register, shown.by_marks) == (True, False)
    assert Status.FAIL not in {one.status for one in shown.findings if one.check == "register"}


def test_a_setup_that_cuts_in_two_work_offsets_does_not_rest_on_the_marks(tmp_path: Path) -> None:
    two = slot(120.0).replace("G1 X70", "G55 G1 X70")
    mixed = checked(tmp_path, slot(30.0), two, by_marks=True)
    assert (mixed.in_register, mixed.by_marks, mixed.passes) == (None, False, False)
    told = [one for one in mixed.findings if one.check == "datum" and one.status is Status.NOT_DETERMINED]
    assert [one.setups for one in told] == [("back",)]
    assert "cut in work offsets G54, G55" in told[0].message


def test_a_setup_in_another_work_offset_than_the_first_says_where_zero_is_to_be_set(tmp_path: Path) -> None:
    report = checked(tmp_path, slot(30.0), slot(120.0).replace("G21", "G57 G21"), by_marks=True)
    assert report.passes
    (told,) = (one.says for one in report.findings if one.check == "datum" and one.status is Status.WARN)
    assert told == "its programs cut in work offset G57: program zero is to be set there, and not in G54"
