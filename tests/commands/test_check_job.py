"""The check of a job from outside: exit status, text, JSON, and job files that cannot be used."""

import json
from pathlib import Path as File

import pytest

from tests.commands.command import assert_one_message, checked_once, run
from tests.commands.paddle import PADDLE, coarse_paddle


@pytest.fixture
def folder(tmp_path: File) -> File:
    """Return a copy of the paddle's folder, under a name with a blank and letters beyond ASCII."""
    return coarse_paddle(tmp_path / "Paddel größer 3")


def test_the_paddle_is_in_register_whatever_its_files_and_setups_are_called(
    folder: File, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = (folder / "job.toml").read_text().replace("blade-back-holes.nc", "Löcher hinten.nc")
    (folder / "Auftrag Nr. 1 ü.toml").write_text(text.replace('"blade back"', '"Blatt – Rückseite"'), encoding="utf-8")
    (folder / "blade-back-holes.nc").rename(folder / "Löcher hinten.nc")
    # Programs are looked for beside the job file, and not in the folder one is in.
    monkeypatch.chdir(folder.parent)
    status, out, err = run(["check", f"{folder.name}/Auftrag Nr. 1 ü.toml", "--full"])
    assert (status, err) == (0, "")
    text = out.decode()
    assert text.startswith("IN REGISTER: all that the setups share agrees within 0.000 mm (allowed 0.3 mm).\n")
    assert "Blatt – Rückseite" in text


def test_the_wrong_jog_is_found_and_named_in_words_and_in_json(folder: File) -> None:
    command = ["check", str(folder / "job-wrong-jog.toml")]
    with checked_once():
        status, out, err = run(command)
        assert (status, err) == (1, "")
        status, numbers, _ = run([*command, "--json"])
        assert status == 1
    text = " ".join(out.decode().split())
    assert text.startswith("NOT IN REGISTER: setups are up to 2.000 mm apart (allowed 0.3 mm).")
    assert (
        "What to do The jog of setup 'blade back' is wrong, the job file has zero = [0, -32]: set zero = [0, -30]"
        in text
    )
    report = json.loads(numbers)
    assert {"in_register", "tolerance_mm", "flip", "register", "datum", "bounds", "diagnosis", "findings"} <= set(
        report
    )
    assert report["in_register"] is False
    assert report["tolerance_mm"] == 0.3
    # The worst pair: the blade's back lies 2 mm towards the tip.
    assert report["register"]["worst_mm"] == pytest.approx(2.0, abs=1e-3)
    assert report["register"]["dy_mm"] == pytest.approx(2.0, abs=1e-3)
    assert report["register"]["dx_mm"] == pytest.approx(0.0, abs=1e-3)
    assert [pair["in_register"] for pair in report["pairs"]] == [True, False]
    assert [setup["name"] for setup in report["setups"]] == ["shaft front", "shaft back", "blade front", "blade back"]
    assert len(report["floors"]) == 16
    jog = next(finding for finding in report["findings"] if finding["check"] == "diagnosis")
    assert (jog["status"], "'blade back'" in jog["message"]) == ("fail", True)
    (remedy,) = report["remedies"]
    assert remedy["ways"][0]["changes"] == [{"of": "setup", "names": ["blade back"], "set": {"zero": [0, -30]}}]
    worst = next(one for one in report["findings"] if (one["check"], one["status"]) == ("register", "fail"))
    assert worst["program"].endswith("blade-back-holes.nc")
    assert worst["line"] >= 9


def test_every_problem_of_a_job_file_is_told_with_line_and_key_path(folder: File) -> None:
    job = folder / "job.toml"
    text = job.read_text().replace("tolerance = 0.3", "tolerance = 0").replace('tool = "6 ball"', 'tool = "6 bull"')
    text = text.replace("shaft-front-rough.nc", "rough.nc").replace("along = 1380", "along = 1480")
    job.write_text(text)
    status, out, err = run(["check", str(job)])
    assert (status, out) == (2, b"")
    lines = err.splitlines()
    assert len(lines) == 6
    assert all(line.startswith(f"{job}:") for line in lines)
    assert "$.tolerance: expected more than 0.0, got 0" in lines[0]
    assert "$.setups[0].programs[0].file: there is no file 'rough.nc'" in lines[1]
    assert sum("there is no tool '6 bull'; did you mean '6 ball'?" in line for line in lines) == 4
    # Where marks lie is judged once all else is right, for only then is there a blank with hinges to lay them on.
    text = text.replace("tolerance = 0", "tolerance = 0.3").replace("6 bull", "6 ball")
    job.write_text(text.replace('"rough.nc"', '"shaft-front-rough.nc"'))
    status, out, err = run(["check", str(job)])
    assert (status, out, len(err.splitlines())) == (2, b"", 1)
    assert "$.marks[3].along: mark 'tip' is off the blank: 1480" in err


def test_a_blank_in_inches_in_a_file_of_millimetres_is_unusable(folder: File) -> None:
    job = folder / "job.toml"
    text = job.read_text()
    for old, new in (
        ("length = 1400 ", "length = 55.1 "),
        ("width = 240", "width = 9.45"),
        ("thickness = 34", "thickness = 1.34"),
        ("measured_thickness = 33.6", "measured_thickness = 1.32"),
        ("centre_line = 120", "centre_line = 4.7"),
        ("least_web = 5", "least_web = 0.2"),
    ):
        text = text.replace(old, new)
    job.write_text(text)
    status, out, err = run(["check", str(job)])
    assert (status, out) == (2, b"")
    assert "$.marks[0].along: mark 'A' is off the blank: 60 from the near end, and the blank is 55.1 long" in err
    assert "if the blank's size is in inch" in err


def test_a_program_that_is_not_legal_is_named_with_its_line(folder: File) -> None:
    bad = folder / "blade-front-holes.nc"
    bad.write_text(bad.read_text().replace("G80", "G5.7", 1))
    status, out, err = run(["check", str(folder / "job.toml")])
    assert (status, out) == (2, b"")
    assert_one_message(err, str(bad), 11)


@pytest.mark.parametrize("options", [["--tolerance", "0.1"], ["--axis", "y", "--at", "0"], ["--tool", "6"]])
def test_what_the_job_file_says_is_not_said_again(options: list[str]) -> None:
    status, out, err = run(["check", str(PADDLE / "job.toml"), *options])
    assert (status, out) == (2, b"")
    assert f"{options[0]}" in err
    assert "the job file says that; leave it out" in err


def test_two_programs_need_a_tolerance(tmp_path: File) -> None:
    status, _, err = run(["check", "front.nc", "back.nc"])
    assert status == 2
    assert "--tolerance" in err


def test_a_job_file_that_is_not_there_is_told_in_one_line(tmp_path: File) -> None:
    missing = tmp_path / "job.toml"
    assert run(["check", str(missing)]) == (2, b"", f"{missing}: cannot be read: no such file or directory\n")
