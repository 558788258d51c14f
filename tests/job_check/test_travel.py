"""Moves outside the machine's travel."""

import pytest

from flipreg.findings import Finding, Status
from flipreg.job.machine import Machine
from flipreg.job.setup import ZZero
from flipreg.job_check.travel import travel_findings
from tests.job_check.motion_jobs import machine, one_setup

START = "G21 G90 G17 F600\nG0 Z5\nG0 X0 Y0\n"
SQUARE = START + "G1 Z-2\nX30\nY20\nX0\nY0\nG0 Z5\n"


def found(*texts: str, travel: Machine, zero: tuple[float, float, float] | None, z_zero: ZZero = ZZero.TOP) -> Finding:
    (finding,) = travel_findings(*one_setup(*texts, machine=travel, machine_zero_mm=zero, z_zero=z_zero))
    return finding


def test_motion_that_just_fits_passes() -> None:
    travel = machine((100.0, 130.0), (50.0, 70.0), (-62.0, -55.0))
    assert found(SQUARE, travel=travel, zero=(100.0, 50.0, -60.0)).status is Status.PASS


@pytest.mark.parametrize(
    ("zero", "axis", "line", "count"),
    [
        ((100.5, 50.0, -60.0), "X", 5, 3),  # there, along and back
        ((99.5, 50.0, -60.0), "X", 3, 6),
        ((100.0, 50.5, -60.0), "Y", 6, 3),
        ((100.0, 50.0, -59.5), "Z", 2, 4),
        ((100.0, 50.0, -60.5), "Z", 4, 6),
    ],
)
def test_half_a_millimetre_beyond_an_end_fails_with_the_first_line(
    zero: tuple[float, float, float], axis: str, line: int, count: int
) -> None:
    finding = found(SQUARE, travel=machine((100.0, 130.0), (50.0, 70.0), (-62.0, -55.0)), zero=zero)
    assert (finding.status, finding.program, finding.line) == (Status.FAIL, "front 0.nc", line)
    assert f"{count} motions go beyond the machine's travel, up to 0.50 mm along {axis}" in finding.message


def test_an_arc_counts_as_far_as_it_reaches() -> None:
    text = START + "X10\nG3 X-10 Y0 I-10 J0\n"
    fits = machine(y=(-1.0, 10.0))
    assert found(text, travel=fits, zero=(0.0, 0.0, 0.0)).status is Status.PASS
    finding = found(text, travel=machine(y=(-1.0, 9.9)), zero=(0.0, 0.0, 0.0))
    assert (finding.status, finding.line) == (Status.FAIL, 5)
    assert "1 motion goes" in finding.message


def test_an_axis_without_travel_is_not_checked() -> None:
    travel = machine(y=(-1.0, 21.0))
    assert found(SQUARE, travel=travel, zero=(1e6, 0.0, 1e6)).status is Status.PASS


def test_z_is_the_programs_own_with_zero_on_the_spoilboard() -> None:
    # The tip goes from Z 25 down to Z 18 of the program.
    text = START.replace("Z5", "Z25") + "G1 Z18\nG0 Z25\n"
    travel = machine(z=(18.0, 25.0))
    assert found(text, travel=travel, zero=(0.0, 0.0, 0.0), z_zero=ZZero.SPOILBOARD).status is Status.PASS
    finding = found(text, travel=machine(z=(18.0, 24.9)), zero=(0.0, 0.0, 0.0), z_zero=ZZero.SPOILBOARD)
    assert "up to 0.10 mm along Z" in finding.message


def test_without_machine_zero_a_motion_longer_than_the_travel_cannot_fit() -> None:
    finding = found(SQUARE, travel=machine(x=(0.0, 29.9)), zero=None)
    assert finding.status is Status.FAIL
    assert "30.00 mm along X, where the machine has 29.9 mm" in finding.message


def test_without_machine_zero_a_shorter_one_is_not_determined() -> None:
    finding = found(SQUARE, travel=machine(x=(0.0, 30.0), y=(0.0, 500.0)), zero=None)
    assert finding.status is Status.NOT_DETERMINED
    assert "machine_zero" in finding.message


def test_programs_of_one_setup_are_long_together() -> None:
    right, left = START + "X20\n", START + "X-15\n"
    assert found(right, travel=machine(x=(0.0, 34.0)), zero=None).status is Status.NOT_DETERMINED
    assert found(right, left, travel=machine(x=(0.0, 34.0)), zero=None).status is Status.FAIL


@pytest.mark.parametrize("away", ["G28\n", "G53 G0 Z0\n", "G91 G30 Z0\nG90\n", "G55 X500\n"])
def test_a_place_that_the_program_does_not_say_is_not_determined(away: str) -> None:
    travel = machine((-1.0, 31.0), (-1.0, 21.0), (-3.0, 6.0))
    finding = found(SQUARE + away, travel=travel, zero=(0.0, 0.0, 0.0))
    assert (finding.status, finding.line) == (Status.NOT_DETERMINED, 10)


def test_what_is_known_fails_whatever_is_not() -> None:
    finding = found(SQUARE + "G28\n", travel=machine(x=(0.0, 29.0)), zero=(0.0, 0.0, 0.0))
    assert (finding.status, finding.line) == (Status.FAIL, 5)


def test_a_program_that_never_says_where_it_is_does_not_pass() -> None:
    finding = found("G21 G90\nG0 X0 Y0\nX10\n", travel=machine(z=(-1.0, 1.0)), zero=(0.0, 0.0, 0.0))
    assert finding.status is Status.NOT_DETERMINED


@pytest.mark.parametrize("which", [None, Machine(), machine()])
def test_nothing_is_said_without_travel(which: Machine | None) -> None:
    assert list(travel_findings(*one_setup(SQUARE, machine=which, machine_zero_mm=(0.0, 0.0, 0.0)))) == []
