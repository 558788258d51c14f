"""The command `draft`: a job file from programs that `check` takes at once."""

import re
from pathlib import Path as File

import pytest

from flipreg.job.file.read import read_job
from tests.commands.command import run
from tests.drafting.parts import BACK, FRONT, drawn, flipped_like_a_page

TRAY = File(__file__).parents[2] / "samples/tray"


@pytest.fixture
def folder(tmp_path: File) -> File:
    (tmp_path / "front.nc").write_text(FRONT)
    (tmp_path / "back.nc").write_text(BACK)
    return tmp_path


def drafted(folder: File, *more: str, front: str = "front.nc", back: str = "back.nc") -> tuple[int, str, str]:
    return _ran(["draft", "--front", str(folder / front), "--back", str(folder / back), *more])


def drafted_front(folder: File, *more: str) -> tuple[int, str, str]:
    """Return what comes of one face alone, which is not compared with another one."""
    return _ran(["draft", "--front", str(folder / "front.nc"), *more])


def _ran(arguments: list[str]) -> tuple[int, str, str]:
    status, out, err = run(arguments)
    return status, out.decode(), err


def test_the_draft_is_checked_at_once_and_its_guesses_are_listed(folder: File) -> None:
    job = folder / "job.toml"
    status, out, err = drafted(folder, "-o", str(job))
    assert (status, out) == (0, "")
    count = len(read_job(job).guesses)
    assert err == (
        f"{job}: written; {count} values are guesses, marked '# check:' in it. Next: flipreg check {job}\n"
    )
    status, out_bytes, err = run(["check", str(job), "--json"])
    assert (status, err) == (1, "")
    assert out_bytes.decode().count('"check": "guess"') == count


def test_a_guess_is_confirmed_by_taking_its_words_away(folder: File) -> None:
    job = folder / "job.toml"
    drafted_front(folder, "-o", str(job))
    before = read_job(job)
    job.write_text("\n".join(line.partition("# check:")[0] for line in job.read_text().splitlines()) + "\n")
    after = read_job(job)
    assert len(before.guesses) > 10
    assert after.guesses == ()
    assert after.blank == before.blank
    assert after.setups == before.setups


def test_a_file_that_is_there_is_never_written_over(folder: File) -> None:
    job = folder / "job.toml"
    job.write_text("mine\n")
    status, out, err = drafted(folder, "-o", str(job))
    assert (status, out) == (2, "")
    assert err == f"{job}: is there already, and is not written over; name another file, or move this one away\n"
    assert job.read_text() == "mine\n"
    assert sorted(file.name for file in folder.iterdir()) == ["back.nc", "front.nc", "job.toml"]


def test_without_o_the_job_goes_to_standard_output(folder: File, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(folder)
    status, out, err = drafted(File())
    assert (status, err) == (0, "")
    (folder / "job.toml").write_text(out)
    assert [one.file for one in read_job(folder / "job.toml").setups[0].programs] == [str(folder / "front.nc")]


def test_programs_are_named_from_the_job_files_folder_in_any_writing(folder: File) -> None:
    (folder / "Löffel 前面 \"1\".nc").write_text(FRONT)
    (folder / "задняя.nc").write_text(BACK)
    (folder / "plans").mkdir()
    job = folder / "plans" / "работа.toml"
    assert drafted(folder, "-o", str(job), front='Löffel 前面 "1".nc', back="задняя.nc")[0] == 0
    assert 'file = "../задняя.nc"' in job.read_text(encoding="utf-8")
    # A file that is not there would be refused.
    made = read_job(job)
    assert made.name == "работа"
    assert [File(setup.programs[0].file).name for setup in made.setups] == ['Löffel 前面 "1".nc', "задняя.nc"]


def test_a_name_that_no_job_file_can_hold_is_refused(folder: File) -> None:
    (folder / " blank.nc").write_text(FRONT)
    status, out, err = run(["draft", "--front", str(folder) + "/ blank.nc", "-o", str(folder / "job.toml")])
    assert (status, out) == (2, b"")
    assert "can't be written into a job file" in err
    assert not (folder / "job.toml").exists()


def test_sixty_programs_are_a_job(folder: File) -> None:
    names = [str(folder / f"front-{number:02}.nc") for number in range(60)]
    for name in names:
        File(name).write_text(FRONT)
    job = folder / "job.toml"
    assert run(["draft", "--front", *names, "-o", str(job)])[0] == 0
    assert len(read_job(job).setups[0].programs) == 60


def test_the_blank_is_said_as_three_lengths(folder: File) -> None:
    assert drafted_front(folder, "--blank", "200,150")[0] == 2
    status, _, err = drafted_front(folder, "--blank", "100,50,20")
    assert status == 2
    assert "don't fit on a blank of 100 mm × 50 mm" in err
    status, out, _ = drafted_front(folder, "--blank", "8in,6in,20mm")
    assert status == 0
    assert "length = 203.2\n" in out


def test_programs_without_a_unit_word_are_read_as_units_says(folder: File) -> None:
    (folder / "front.nc").write_text(drawn(unit="G20").replace("G20 ", ""))
    _, guessed, _ = drafted_front(folder)
    assert 'units = "mm"                # check: no program says G20 or G21' in guessed
    _, told, _ = drafted_front(folder, "--units", "inch")
    assert 'units = "inch"\n' in told


def test_the_trays_draft_agrees_with_its_own_job_file(tmp_path: File) -> None:
    job = tmp_path / "job.toml"
    front = [str(TRAY / f"front-{step}.nc") for step in ("rough", "finish", "profile", "holes")]
    back = [str(TRAY / f"back-{step}.nc") for step in ("rough", "profile", "holes")]
    assert run(["draft", "--front", *front, "--back", *back, "-o", str(job)])[0] == 0
    made, own = read_job(job), read_job(TRAY / "job.toml")
    assert made.blank.thickness_mm == own.blank.thickness_mm
    assert [tool.shape for tool in made.tools] == [tool.shape for tool in own.tools]
    for ours, theirs in zip(made.setups, own.setups, strict=True):
        assert (ours.flip_axis, ours.zero_mm, ours.z_zero) == (theirs.flip_axis, theirs.zero_mm, theirs.z_zero)
        assert [one.profile for one in ours.programs] == [one.profile for one in theirs.programs]


def test_a_job_in_inches_is_checked_in_inches(folder: File) -> None:
    inch = {"unit": "G20", "mill": "T1 M6 (1/4 IN FLAT)", "drill": "T2 M6 (3/16 IN DRILL)"}
    (folder / "front.nc").write_text(drawn(**inch))  # type: ignore[arg-type]
    (folder / "back.nc").write_text(drawn(flipped_like_a_page, **inch))  # type: ignore[arg-type]
    job = folder / "job.toml"
    assert drafted(folder, "-o", str(job))[0] == 0
    assert re.findall("^diameter = (.*?) *#", job.read_text(), re.MULTILINE) == ['"1/4in"', '"3/16in"']
    status, out, err = run(["check", str(job), "--full"])
    assert (status, err) == (1, "")
    text = out.decode()
    assert "Weakest tab" in text
    assert not re.search(r"[0-9] (mm|cm)", text), text


def test_touched_positions_are_in_the_jobs_unit_unless_said_otherwise(folder: File) -> None:
    inch = {"unit": "G20", "mill": "T1 M6 (1/4 IN FLAT)", "drill": "T2 M6 (3/16 IN DRILL)"}
    (folder / "front.nc").write_text(drawn(**inch))  # type: ignore[arg-type]
    job = folder / "job.toml"
    drafted_front(folder, "-o", str(job))
    text = job.read_text()
    job.write_text(text.replace("[[tools]]", '[[marks]]\nname = "F"\nface = "front"\nalong = 5\n\n[[tools]]', 1))
    (along,) = [mark.along_mm for mark in read_job(job).marks if mark.name == "A"]
    assert along is not None
    apart = 5 - along / 25.4
    for extra, factor in (([], 1.0), (["--units", "mm"], 25.4)):
        touched = ["A=0,0", f"F=0,{apart * factor:.4f}"]
        status, out, err = run(["touch", str(job), "--setup", "front", *touched, *extra])
        assert (status, err) == (0, "")
        assert out.decode().startswith("AS PLANNED")
        assert "in inches" in " ".join(out.decode().split())
        assert not re.search(r"[0-9] mm", out.decode()), out.decode()


def test_the_angle_that_a_comment_names_is_a_guess_like_its_diameter(folder: File) -> None:
    text = "G21 G90\nT1 M6 (60 deg V-bit 10 mm)\nS9000 M3\nG0 Z5\nG0 X20 Y20\nG1 Z-4 F300\nX60\nY50\nG0 Z5\nM30\n"
    (folder / "letters.nc").write_text(text)
    job = folder / "job.toml"
    assert run(["draft", "--front", str(folder / "letters.nc"), "-o", str(job)])[0] == 0
    (line,) = [line for line in job.read_text().splitlines() if line.startswith("angle")]
    assert re.fullmatch(r'angle = 60 +# check: a comment says "60 deg V-bit 10 mm" \(letters.nc line 2\)', line)


def test_a_comment_without_a_unit_is_not_said_to_say_nothing(folder: File) -> None:
    text = "G20 G90\nT1 M6 (0.25 flat)\nS9000 M3\nG0 Z1\nG0 X2 Y2\nG1 Z-.2 F30\nX6\nY5\nG0 Z1\nM30\n"
    (folder / "groove.nc").write_text(text)
    said = run(["draft", "--front", str(folder / "groove.nc")])[1].decode()
    assert "# check: no comment says it with its unit; measure the cutter" in said
    assert "# check: no comment with a size says it; flat, ball, bull, vee or drill" in said
