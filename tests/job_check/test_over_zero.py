"""Programs that do or do not start and end over program zero."""

import pytest

from flipreg.findings import Finding, Status
from flipreg.job.limits import Limits
from flipreg.job.setup import ZZero
from flipreg.job_check.over_zero import over_zero_findings
from tests.job_check.motion_jobs import one_setup

HEAD, WORK, TAIL = "G21 G90 F600\n", "G0 X30\nG1 Z-2\nY20\n", "G0 Z5\nX0 Y0\nM2\n"
START = "G0 Z5\nX0 Y0\n"


def found(*texts: str, height_mm: float = 5.0, z_zero: ZZero = ZZero.TOP) -> list[Finding]:
    limits = Limits(over_zero_at_mm=height_mm)
    return list(over_zero_findings(*one_setup(*texts, limits=limits, z_zero=z_zero)))


def test_a_program_that_starts_and_ends_there_passes() -> None:
    (finding,) = found(HEAD + START + WORK + TAIL)
    assert finding.status is Status.PASS


@pytest.mark.parametrize(
    "start", ["G0 X0 Y0 Z5\n", "G0 Z5\nX0\nY0\n", "G0 Z5\nY0\nX0\n", "G53 G0 Z0\nG0 X0 Y0 Z8\n", "G0 Z9\nX0 Y0\n"]
)
def test_other_ways_to_start_over_zero_pass(start: str) -> None:
    (finding,) = found(HEAD + start + WORK + TAIL)
    assert finding.status is Status.PASS


@pytest.mark.parametrize(
    ("start", "line", "says"),
    [
        ("G0 Z5\nX1 Y0\n", 3, "does not start over program zero: it first goes to X 1 Y 0 Z 5"),
        ("G0 Z5\nX30\nX0 Y0\n", 3, "first goes to X 30 Y not known Z 5"),
        ("G0 Z4.9\nX0 Y0\n", 2, "starts too low: X not known Y not known Z 4.9, not 5 mm or higher"),
        ("G0 Z1\nZ5\nX0 Y0\n", 2, "starts too low"),
        ("G0 X0 Y0 Z-1\n", 2, "starts too low: X 0 Y 0 Z -1"),
    ],
)
def test_another_start_fails_with_its_line(start: str, line: int, says: str) -> None:
    (finding,) = found(HEAD + start + WORK + TAIL)
    assert (finding.status, finding.program, finding.line) == (Status.FAIL, "front 0.nc", line)
    assert says in finding.message


@pytest.mark.parametrize(
    ("end", "line", "says"),
    [
        ("G0 Z5\nM2\n", 7, "does not end over program zero: it ends at X 30 Y 20 Z 5"),
        ("G0 Z5\nX0 Y0.1\n", 8, "ends at X 0 Y 0.1 Z 5"),
        ("G0 Z4\nX0 Y0\n", 8, "ends too low: at X 0 Y 0 Z 4"),
        ("G0 Z5\nX0 Y0\nZ1\n", 9, "ends too low"),
    ],
)
def test_another_end_fails_with_its_line(end: str, line: int, says: str) -> None:
    (finding,) = found(HEAD + START + WORK + end)
    assert (finding.status, finding.line) == (Status.FAIL, line)
    assert says in finding.message


def test_an_end_in_machine_positions_is_not_determined() -> None:
    for end in ("G28\n", "G53 G0 Z0\n", "G0 Z5\nG55 X0 Y0\n"):
        (finding,) = found(HEAD + START + WORK + "G0 Z5\nX0 Y0\n" + end)
        assert finding.status is Status.NOT_DETERMINED
        assert "it does not say" in finding.message


def test_a_start_whose_height_is_not_said_is_not_determined() -> None:
    for start in ("G0 X0 Y0\nZ5\n", "G53 G0 Z0\nG0 X0 Y0\nZ5\n"):
        (finding,) = found(HEAD + start + WORK + TAIL)
        assert finding.status is Status.NOT_DETERMINED
        assert "does not say how high" in finding.message


def test_a_program_that_names_x_only_does_not_pass() -> None:
    findings = found("G21 G90\nG0 X0\n")
    assert {finding.status for finding in findings} == {Status.NOT_DETERMINED}


def test_each_program_at_fault_is_named() -> None:
    findings = found(HEAD + START + WORK + TAIL, HEAD + START + WORK, HEAD + WORK + TAIL)
    assert [(finding.program, finding.status) for finding in findings] == [
        ("front 1.nc", Status.FAIL),
        ("front 2.nc", Status.FAIL),
    ]


def test_the_height_is_in_the_programs_numbers_with_zero_on_the_spoilboard() -> None:
    text = HEAD + "G0 Z30\nX0 Y0\nX30\nX0\n"
    assert [one.status for one in found(text, height_mm=30.0, z_zero=ZZero.SPOILBOARD)] == [Status.PASS]
    assert Status.FAIL in {one.status for one in found(text, height_mm=30.1, z_zero=ZZero.SPOILBOARD)}


def test_nothing_is_said_unless_the_job_asks_for_it() -> None:
    assert list(over_zero_findings(*one_setup(HEAD + WORK))) == []


def test_a_program_without_motion_is_left_alone() -> None:
    assert found("(nothing)\nM2\n") == []
