"""Fitted parts in the job file: what they become, and what contradicts the rest of the file."""

from math import inf, nan
from pathlib import Path

import pytest

from flipreg.job.file.read import parse_job
from flipreg.job.fitted import FittedPart
from flipreg.job.job import UnknownNameError
from flipreg.job.problem import JobFileError

BRACKET = Path(__file__).parents[2] / "samples/bracket"
GOOD = (BRACKET / "job.toml").read_text()


def read(text: str) -> tuple[FittedPart, ...]:
    return parse_job(text.encode(), source="job.toml", folder=str(BRACKET)).fitted_parts


def told(old: str, new: str) -> list[str]:
    assert GOOD.count(old) == 1, old
    with pytest.raises(JobFileError) as caught:
        read(GOOD.replace(old, new))
    return str(caught.value).splitlines()


def test_a_fitted_part_keeps_its_words_and_numbers() -> None:
    assert read(GOOD) == (FittedPart("heel", "front", str(BRACKET / "heel-pocket.nc"), 16.0, 0.5),)


def test_a_part_may_lie_below_the_face() -> None:
    assert read(GOOD.replace("proud = 0.5", "proud = -1.25"))[0].proud_mm == -1.25


def test_inches_become_millimetres() -> None:
    text = GOOD.replace('units = "mm"', 'units = "inch"').replace("thickness = 16", "thickness = 0.625")
    (part,) = read(text)
    assert (part.thickness_mm, part.proud_mm) == pytest.approx((15.875, 12.7))


def test_a_job_without_fitted_parts_has_none() -> None:
    assert read(GOOD[: GOOD.index("[[fitted_parts]]")]) == ()


def test_a_part_that_is_not_there_is_told_with_those_there_are() -> None:
    job = parse_job(GOOD.encode(), source="job.toml", folder=str(BRACKET))
    assert job.fitted_part("heel").name == "heel"
    with pytest.raises(UnknownNameError, match="no fitted part 'heal'; it has 'heel'"):
        job.fitted_part("heal")


@pytest.mark.parametrize(
    ("old", "new", "path", "says"),
    {
        "no such setup": ('setup = "front"', 'setup = "frnt"', ".setup", "no setup 'frnt'; did you mean 'front'?"),
        "another program": (
            'program = "heel-pocket.nc"',
            'program = "heel.nc"',
            ".program",
            "setup 'front' runs no program 'heel.nc'; it runs 'heel-pocket.nc'",
        ),
        "no pocket": ("proud = 0.5", "proud = 16", ".proud", "16 proud of the face, and 16 thick"),
        "through the blank": ("thickness = 16", "thickness = 32.5", ".thickness", "32 deep, and the blank is 32 thick"),
        "too far below": ("proud = 0.5", "proud = -16", ".proud", "32 deep, and the blank is 32 thick"),
        "no thickness": ("thickness = 16\n", "", "", "thickness"),
        "no height": ("proud = 0.5\n", "", "", "proud"),
        "not a number": ("proud = 0.5", 'proud = "flush"', ".proud", "such as \"3/8in\", got 'flush'"),
        "a thickness of nothing": ("thickness = 16", "thickness = 0", ".thickness", "more than 0"),
        "an unknown key": ("proud = 0.5", "proud = 0.5\nheight = 3", ".height", "height"),
        "no name": ('name = "heel"', 'name = " "', ".name", "blanks at its ends, got ' '"),
    }.values(),
)
def test_one_mistake_is_told_once_with_its_key_path(old: str, new: str, path: str, says: str) -> None:
    (line,) = told(old, new)
    assert f"$.fitted_parts[0]{path}" in line
    assert says in line
    assert line.startswith("job.toml:")


def test_two_parts_of_one_name_are_told_apart_by_nobody() -> None:
    second = GOOD[GOOD.index("[[fitted_parts]]") :]
    with pytest.raises(JobFileError, match=r"\$\.fitted_parts\[1\]\.name: the name 'heel' is taken by"):
        read(f"{GOOD}\n{second}")


def test_the_blank_as_measured_is_what_a_pocket_may_not_go_through() -> None:
    assert told("thickness = 32", "thickness = 22\nmeasured_thickness = 15.5") == [
        "job.toml:36: $.fitted_parts[0].thickness: the pocket would be 15.5 deep, and the blank is 15.5 thick"
    ]


@pytest.mark.parametrize(("thickness", "proud"), [(0.0, -1.0), (nan, 0.0), (16.0, 16.0), (16.0, inf), (16.0, nan)])
def test_a_value_that_exists_is_valid(thickness: float, proud: float) -> None:
    with pytest.raises(ValueError, match="'heel'"):
        FittedPart("heel", "front", "heel-pocket.nc", thickness, proud)
