"""Seconds of a move against `ruckig`, which plans moves under limits of speed, acceleration and jerk.

Without a limit of jerk its moves are trapezoids. With a jerk limit j each of the two ramps takes a / j longer where the
acceleration a is reached; see the derivation at the test.
"""

import numpy as np
import pytest
from ruckig import InputParameter, Result, Ruckig, Trajectory

from flipreg.program.time import MachineSpeed, program_time, trapezoid_seconds
from tests import motions as outside
from tests.cut.bruteforce import polyline

_EXPONENTS = np.random.default_rng(2).uniform([-2.0, 0.3, 1.5], [3.0, 2.5, 4.0], (40, 3))
MOVES = [tuple(row) for row in (10.0**_EXPONENTS).tolist()]
"""Length in mm, speed in mm/s, acceleration in mm/s²: some reach their speed and some don't."""


def planned_seconds(length: float, speed: float, acceleration: float, jerk: float = float("inf")) -> float:
    """Return the duration of a move from rest to rest, as planned by the other library."""
    asked = InputParameter(1)
    asked.current_position, asked.target_position = [0.0], [length]
    asked.max_velocity, asked.max_acceleration, asked.max_jerk = [speed], [acceleration], [jerk]
    trajectory = Trajectory(1)
    assert Ruckig(1).calculate(asked, trajectory) == Result.Working
    return float(trajectory.duration)


def test_moves_without_a_limit_of_jerk_take_as_long_as_planned() -> None:
    length, speed, acceleration = np.array(MOVES).T
    reach = length * acceleration >= speed**2
    assert 8 < int(reach.sum()) < 32
    for row in MOVES:
        actual = trapezoid_seconds(np.array(row[:1]), np.array(row[1:2]), row[2])[0]
        assert actual == pytest.approx(planned_seconds(*row), rel=1e-9)


def test_a_high_limit_of_jerk_comes_as_close_to_the_trapezoid_as_it_must() -> None:
    # Ramps up to the speed w take w / a + a / j each, and on average half of w. So with the speed reached T is longer
    # by a / j; with less way, w (w / a + a / j) = L gives T = a/j + sqrt((a/j)² + 4 L/a) <= 2 sqrt(L/a) + 2 a/j.
    for length, speed, acceleration in MOVES:
        trapezoid = float(trapezoid_seconds(np.array([length]), np.array([speed]), acceleration)[0])
        longer = []
        for jerk in (1e2, 1e3, 1e4):
            ramp = acceleration / (jerk * acceleration)
            more = planned_seconds(length, speed, acceleration, jerk * acceleration) - trapezoid
            assert -1e-9 <= more <= 2.0 * ramp + 1e-9
            longer.append(more)
        assert longer == sorted(longer, reverse=True)


def test_motions_of_a_program_take_as_long_as_moves_of_their_length() -> None:
    machine = MachineSpeed(rapid_mm_per_min=9000.0, acceleration_mm_per_s2=700.0)
    text = "G21 G17 G90 F1800\nG0 X0 Y0 Z5\nG0 X30 Y40 Z5\nG1 X36 Y48 Z-2\nG3 X16 Y48 I-10 J0 Z-4\nG1 X16.01 Y48\n"
    path = outside.motions(text).take(slice(1, None))
    lengths = outside.length(path).tolist()
    speeds = [150.0, 30.0, 30.0, 30.0]
    planned = [planned_seconds(length, speed, 700.0) for length, speed in zip(lengths, speeds, strict=True)]
    for row, seconds in enumerate(planned):
        alone = program_time(path.take(slice(row, row + 1)), machine, stop_deg=0.0)
        assert alone.most_s == pytest.approx(seconds, rel=1e-9)
    assert program_time(path, machine, stop_deg=0.0).most_s == pytest.approx(sum(planned), rel=1e-9)
    # Never stopping, all that is cut is one move.
    least = planned[0] + planned_seconds(sum(lengths[1:]), 30.0, 700.0)
    assert program_time(path, machine, stop_deg=0.0).least_s == pytest.approx(least, rel=1e-9)


def test_a_line_in_pieces_that_is_not_stopped_on_takes_as_long_as_one_move() -> None:
    machine = MachineSpeed(rapid_mm_per_min=9000.0, acceleration_mm_per_s2=700.0)
    at = np.sort(np.random.default_rng(3).uniform(0.0, 80.0, 50))
    line = polyline(np.outer(at, [0.48, 0.6, -0.64]), feed_mm_per_min=3000.0)
    assert program_time(line, machine, stop_deg=1.0).estimate_s == pytest.approx(
        planned_seconds(float(at[-1] - at[0]), 50.0, 700.0), rel=1e-9
    )
