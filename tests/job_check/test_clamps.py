"""Moves into clamps: hand-made cases, and every case against stepping along the way."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from flipreg import interpret, parse
from flipreg.findings import Finding, Status
from flipreg.job.clamp import Clamp
from flipreg.job.limits import Limits
from flipreg.job.setup import ZZero
from flipreg.job_check.clamps import clamp_findings, hits
from flipreg.path import Path
from tests.job_check.motion_jobs import THICK_MM, one_setup

START = "G21 G90 G17 F600\nG0 Z15\nG0 X0 Y0\n"
CLAMP = Clamp("left", (20.0, 40.0), (-10.0, 10.0), 12.0)


def found(*texts: str, clearance_mm: float = 0.0, z_zero: ZZero = ZZero.TOP, clamp: Clamp = CLAMP) -> list[Finding]:
    limits = Limits(clearance_mm=clearance_mm)
    return list(clamp_findings(*one_setup(*texts, clamps=[clamp], limits=limits, z_zero=z_zero)))


def one(*texts: str, clearance_mm: float = 0.0) -> Finding:
    (finding,) = found(*texts, clearance_mm=clearance_mm)
    return finding


def test_a_traverse_through_a_clamp_fails_with_its_line() -> None:
    finding = one(START + "Z11\nX50\nZ15\n")
    assert (finding.status, finding.program, finding.line) == (Status.FAIL, "front 0.nc", 5)
    assert "the cutter traverses into the clamp 'left'" in finding.message


def test_feeding_into_a_clamp_and_along_it_counts_each_motion() -> None:
    finding = one(START + "G1 Z5\nX18 F200\nX50\nG0 Z15\n")
    assert (finding.status, finding.line) == (Status.FAIL, 5)
    assert "is fed into the clamp 'left'; 2 motions do" in finding.message


def test_over_the_top_is_clear_and_just_below_it_is_not() -> None:
    assert one(START + "Z12\nX50\n").status is Status.PASS
    assert one(START + "Z11.99\nX50\n").status is Status.FAIL


def test_beside_it_by_the_radius_is_clear_and_just_nearer_is_not() -> None:
    assert one(START + "Y13\nZ0\nX50\n").status is Status.PASS
    assert one(START + "Y12.99\nZ0\nX50\n").status is Status.FAIL


def test_the_clearance_counts_to_the_side_and_above() -> None:
    assert one(START + "Y15\nZ0\nX50\n", clearance_mm=2.0).status is Status.PASS
    assert one(START + "Y14.99\nZ0\nX50\n", clearance_mm=2.0).status is Status.FAIL
    assert one(START + "Z14\nX50\n", clearance_mm=2.0).status is Status.PASS
    assert one(START + "Z13.99\nX50\n", clearance_mm=2.0).status is Status.FAIL


def test_a_corner_is_round() -> None:
    # 2 and 2 off the corner is 2.83 away, nearer than the radius of 3; 2.2 and 2.2 is 3.11.
    assert one(START + "X18 Y12\nZ0\n").status is Status.FAIL
    assert one(START + "X17.8 Y12.2\nZ0\n").status is Status.PASS


def test_a_ramp_that_is_high_enough_where_it_is_over_the_clamp_is_clear() -> None:
    # Down from 15 at X0 to 9 at X60: 12 at X30, in the middle of the clamp. Down to 12 at X60 it is clear.
    assert one(START + "G1 X60 Z12\n").status is Status.PASS
    assert one(START + "G1 X60 Z9\n").status is Status.FAIL
    # 12 is reached at X43.1 only, 0.1 behind the cutter's rim.
    assert one(START + "G1 X57.4667 Z11\n").status is Status.PASS


def test_an_arc_is_followed_and_not_its_chord() -> None:
    # From X0 Y0 round X30 Y0 the arc passes 30 below and above; the chord goes through the clamp.
    assert one(START + "G1 Z0\nG3 X60 Y0 I30 J0\n").status is Status.PASS
    assert one(START + "G1 Z0\nX8\nG3 X52 Y0 I22 J0\n").status is Status.PASS
    assert one(START + "X17 Y-30\nG1 Z0\nG3 X17 Y30 I-10 J30\n").status is Status.FAIL


def test_a_helix_is_met_where_it_has_come_down() -> None:
    # A turn of radius 14 about X9 Y0 is over the clamp up to 53.7 degrees after its half: after 0.649 of its drop.
    turn = "X-5\nG1 Z14\nG3 X-5 Y0 I14 J0 Z"
    assert one(START + turn + "11\n").status is Status.PASS
    assert one(START + turn + "10.85\n").status is Status.FAIL


def test_drilling_into_a_clamp_fails() -> None:
    assert one(START + "G81 X30 Y0 Z-1 R13 F100\n").status is Status.FAIL
    assert one(START + "G81 X16 Y0 Z-1 R13 F100\nG80\n").status is Status.PASS


def test_the_top_is_in_the_programs_numbers_with_zero_on_the_spoilboard() -> None:
    high = THICK_MM + 5.0
    clamp = Clamp("left", (20.0, 40.0), (-10.0, 10.0), high)
    for z_mm, status in ((high, Status.PASS), (high - 0.01, Status.FAIL)):
        text = START.replace("Z15", "Z40") + f"Z{z_mm}\nX50\n"
        (finding,) = found(text, z_zero=ZZero.SPOILBOARD, clamp=clamp)
        assert finding.status is status


def test_the_first_program_that_meets_it_is_named() -> None:
    finding = one(START + "X50 Y50\n", START + "Z0\nX50\nX0\n")
    assert (finding.program, finding.line) == ("front 1.nc", 5)
    assert "2 motions do" in finding.message


@pytest.mark.parametrize("away", ["Z0\nG28\n", "Z0\nG53 G0 Z0\n", "Z5\nG55 X500\n"])
def test_a_way_that_the_program_does_not_say_is_not_determined(away: str) -> None:
    finding = one(START + away)
    assert (finding.status, finding.line) == (Status.NOT_DETERMINED, 5)


def test_a_way_above_all_clamps_is_clear_wherever_it_goes() -> None:
    lost_high = START + "G91 G28 X0\nG90\nG0 X1 Y1\n"
    assert one(lost_high).status is Status.PASS
    assert one(lost_high.replace("Z15", "Z11")).status is Status.NOT_DETERMINED


def test_a_program_that_never_names_z_does_not_pass() -> None:
    assert one("G21 G90\nG0 X0 Y0\nX10\n").status is Status.NOT_DETERMINED


def test_a_setup_without_clamps_says_nothing() -> None:
    assert list(clamp_findings(*one_setup(START))) == []


COORDINATE = st.integers(-6, 6).map(lambda number: number * 2.5)
POINT = st.tuples(COORDINATE, COORDINATE, st.integers(-4, 4).map(float))


@given(points=st.lists(POINT, min_size=2, max_size=6), radius_mm=st.sampled_from([0.0, 1.0, 3.3]))
def test_straight_motions_agree_with_stepping_along_them(
    points: list[tuple[float, float, float]], radius_mm: float
) -> None:
    text = "".join(f"G1 X{x} Y{y} Z{z}\n" for x, y, z in points)
    path = interpret(parse(f"G21 G90 F600\n{text}")).take(slice(1, None))
    agrees_with_stepping(path, radius_mm)


@given(
    start=POINT,
    centre=st.tuples(COORDINATE, COORDINATE),
    rise=st.integers(-4, 4),
    code=st.sampled_from(["G2", "G3"]),
    radius_mm=st.sampled_from([1.0, 3.3]),
    quarters=st.integers(1, 4),
)
def test_arcs_agree_with_stepping_along_them(
    start: tuple[float, float, float],
    centre: tuple[float, float],
    rise: int,
    code: str,
    radius_mm: float,
    quarters: int,
) -> None:
    (x, y, z), (i, j) = start, centre
    if i == 0.0 and j == 0.0:
        i = 2.5
    turn = np.radians(90.0 * quarters * (1 if code == "G3" else -1))
    end_x = x + i - i * np.cos(turn) + j * np.sin(turn)
    end_y = y + j - i * np.sin(turn) - j * np.cos(turn)
    text = f"G21 G90 G17 F600\nG0 X{x} Y{y} Z{z}\n{code} X{end_x:.6f} Y{end_y:.6f} Z{z + rise} I{i} J{j}\n"
    agrees_with_stepping(interpret(parse(text)).take(slice(1, None)), radius_mm)


def agrees_with_stepping(path: Path, radius_mm: float) -> None:
    """Hold each motion against thousands of points on it, with some room where it is a matter of a hair."""
    clamp = Clamp("block", (-4.0, 5.0), (-3.0, 2.0), 0.5)
    told = hits(path, clamp, radius_mm=radius_mm, clearance_mm=0.25)
    for row in range(len(path)):
        points = stepped(path, row)
        off = np.maximum(np.maximum([-4.0, -3.0] - points[:, :2], points[:, :2] - [5.0, 2.0]), 0.0)
        apart = np.hypot(off[:, 0], off[:, 1])
        low = points[:, 2] < 0.75
        if (low & (apart < radius_mm + 0.25 - 0.02)).any():
            assert told[row]
        if not ((points[:, 2] < 0.75 + 0.02) & (apart < radius_mm + 0.25 + 0.02)).any():
            assert not told[row]


def stepped(path: Path, row: int) -> NDArray[np.float64]:
    share = np.linspace(0.0, 1.0, 4001)[:, np.newaxis]
    start, end = path.start[row], path.end[row]
    points: NDArray[np.float64] = start + share * (end - start)
    if path.is_arc[row]:
        turn = np.radians(path.sweep_deg[row]) * share[:, 0]
        x, y = (start - path.centre[row])[:2]
        points[:, 0] = path.centre[row, 0] + x * np.cos(turn) - y * np.sin(turn)
        points[:, 1] = path.centre[row, 1] + x * np.sin(turn) + y * np.cos(turn)
    return points
