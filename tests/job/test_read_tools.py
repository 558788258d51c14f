"""Reading what the job file says of tools: their numbers, what they can, and which program runs with which."""

from pathlib import Path

import pytest

from flipreg.job.file.read import parse_job
from flipreg.job.job import Job
from flipreg.job.problem import JobFileError

FOLDER = Path(__file__).parents[2] / "samples/tray"
TRAY = (FOLDER / "job.toml").read_text(encoding="utf-8")
FLAT, BALL = 'name = "6 flat"\n', 'name = "6 ball"\n'
ROUGH = 'file = "front-rough.nc", tool = "6 flat"'


def read(text: str) -> Job:
    return parse_job(text.encode(), source="job.toml", folder=str(FOLDER))


def problems(text: str) -> list[tuple[str, bool]]:
    """Return key path and message of each problem as one text, and whether it has a line."""
    with pytest.raises(JobFileError) as caught:
        read(text)
    return [(f"{'.'.join(map(str, one.path))}: {one.message}", one.line is not None) for one in caught.value.problems]


def test_the_words_that_these_tests_change_are_in_the_sample() -> None:
    assert all(word in TRAY for word in (FLAT, BALL, ROUGH))


def test_numbers_ramps_and_flutes_are_read() -> None:
    head, name, tail = TRAY.partition(BALL)
    tail = tail.replace("plunge = true", "plunge = false\nramp_angle = 4\nflute_length = 22\nnumber = 2", 1)
    text = head + name + tail
    tool = read(text).tool("6 ball")
    assert (tool.number, tool.plunge, tool.ramp_deg, tool.flute_length_mm) == (2, False, 4.0, 22.0)


def test_a_program_names_its_tools_by_number() -> None:
    text = TRAY.replace(ROUGH, 'file = "front-rough.nc", tools = { 1 = "6 flat", 12 = "6 ball" }')
    program = read(text).setups[0].programs[0]
    assert (program.tool, program.tools) == (None, {1: "6 flat", 12: "6 ball"})
    assert program.tool_names == ("6 flat", "6 ball")


def test_with_numbered_tools_a_program_needs_none() -> None:
    text = TRAY.replace(FLAT, f"{FLAT}number = 1\n").replace(ROUGH, 'file = "front-rough.nc"')
    assert read(text).setups[0].programs[0].tool is None


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (BALL, f"{BALL}number = 0\n", "expected 1 or more"),
        (BALL, f"{BALL}ramp_angle = 90\n", "expected less than 90"),
        (BALL, f"{BALL}flute_length = 0\n", "expected more than 0"),
        (ROUGH, 'file = "front-rough.nc"', "setups.0.programs.0: expected tool"),
        (ROUGH, f'{ROUGH}, tools = {{ T1 = "6 flat" }}', "programs.0.tools.T1: expected a T number, like 1, got 'T1'"),
        (ROUGH, f'{ROUGH}, tools = {{ 1 = "6 flot" }}', "programs.0.tools.1: there is no tool '6 flot'; did you mean"),
        (ROUGH, f'{ROUGH}, tools = {{ 1 = "6 flat", 01 = "6 ball" }}', "one T number is written in two ways"),
    ],
)
def test_what_is_wrong_with_tools_is_told_where_it_stands(old: str, new: str, says: str) -> None:
    ((found, has_line),) = problems(TRAY.replace(old, new))
    assert says in found
    assert has_line


def test_two_tools_of_one_number_contradict_each_other() -> None:
    text = TRAY.replace(FLAT, f"{FLAT}number = 1\n").replace(BALL, f"{BALL}number = 1\n")
    ((found, _),) = problems(text)
    assert "the number 1 is taken by $.tools[" in found
