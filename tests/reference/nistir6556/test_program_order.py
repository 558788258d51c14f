"""Programs whose meaning depends on the order of execution: NISTIR 6556 section 3.8, Table 8; 3.6.1; 3.5.17.

D: derived in the reference from the printed table; R where the rule itself is printed.
"""

import pytest

from flipreg.path import Compensation, Kind
from tests.motions import INCH, length, motions, on_line


def test_a_spindle_stop_comes_before_the_motion_on_its_line() -> None:
    path = motions("G21 G90 F100 S500 M3\nG0 X0 Y0 Z0\nG1 X1\nG1 X2 M5\nM2\n")
    assert on_line(path, 3).spindle_rpm.tolist() == [500]
    assert on_line(path, 4).spindle_rpm.tolist() == [0]


def test_units_change_before_the_motion_on_their_line() -> None:
    path = motions("G21 G90 F100\nG0 X0 Y0 Z0\nX1 G1 G20\nM2\n")
    assert on_line(path, 3).end.tolist() == [[INCH, 0, 0]]


def test_a_dwell_on_the_line_of_a_move_does_not_take_the_move_away() -> None:
    path = motions("G21 G90 F100\nG0 X0 Y0 Z0\nG4 P1 G1 X3\nM2\n")
    assert on_line(path, 3).end.tolist() == [[3, 0, 0]]


def test_the_distance_mode_of_a_line_holds_for_its_own_motion() -> None:
    path = motions("G21 G90 F100\nG0 X5 Y0 Z0\nX3 G1 G91\nX3 G90\nM2\n")
    assert on_line(path, 3).end.tolist() == [[8, 0, 0]]
    assert on_line(path, 4).end.tolist() == [[3, 0, 0]]


def test_feed_is_set_before_the_motion_on_its_line_wherever_it_stands() -> None:
    path = motions("G21 G90\nG0 X0 Y0 Z0\nG1 X3 F250\nM2\n")
    assert on_line(path, 3).feed_mm_per_min.tolist() == [250]


def test_compensation_is_on_for_the_motion_on_its_own_line_and_off_for_that_of_g40() -> None:
    # Also stated in appendix B.2.3.
    path = motions("G21 G17 G90 F100 T1 M6\nG0 X0 Y0 Z0\nG1 Y4 G41\nX9\nX20 G40\nM2\n")
    assert on_line(path, 3).compensation.tolist() == [Compensation.LEFT]
    assert on_line(path, 4).compensation.tolist() == [Compensation.LEFT]
    assert on_line(path, 5).compensation.tolist() == [Compensation.OFF]


def test_the_line_of_the_program_end_is_executed_and_nothing_after_it() -> None:
    # R, sections 3.1 and 3.6.1.
    path = motions("G21 G90 F100\nG0 X0 Y0 Z0\nM2 G1 X1\nG1 X2\n")
    assert path.end[-1].tolist() == [1, 0, 0]
    assert path.line[-1] == 3


def test_a_line_with_axis_words_only_repeats_the_motion_in_force() -> None:
    # R, section 3.3.7.
    path = motions("G21 G90 F100\nG0 X0 Y0 Z0\nX1\nG1 X2\nX3\nG3 X5 I1\nX7 I1\nM2\n")
    kinds = [on_line(path, line).kind.tolist() for line in (3, 4, 5, 6, 7)]
    assert kinds == [[Kind.RAPID], [Kind.LINE], [Kind.LINE], [Kind.ARC], [Kind.ARC]]


def test_omitted_axes_keep_their_place_and_before_the_first_word_it_is_unknown() -> None:
    # Section 3.5; that the start is unknown is the promise of Path.
    path = motions("G21 G90\nG0 Z5\nG0 X1 Y2\nM2\n")
    assert str(path.start[0].tolist()) == "[nan, nan, nan]"
    assert str(path.end[0].tolist()) == "[nan, nan, 5.0]"
    assert path.end[1].tolist() == [1, 2, 5]


def test_block_delete_is_off_so_that_marked_lines_are_executed() -> None:
    # Section 2.2.2; the switch's default in the stand-alone interpreter, appendix A.1.
    path = motions("G21 G90 F100\nG0 X0 Y0 Z0\n/G1 X1\nM2\n")
    assert path.end[-1].tolist() == [1, 0, 0]


def test_reading_stops_at_the_closing_percent_line() -> None:
    # Section 3.1.
    path = motions("%\nG21 G90 F100\nG0 X0 Y0 Z0\nG1 X1\n%\nthis is not read\n")
    assert path.end[-1].tolist() == [1, 0, 0]


def test_an_inverse_time_feed_makes_the_move_last_as_long_as_it_says() -> None:
    # F1 R, section 3.5.19: with F2.0 the move takes half a minute.
    path = motions("G21 G90 G93\nG0 X0 Y0 Z0\nG1 X10 Y10 F2.0\nG94 G1 X20 F100\nM2\n")
    timed = on_line(path, 3)
    assert (length(timed) / timed.feed_mm_per_min).tolist() == pytest.approx([0.5])
    assert on_line(path, 4).feed_mm_per_min.tolist() == [100]


def test_the_helix_of_a1b_takes_as_long_as_computed() -> None:
    # F3 D: 0.153952 min at F100, the feed being along the helix.
    path = motions("G21 G17 G90 F100\nG0 X7 Y7 Z0\nG17 G2 x 10 y 16 i 3 j 4 z 9\nM2\n")
    helix = on_line(path, 3)
    assert (length(helix) / helix.feed_mm_per_min).tolist() == pytest.approx([0.153952], abs=5e-7)


def test_a_feed_in_inches_is_converted() -> None:
    path = motions("G20 G90 F10\nG0 X0 Y0 Z0\nG1 X1\nM2\n")
    assert on_line(path, 3).feed_mm_per_min.tolist() == pytest.approx([254])


def test_the_tool_is_the_last_one_named_before_the_change() -> None:
    # Section 3.7.3: only the last T before M6 counts; nothing changes until M6.
    path = motions("G21 G90 F100 T1\nG0 X0 Y0 Z0\nT2\nM6\nT3\nG1 X1\nM2\n")
    assert on_line(path, 2).tool.tolist() == [-1]
    assert on_line(path, 6).tool.tolist() == [2]
