from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from flipreg.path import Kind, Path
from flipreg.program.time import (
    Clock,
    MachineSpeed,
    ProgramTime,
    motion_lengths,
    program_time,
    trapezoid_seconds,
)
from tests import motions as outside
from tests.cut.bruteforce import polyline

MACHINE = MachineSpeed(rapid_mm_per_min=6000.0, acceleration_mm_per_s2=250.0)


@pytest.mark.parametrize(
    ("length", "speed", "acceleration", "seconds"),
    [
        (10, 10, 20, 1.5),
        (100, 50, 500, 2.1),
        (1, 50, 500, 0.0894427),
        (5, 50, 500, 0.2),
        (300, 100, 250, 3.4),
        (40, 100, 250, 0.8),
    ],
)
def test_the_trapezoid_takes_the_textbook_time(length: int, speed: int, acceleration: int, seconds: float) -> None:
    # All but (5, ...) confirmed with ruckig 0.19.4 at infinite jerk; the formula is textbook.
    actual = trapezoid_seconds(np.array([float(length)]), np.array([float(speed)]), float(acceleration))
    assert actual[0] == pytest.approx(seconds, abs=5e-8)


def test_a_trapezoid_agrees_with_stepping_through_it() -> None:
    speed, acceleration, dt = 30.0, 400.0, 1e-5
    for length in (0.5, 2.25, 7.0):
        place, now, seconds = 0.0, 0.0, 0.0
        while place < length / 2:  # up to the middle; the second half is its mirror image
            now = min(speed, now + acceleration * dt)
            place += now * dt
            seconds += dt
        expected = trapezoid_seconds(np.array([length]), np.array([speed]), acceleration)[0]
        assert 2 * seconds == pytest.approx(expected, abs=1e-3)


def test_feeds_and_traverses_have_their_own_speed() -> None:
    path = path_of([[0, 0, 0], [100, 0, 0], [0, 0, 0]], kinds=[Kind.LINE, Kind.RAPID], feed_mm_per_min=3000.0)
    time = program_time(path, MACHINE, stop_deg=0.0)
    assert time.rapid_s == pytest.approx(100 / 100 + 100 / 250)
    assert time.most_s - time.rapid_s == pytest.approx(100 / 50 + 50 / 250)


def test_lengths_of_arcs_and_helices_are_those_along_the_way() -> None:
    path = outside.motions("G21 G17 G90 F600\nG0 X10 Y0 Z0\nG3 X0 Y10 I-10 J0 Z-3\nG2 X0 Y10 I0 J-10\nG1 X3 Y14 Z-3\n")
    lengths = motion_lengths(path)
    np.testing.assert_allclose(lengths[1:], outside.length(path)[1:])
    # Quarter turn r 10 with 3 drop: 15.991876, computed.
    assert lengths[1] == pytest.approx(15.991876, abs=5e-7)


def test_one_line_in_a_thousand_motions_takes_as_long_as_the_line() -> None:
    x = np.linspace(0.0, 300.0, 1001)
    many = polyline(np.column_stack([x, 0 * x, 0 * x]), feed_mm_per_min=6000.0)
    time = program_time(many, MACHINE, stop_deg=5.0)
    assert time.estimate_s == pytest.approx(3.4)
    assert time.least_s == pytest.approx(3.4)
    # Each motion from rest to rest: 0.3 mm at 250 mm/s² never reach the feed.
    assert time.most_s == pytest.approx(1000 * 2 * np.sqrt(0.3 / 250))
    assert time.most_s > 20.0


def test_the_estimate_stops_at_sharp_corners_only() -> None:
    corners = np.array([[0.0, 0, 0], [40, 0, 0], [40, 40, 0], [0, 40, 0]])
    square = polyline(corners, feed_mm_per_min=6000.0)
    assert program_time(square, MACHINE, stop_deg=89.0).estimate_s == pytest.approx(3 * 0.8)
    blunt = program_time(square, MACHINE, stop_deg=91.0)
    assert blunt.estimate_s == pytest.approx(120 / 100 + 100 / 250)
    assert blunt.least_s == pytest.approx(blunt.estimate_s)
    assert blunt.most_s == pytest.approx(3 * 0.8)


def test_a_tangent_arc_goes_on_and_a_reversed_one_does_not() -> None:
    text = "G21 G17 G90 F6000\nG0 X0 Y0 Z0\nG1 X100\nG3 X100 Y20 I0 J10\nG1 X0\n"
    path = outside.motions(text).take(slice(1, None))
    way = 200 + 10 * np.pi
    assert program_time(path, MACHINE, stop_deg=1.0).estimate_s == pytest.approx(way / 100 + 0.4)
    back = outside.motions(text.replace("G3 X100 Y20 I0 J10", "G2 X100 Y-20 I0 J-10")).take(slice(1, None))
    back = replace(back, sweep_deg=-back.sweep_deg)  # as if it left backwards
    assert program_time(back, MACHINE, stop_deg=1.0).estimate_s > way / 100 + 0.5


def test_traverses_are_told_apart_and_stop_the_cutting() -> None:
    path = path_of([[0, 0, 0], [40, 0, 0], [80, 0, 0], [120, 0, 0]], kinds=[1, 0, 1], feed_mm_per_min=6000.0)
    time = program_time(path, MACHINE, stop_deg=180.0)
    assert time.rapid_s == pytest.approx(0.8)
    assert time.least_s == pytest.approx(2.4)


def test_motions_without_a_feed_or_a_start_are_counted_as_unknown() -> None:
    path = path_of([[np.nan, 0, 0], [40, 0, 0], [80, 0, 0], [120, 0, 0]], kinds=[0, 1, 1], feed_mm_per_min=6000.0)
    feed = np.array([np.nan, np.nan, 6000.0])
    time = program_time(replace(path, feed_mm_per_min=feed), MACHINE, stop_deg=5.0)
    assert (time.approach, time.unknown) == (1, 1)
    assert time.most_s == pytest.approx(0.8)


def test_a_program_without_motions_takes_no_time() -> None:
    assert program_time(Path.empty(), MACHINE, stop_deg=5.0).most_s == 0.0


@pytest.mark.parametrize("value", [0.0, -1.0, float("nan"), float("inf")])
def test_a_machine_needs_a_speed_and_an_acceleration(value: float) -> None:
    with pytest.raises(ValueError, match="rapid"):
        MachineSpeed(value, 250.0)
    with pytest.raises(ValueError, match="acceleration"):
        MachineSpeed(6000.0, value)


def test_an_axis_that_was_never_named_stands_still() -> None:
    flat = outside.motions("G21 G17 G90 F6000\nG0 X0 Y0\nG1 X40\nG3 X40 Y20 I0 J10\n")
    time = program_time(flat, MACHINE, stop_deg=1.0)
    assert (time.approach, time.unknown) == (1, 0)
    assert time.estimate_s == pytest.approx((40 + 10 * np.pi) / 100 + 0.4)


def test_a_cut_to_the_first_point_without_a_feed_is_unknown() -> None:
    time = program_time(outside.motions("G21 G90\nG1 X0 Y0 Z0\n"), MACHINE, stop_deg=1.0)
    assert (time.approach, time.unknown) == (0, 1)


def test_the_way_back_from_a_lost_place_is_unknown_and_not_an_approach() -> None:
    known: list[list[float]] = [[0.0, 0, 0], [40, 0, 0], [np.nan, 0, 0], [0, 0, 0], [40, 0, 0]]
    time = program_time(path_of(known, kinds=[1, 0, 0, 1], feed_mm_per_min=6000.0), MACHINE, stop_deg=1.0)
    assert (time.approach, time.unknown) == (0, 2)
    assert time.most_s == pytest.approx(1.6)


POINT = st.tuples(*[st.sampled_from([0.0, 1.0, 2.0, 10.0, float("nan")])] * 3)


@given(
    points=st.lists(POINT, min_size=2, max_size=14),
    kinds=st.lists(st.sampled_from([0, 1, 1, 1]), min_size=13, max_size=13),
    feeds=st.lists(st.sampled_from([600.0, 600.0, 1200.0, float("nan")]), min_size=13, max_size=13),
    borders=st.lists(st.integers(0, 13), max_size=5),
    stop_deg=st.sampled_from([0.0, 10.0, 90.0, 180.0]),
)
def test_it_takes_as_long_however_the_program_is_cut_into_parts(
    points: list[tuple[float, float, float]], kinds: list[int], feeds: list[float], borders: list[int], stop_deg: float
) -> None:
    corners: list[list[float]] = [list(point) for point in points]
    path = path_of(corners, kinds=kinds[: len(points) - 1], feed_mm_per_min=600.0)
    path = replace(path, feed_mm_per_min=np.array(feeds[: len(path)]))
    clock = Clock(MACHINE, stop_deg=stop_deg)
    ends = [0, *sorted(borders), len(path)]
    for first, last in pairwise(ends):
        clock.add(path.take(slice(first, last)))
    whole, parts = program_time(path, MACHINE, stop_deg=stop_deg), clock.time()
    assert seconds(parts) == pytest.approx(seconds(whole), rel=1e-12)
    assert (parts.approach, parts.unknown) == (whole.approach, whole.unknown)
    assert whole.least_s <= whole.estimate_s * (1 + 1e-12)
    assert whole.estimate_s <= whole.most_s * (1 + 1e-12)


def test_a_long_line_over_many_parts_is_one_stretch() -> None:
    x = np.linspace(0.0, 300.0, 1001)
    many = polyline(np.column_stack([x, 0 * x, 0 * x]), feed_mm_per_min=6000.0)
    clock = Clock(MACHINE, stop_deg=5.0)
    for first in range(0, 1000, 7):
        clock.add(many.take(slice(first, first + 7)))
    assert clock.time().estimate_s == pytest.approx(3.4)


def seconds(time: ProgramTime) -> tuple[float, ...]:
    return time.least_s, time.estimate_s, time.most_s, time.rapid_s


def path_of(corners: list[list[float]], *, kinds: list[int], feed_mm_per_min: float) -> Path:
    path = polyline(np.array(corners, dtype=np.float64), feed_mm_per_min=feed_mm_per_min)
    kind: NDArray[np.uint8] = np.array(kinds, np.uint8)
    return replace(path, kind=kind)
