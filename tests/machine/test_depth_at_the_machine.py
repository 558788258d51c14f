"""`depth` as the ground sees it: what bites how deep, and what doesn't change at all."""

import pytest

from tests.machine.judge_depth import Asked, judge_depth
from tests.machine.shops import places
from tests.machine.verbs import ran, without_header


def square(size: float, level: float) -> str:
    low, high = -size / 2, size / 2
    return (
        f"G0 X{low} Y{low}\nZ2\nG1 Z{level} F300\nX{high} F900\nY{high}\nX{low}\nY{low}\nG0 Z15\n"
    )


def roughed_and_finished(*levels: float) -> str:
    rough = "".join(square(30, level) for level in levels)
    return f"G21 G90 G17\nT1 M6\nS9000 M3\nG0 Z15\n{rough}{square(31, levels[-1])}M5\nM30\n"


@pytest.mark.parametrize("floor", [-9.8, -7, -6.2, -5.5])
def test_a_finishing_pass_at_full_depth_is_no_leave_to_rough_that_deep_at_once(floor: float) -> None:
    source = roughed_and_finished(-2, -4, -6)
    found = ran(["depth", "a", "--floor", str(floor)], a=source)
    assert found.status == 0, found.said
    assert judge_depth(source, found.out["-"], Asked(-6, floor), places(0)) == []


@pytest.mark.parametrize("step", ["1", "2", "3"])
def test_the_step_that_was_asked_for_is_the_most_that_is_bitten(step: str) -> None:
    source = roughed_and_finished(-2, -4, -6)
    found = ran(["depth", "a", "--floor", "-8.5", "--step-down", step], a=source)
    asked = Asked(-6, -8.5, float(step))
    assert found.status == 0, found.said
    assert judge_depth(source, found.out["-"], asked, places(0)) == []


@pytest.mark.parametrize("unit", ["G21", "G20"])
@pytest.mark.parametrize("floor", ["-0.26", "-0.260", "-.26"])
def test_a_floor_that_stays_leaves_the_program_byte_for_byte(unit: str, floor: str) -> None:
    source = f"{unit} G90\r\nM3 S9000\r\nG0 Z1 (up)\r\nX0 Y0\r\nG1 Z{floor} F30\r\nX2\r\nG0 Z1\r\nM2\r\n"
    asked = floor if unit == "G21" else f"{floor}in"
    found = ran(["depth", "a", f"--floor={asked}"], a=source)
    assert found.status == 0, found.said
    assert without_header(found.out["-"]) == source


def test_a_floor_in_millimetres_is_cut_once_in_a_program_in_inches() -> None:
    source = "G20 G90\nM3 S9000\nG0 Z1\nX0 Y0\nG1 Z-.5 F30\nX2\nG1 Z-1\nX0\nG0 Z1\nM2\n"
    found = ran(["depth", "a", "--level", "-25.4", "--floor", "-25.3999"], a=source)
    assert found.status == 0, found.said
    assert judge_depth(source, found.out["-"], Asked(-25.4, -25.3999), places(0)) == []
    assert len([line for line in found.out["-"].splitlines() if line.startswith(("X", "G1"))]) == 5
