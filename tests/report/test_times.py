"""The table of times, its keys, and the lines of `bounds` and of the checks of motion."""

from dataclasses import replace

import pytest

from flipreg import parse
from flipreg.job.clamp import Clamp
from flipreg.job.limits import Limits
from flipreg.job.machine import Machine
from flipreg.job_check.report import JobReport
from flipreg.job_check.times import setup_times
from flipreg.program.summary import summarise
from flipreg.report.json.encoder import encoded
from flipreg.report.json.job import JOB
from flipreg.report.json.program import summary_json
from flipreg.report.motion import motion_lines
from flipreg.report.paragraph import WIDTH
from flipreg.report.summary import summary_text
from flipreg.report.times import clock_text, times_lines
from tests.job_check.motion_jobs import machine, one_setup
from tests.stock.wood_jobs import checked, part

MACHINE = Machine(6000.0, 250.0)
HEAD = "G21 G90 G17\nG0 X0 Y0 Z0\n"


@pytest.mark.parametrize(
    ("seconds", "text"), [(0.0, "0:00:00"), (59.6, "0:01:00"), (3599.0, "0:59:59"), (36061.0, "10:01:01")]
)
def test_seconds_are_shown_as_a_clock_shows_them(seconds: float, text: str) -> None:
    assert clock_text(seconds) == text


def test_the_table_has_a_row_for_each_program_setup_and_the_whole() -> None:
    faces, _ = one_setup(HEAD + "X600\n", HEAD + "X100\nX0\n")
    assert times_lines(setup_times(faces, MACHINE))[1:6] == [
        "Time of each program, hours:min:s",
        "  setup       program       least  estimate     most   rapids",
        "  front       front 0.nc  0:00:06   0:00:06  0:00:06  0:00:06",
        "  front       front 1.nc  0:00:02   0:00:03  0:00:03  0:00:03",
        "  front       together    0:00:09   0:00:09  0:00:09  0:00:09",
    ]


def test_dwells_and_unknown_motions_get_columns_of_their_own() -> None:
    faces, _ = one_setup(HEAD + "X600\nG4 P3\nG1 X0\n")
    lines = times_lines(setup_times(faces, MACHINE))
    assert lines[3] == "  front       front 0.nc  0:00:09   0:00:09  0:00:09  0:00:06  0:00:03        1"
    assert any("Not determined where motions are unknown, 1 in all" in line for line in lines)
    assert max(map(len, lines)) <= WIDTH


def test_without_a_machine_the_report_says_what_it_would_need() -> None:
    text = " ".join(" ".join(times_lines(())).split())
    assert text == "Time not determined: the job file's machine table needs rapid and acceleration"


def test_the_keys_are_seconds() -> None:
    faces, _ = one_setup(HEAD + "X600\nG4 P3\nG1 X0\n")
    figures = {"least_s": 9.4, "estimate_s": 9.4, "most_s": 9.4, "rapid_s": 6.4, "dwell_s": 3.0, "unknown": 1}
    assert encoded(setup_times(faces, MACHINE), JOB) == [
        {"setup": "front", **figures, "programs": [{"program": "front 0.nc", **figures}]}
    ]


def test_bounds_shows_the_time_on_a_machine() -> None:
    summary = summarise(parse(HEAD + "X600\nG4 P3\nG1 X0 F3000\n"), machine=MACHINE)
    text = summary_text(summary)
    assert "  in all        0:00:22 h:min:s estimated, 0:00:22 least, 0:00:22 most\n" in text
    assert "in it: traverses 0:00:06, dwells 0:00:03\n" in text
    assert '"estimate_s": 21.6' in summary_json(summary)


def test_bounds_says_that_a_time_is_not_determined() -> None:
    text = summary_text(summarise(parse(HEAD + "X600\nG1 X0\n"), machine=MACHINE))
    assert "in all        not determined: 1 motion is without a feed or a known way; the others: 0:00:06 h" in text


def report(**changes: object) -> JobReport:
    text = "G21 G90 F600\nG0 Z9\nX0 Y0\nX10\nX0\n"
    programs = {"front.nc": ("6 flat", text), "back.nc": ("6 flat", text)}
    job = part(programs, limits=Limits(over_zero_at_mm=9.0))
    clamps = (Clamp("c", (20.0, 30.0), (0.0, 9.0), 5.0),)
    setups = tuple(replace(one, clamps=clamps, machine_zero_mm=(0.0, 0.0, 0.0)) for one in job.setups)
    job = replace(job, setups=setups, machine=machine(x=(0.0, 10.0)))
    return checked(replace(job, **changes), programs, compares=True)  # type: ignore[arg-type]


def test_what_is_well_is_told_once_with_all_its_setups() -> None:
    lines = motion_lines(report())
    assert lines[0] == ""
    told = [line for line in lines if not line.startswith(" ") and line]
    assert [line.split()[:3] for line in told] == [
        ["Travel", "front,", "back:"],
        ["Clamps", "front,", "back:"],
        ["Zero", "front,", "back:"],
    ]


def test_what_is_not_well_is_no_line_of_them() -> None:
    lines = motion_lines(report(machine=machine(x=(0.0, 9.0)), limits=Limits()))
    assert [line.split()[0] for line in lines if line and not line.startswith(" ")] == ["Clamps"]
