"""`flipreg depth --job`: the floor is the face less the part's thickness and how far it has to stand proud."""

import shutil
from decimal import Decimal
from pathlib import Path

import pytest

import flipreg
from tests.commands.command import run
from tests.commands.depths import flat_levels, lowest, points_at

SAMPLE = Path(__file__).parents[2] / "samples/bracket"
POCKET = (SAMPLE / "heel-pocket.nc").read_text()


@pytest.fixture
def bracket(tmp_path: Path) -> Path:
    for name in ("heel-pocket.nc", "job.toml"):
        shutil.copy(SAMPLE / name, tmp_path)
    return tmp_path


def said(folder: Path, old: str, new: str) -> None:
    """Change what the job says."""
    job = folder / "job.toml"
    assert job.read_text().count(old) == 1
    job.write_text(job.read_text().replace(old, new))


def depth(folder: Path, measured: str, *options: str, program: str | None = None) -> tuple[int, bytes, str]:
    name = str(folder / "heel-pocket.nc") if program is None else "-"
    given = ["--job", str(folder / "job.toml"), "--setup", "front", "--measured-part", measured, *options]
    return run(["depth", name, *given], (program or "").encode())


def made(folder: Path, measured: str, *options: str, program: str | None = None) -> bytes:
    status, out, err = depth(folder, measured, *options, program=program)
    assert (status, err.split(";")[0]) == (0, "standard output: written")
    return out


def refused(folder: Path, measured: str, *options: str, program: str | None = None) -> str:
    status, out, err = depth(folder, measured, *options, program=program)
    assert (status, out) == (2, b"")
    return err


def test_the_floor_is_the_thickness_less_how_far_it_stands_proud(bracket: Path) -> None:
    out = made(bracket, "heel=15.62")
    assert flat_levels(out) == [-4, -8, -12, -15.12]
    assert points_at(out, -15.12) == points_at(POCKET, -15.5)


def test_codes_that_the_job_names_as_passive_refuse_nothing(bracket: Path) -> None:
    said(bracket, "tolerance = 0.2\n", 'tolerance = 0.2\npassive = ["M25"]\n')
    out = made(bracket, "heel=15.62", program=POCKET.replace("S18000 M3\n", "S18000 M3\nM25\n"))
    assert flat_levels(out.replace(b"M25\n", b"")) == [-4, -8, -12, -15.12]


def test_it_says_what_the_caliper_says_in_other_words(bracket: Path) -> None:
    given = run(["depth", "-", "--measured", "15.62", "--proud", "0.5", "--step-down", "3"], POCKET.encode())[1]
    job = made(bracket, "heel=15.62", "--step-down", "3", program=POCKET)
    lines = job.splitlines()
    assert lines.pop(2) == b"(for 'heel': measured 15.62 mm, planned 16 mm, 0.5 mm proud of the face)"
    assert lines == given.splitlines()


def test_a_part_below_the_face_lies_deeper(bracket: Path) -> None:
    said(bracket, "proud = 0.5", "proud = -0.5")
    assert lowest(made(bracket, "heel=15.62", "--level", "-15.5")) == -16.12


def test_with_zero_on_the_spoilboard_the_measured_blank_counts(bracket: Path) -> None:
    """Planned 32 thick, so the face was at Z32 and the floor at Z16.5; the blank measures 31.4."""
    said(bracket, 'z_zero = "top"', 'z_zero = "spoilboard"')
    said(bracket, "thickness = 32", "thickness = 32\nmeasured_thickness = 31.4")
    text = "G21 G90\nG0 Z40\nX0 Y0\nG1 Z24 F300\nX20 F900\nG0 Z40\nX0\nG1 Z16.5 F300\nX20 F900\nG0 Z40\nM2\n"
    assert flat_levels(made(bracket, "heel=15.62", "--step-down", "8", program=text)) == [24, 16.28]


def test_a_job_in_inches_takes_a_caliper_in_either_unit(bracket: Path) -> None:
    text = (bracket / "job.toml").read_text()
    for old, new in (('"mm"', '"inch"'), ("length = 260", "length = 10"), ("width = 120", "width = 5")):
        text = text.replace(old, new)
    for old, new in (("= 32", "= 1.25"), ("centre_line = 60", "centre_line = 2.5"), ("along = 40", "along = 2")):
        text = text.replace(old, new)
    for old, new in (("diameter = 8", "diameter = 0.25"), ("= 16", "= 0.625"), ("proud = 0.5", "proud = 0.02")):
        text = text.replace(old, new)
    (bracket / "job.toml").write_text(text)
    program = "G20 G90\nG0 Z1\nX0 Y0\nG1 Z-.605 F20\nX2 F60\nG0 Z1\nM2\n"
    out = made(bracket, "heel=0.615in", program=program)
    assert out == made(bracket, "heel=15.621mm", program=program)
    # A bare number is in the unit of the job.
    assert out == made(bracket, "heel=0.615", program=program)
    assert b"G1 Z-0.595 F20" in out


def test_the_file_of_the_job_is_replaced_in_one_step(bracket: Path) -> None:
    file = str(bracket / "heel-pocket.nc")
    assert depth(bracket, "heel=15.62", "-o", file)[0] == 0
    assert flat_levels((bracket / "heel-pocket.nc").read_bytes())[-1] == -15.12


def test_a_floor_that_was_moved_before_has_to_be_named(bracket: Path) -> None:
    again = made(bracket, "heel=15.62").decode()
    assert "<stdin>:88:1: the job plans the floor of 'heel' at Z-15.5: Z-15.5 is no floor of this program" in refused(
        bracket, "heel=15.7", program=again
    )
    out = made(bracket, "heel=15.7", "--level", "-15.12", program=again)
    assert flat_levels(out)[-1] == -15.2


@pytest.mark.parametrize(
    ("measured", "says"),
    [
        ("heal=15.62", "the job has no fitted part 'heal'; it has 'heel'"),
        ("heel=25", "'heel' can't be the part that is planned 16 mm thick: it measures 25 mm"),
        ("heel=0.6", "'heel' can't be the part that is planned 16 mm thick: it measures 0.6 mm"),
        ("heel", "'heel' is no measured part; expected PART=T"),
        ("=15", "'=15' is no measured part; expected PART=T"),
        ("heel=thick", "'thick'"),
    ],
)
def test_what_is_measured_has_to_be_the_part_that_is_planned(bracket: Path, measured: str, says: str) -> None:
    assert says in refused(bracket, measured)


def test_a_pocket_through_the_blank_is_refused(bracket: Path) -> None:
    said(bracket, "thickness = 32", "thickness = 17")
    assert "'heel' would be 17.5 mm deep, and the blank is 17 mm thick" in refused(bracket, "heel=18")


def test_a_part_thinner_than_it_stands_proud_needs_no_pocket(bracket: Path) -> None:
    said(bracket, "proud = 0.5", "proud = 15.9")
    assert "that needs no pocket" in refused(bracket, "heel=15.8")


def test_another_program_than_the_jobs_is_refused(bracket: Path) -> None:
    other = bracket / "other.nc"
    other.write_text(POCKET)
    given = ["--job", str(bracket / "job.toml"), "--setup", "front", "--measured-part", "heel=15.62"]
    status, out, err = run(["depth", str(other), *given], b"")
    assert (status, out) == (2, b"")
    assert f"the job has the pocket of 'heel' in {bracket / 'heel-pocket.nc'}, not in {other}" in err


def test_another_setup_than_the_parts_is_refused(bracket: Path) -> None:
    second = '[[setups]]\nname = "back"\nup = "back"\nflip = "y"\nmark = "A"\nzero = [0, 90]\nz_zero = "top"\n'
    programs = 'programs = [{ file = "heel-pocket.nc", tool = "8 flat" }]\n\n'
    said(bracket, "[[fitted_parts]]", f"{second}{programs}[[fitted_parts]]")
    given = ["--job", str(bracket / "job.toml"), "--setup", "back", "--measured-part", "heel=15.62"]
    status, _, err = run(["depth", "-", *given], POCKET.encode())
    assert (status, err) == (2, "the pocket of 'heel' is cut in setup 'front', not in 'back'\n")


@pytest.mark.parametrize(
    "options",
    [
        ["--measured-part", "heel=15.62"],
        ["--measured-part", "heel=15.62", "--setup", "front"],
        ["--floor", "-3", "--setup", "front"],
        ["--measured", "15", "--planned", "16", "--job", "job.toml"],
        ["--measured-part", "heel=15.62", "--job", "job.toml", "--setup", "front", "--top", "3"],
        ["--measured-part", "heel=15.62", "--job", "job.toml", "--setup", "front", "--proud", "3"],
        ["--measured-part", "heel=15.62", "--floor", "-3"],
    ],
)
def test_arguments_that_do_not_go_together_are_told(options: list[str]) -> None:
    status, out, err = run(["depth", "-", *options], POCKET.encode())
    assert (status, out) == (2, b"")
    assert any(name in err for name in options)


def test_the_library_has_the_same_verb(bracket: Path) -> None:
    job = flipreg.read_job(bracket / "job.toml")
    part = flipreg.MeasuredPart("heel", "front", Decimal("15.62"))
    floor = flipreg.fitted_floor(job, part)
    assert (floor.level_mm, floor.floor_mm, floor.top_mm) == (Decimal("-15.5"), Decimal("-15.12"), Decimal(0))
    program = flipreg.read(bracket / "heel-pocket.nc")
    assert flipreg.depth_for_part(program, job, part).text == made(bracket, "heel=15.62")
