import math

import numpy as np
import pytest

from flipreg.path import Kind, Path
from flipreg.rs274.read.location import ProgramError
from tests.rs274.reading import assert_same_path, path_of, state_after

TRAVERSE, FEED = Kind.RAPID, Kind.LINE


Move = tuple[int, float, float, float]


def moves_of(path: Path) -> list[Move]:
    ends = path.end.round(9).tolist()
    return [(kind, x, y, z) for kind, (x, y, z) in zip(path.kind.tolist(), ends, strict=True)]


def cycle_moves(text: str, *, at: tuple[float, float, float]) -> list[Move]:
    x, y, z = at
    return moves_of(path_of(f"G90 G0 X{x} Y{y} Z{z}\n{text}\n"))[1:]


def place_of(text: str) -> tuple[int, int]:
    with pytest.raises(ProgramError) as caught:
        path_of(text)
    return caught.value.location.line, caught.value.location.column


def test_the_reports_first_example_drills_one_hole() -> None:
    # NISTIR 6556, 3.5.16.2, example 1.
    expected = [(TRAVERSE, 4, 5, 3), (TRAVERSE, 4, 5, 2.8), (FEED, 4, 5, 1.5), (TRAVERSE, 4, 5, 3)]
    assert expected == cycle_moves("G17 G90 G81 G98 X4 Y5 Z1.5 R2.8", at=(1, 2, 3))


def test_with_g99_the_tool_returns_to_the_r_level() -> None:
    assert cycle_moves("G90 G81 G99 X4 Y5 Z1.5 R2.8", at=(1, 2, 3))[-1] == (TRAVERSE, 4, 5, 2.8)


def test_the_reports_second_example_drills_three_holes_by_increments() -> None:
    # NISTIR 6556, 3.5.16.2, example 2.
    expected: list[Move] = [(TRAVERSE, 1, 2, 4.8)]
    for x, y in ((5, 7), (9, 12), (13, 17)):
        expected += [(TRAVERSE, x, y, 4.8), (FEED, x, y, 4.2), (TRAVERSE, x, y, 4.8)]
    assert expected == cycle_moves("G17 G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3", at=(1, 2, 3))


def test_the_reports_keyboard_session_drills_two_holes() -> None:
    # NISTIR 6556, table 10.
    expected: list[Move] = [(TRAVERSE, 30, 1, 1)]
    for x, y in ((33, 3), (36, 5)):
        expected += [(TRAVERSE, x, y, 1), (FEED, x, y, 0.2), (TRAVERSE, x, y, 1)]
    assert expected == cycle_moves("g91 g81 x3 y2 z-0.8 r1.5 l2", at=(30, 1, -0.5))


def test_in_absolute_distance_mode_repeats_drill_in_place() -> None:
    hole = [(TRAVERSE, 4, 5, 1), (FEED, 4, 5, -2), (TRAVERSE, 4, 5, 1)]
    assert hole * 2 == cycle_moves("G81 G99 X4 Y5 Z-2 R1 L2", at=(0, 0, 1))


def test_pecks_go_down_by_q_and_stop_at_the_bottom() -> None:
    # NISTIR 6556, C.3 block n0090; the depths are worked out from the rule in 3.5.16.4.
    moves = cycle_moves("G99 G83 X5 Y6 R.2 Z-1.1 Q.21", at=(5, 6, 0.2))
    feeds = [move[3] for move in moves if move[0] == FEED]
    assert feeds == [-0.01, -0.22, -0.43, -0.64, -0.85, -1.06, -1.1]
    # Out to the clear level and back to just above the last depth between two pecks, then out.
    ways = [move[3] for move in moves[1:] if move[0] == TRAVERSE]
    assert ways[::2] == [0.2] * 7
    assert all(depth < back < 0.2 for depth, back in zip(feeds[:-1], ways[1::2], strict=True))


def test_a_peck_that_ends_at_the_bottom_is_the_last() -> None:
    feeds = [move[3] for move in cycle_moves("G83 X0 Y0 Z-0.3 R0 Q0.1", at=(0, 0, 0)) if move[0] == FEED]
    assert feeds == [-0.1, -0.2, -0.3]


def test_back_boring_goes_in_beside_the_hole_and_up_through_it() -> None:
    # NISTIR 6556, C.3 block n0130, with G99.
    assert cycle_moves("g99 g87 x9 y10 r0.2 z-1.1 i0.231 j-0 k-3", at=(8, 9, 0.2)) == [
        (TRAVERSE, 9, 10, 0.2),
        (TRAVERSE, 9.231, 10, 0.2),
        (TRAVERSE, 9.231, 10, -1.1),
        (TRAVERSE, 9, 10, -1.1),
        (FEED, 9, 10, -3),
        (FEED, 9, 10, -1.1),
        (TRAVERSE, 9.231, 10, -1.1),
        (TRAVERSE, 9.231, 10, 0.2),
        (TRAVERSE, 9, 10, 0.2),
    ]


def test_by_increments_the_upper_level_of_back_boring_counts_from_the_bottom() -> None:
    # NISTIR 6556, 3.5.16.8 and C.3 block n0135: bottom at -0.7, so that K-3 is at -3.7.
    feeds = [
        move for move in cycle_moves("g99 g91 g87 x1 y0 r0.2 z-1.1 i0.231 j-0 k-3", at=(9, 10, 0.2)) if move[0] == FEED
    ]
    assert feeds == [(FEED, 10, 10, -3.7), (FEED, 10, 10, -0.7)]


@pytest.mark.parametrize(
    ("block", "out"),
    [("G81", TRAVERSE), ("G82 P1", TRAVERSE), ("G84", FEED), ("G85", FEED), ("G86 P1", TRAVERSE), ("G89 P1", FEED)],
)
def test_the_way_out_is_a_traverse_or_a_feed(block: str, out: Kind) -> None:
    # NISTIR 6556, 3.5.16.
    expected = [(TRAVERSE, 1, 1, 1), (FEED, 1, 1, -1), (out, 1, 1, 1)]
    assert expected == cycle_moves(f"M3 {block} X1 Y1 Z-1 R1", at=(0, 0, 1))


def test_after_the_hands_retract_of_g88_the_next_motion_starts_at_the_clear_level() -> None:
    text = "G90 G0 X0 Y0 Z5\nG88 X1 Y1 Z-1 R1 P0\nX2\nG80\nG0 X3\n"
    for lines in (1, 10):
        path = path_of(text, lines=lines)
        assert path.line.tolist() == [1, 2, 2, 2, 3, 3, 3, 5]
        assert path.end[[3, 6], 2].tolist() == [-1.0, -1.0]
        assert path.start[[4, 7], 2].tolist() == [5.0, 5.0]


def test_a_tap_comes_out_turning_backwards_and_a_boring_bar_standing() -> None:
    # NISTIR 6556, 3.5.16.5 and 3.5.16.7.
    text = "G0 X0 Y0 Z1 S100 M3\n{} X1 Y1 Z-1 R1\nX2\n"
    assert path_of(text.format("G84")).spindle_rpm.tolist() == [100, 100, 100, -100, 100, 100, -100]
    assert path_of(text.format("G86 P0")).spindle_rpm.tolist() == [100, 100, 100, 0, 100, 100, 0]


def test_motions_of_a_cycle_carry_its_number_and_its_block() -> None:
    path = path_of("G0 X0 Y0 Z5\nG82 X1 Y1 Z-1 R1 P0 F7\nG80\nG0 X0\nG85 X1 Y1 Z-1 R1\n")
    assert path.cycle.tolist() == [0, 82, 82, 82, 82, 0, 85, 85, 85, 85]
    assert path.line.tolist() == [1, 2, 2, 2, 2, 4, 5, 5, 5, 5]
    np.testing.assert_array_equal(path.feed_mm_per_min[:5], [math.nan, math.nan, math.nan, 7, math.nan])


def test_r_depth_and_dwell_hold_for_the_run_and_repeats_do_not() -> None:
    # NISTIR 6556, 3.5.16; C.3 blocks n0060 and n0070 need P to hold.
    start = "G99 G0 X0 Y0 Z0.2\n"
    whole = path_of(start + "G82 X1 Y1 R0.2 Z-1.1 P0.6 L2\nX2 R0.2 Z-1.1 P0.6\nY3 R0.2 Z-3 P0.6\nX4 R0.2 Z-3 P.6\n")
    short = path_of(start + "G82 X1 Y1 R0.2 Z-1.1 P0.6 L2\nX2\nY3 Z-3.0\nG82 X4\n")
    assert_same_path(whole, short)


def test_numbers_carried_over_are_read_in_the_distance_mode_then_in_force() -> None:
    # NISTIR 6556, C.3 blocks n0030 and n0040: -1.1 is a position, then an increment from the R level.
    path = path_of("G99 G0 X0 Y0 Z0.2\nG81 X3 Y4 R0.2 Z-1.1\nX1 Y0 R0 G91 L3\n")
    feeds = path.take(path.kind == Kind.LINE)
    assert feeds.end.round(9).tolist() == [[3, 4, -1.1], [4, 4, -0.9], [5, 4, -0.9], [6, 4, -0.9]]


@pytest.mark.parametrize("between", ["G80", "G0 X5", "G82 X5 Z-1 R1 P0", "G18"])
def test_a_run_ends_with_another_motion_and_with_another_plane(between: str) -> None:
    for lines in (1, 10):
        text = f"G0 X0 Y0 Z5\nG81 X1 Y1 Z-1 R1\n{between}\nG81 X2\n"
        with pytest.raises(ProgramError) as caught:
            path_of(text, lines=lines)
        assert (caught.value.location.line, caught.value.location.column) == (4, 1)


def test_blocks_without_axis_words_leave_the_run_alone() -> None:
    assert path_of("G0 X0 Y0 Z5\nG81 X1 Y1 Z-1 R1\nM8\nF5\nX2\n").line[-1] == 5


def test_cycles_in_the_other_planes_are_the_same_with_the_axes_renamed() -> None:
    # Each plane's pair of axes in its own order, NISTIR 6556, 4.3.6.1.
    renamed = {18: str.maketrans("XYZIJK", "ZXYKIJ"), 19: str.maketrans("XYZIJK", "YZXJKI")}
    blocks = (
        "G90 G0 X1 Y2 Z3\nM3 S9 F5\nG81 X4 Y5 Z-1 R.5\nX5 R1 G99\nG91 X1 Y-1 L3\nG82 G90 X1 Z-2 R0 P1 G98\n"
        "G83 X7 Y7 Z-3 R1 Q.7\nG84 X1 Z-1 R1\nG85 Y0 Z-1 R1\nG86 Y0 Z-1 R1 P0\n"
        "G87 X1 Y2 Z-1 R1 I.5 J-.25 K-.5\nG91 X1\nG88 G90 X0 Z-1 R2 P0\nG89 X1 Z-1 R1 P0\nG80\nG0 X0 Y0 Z9\n"
    )
    plain = path_of(f"G17\n{blocks}")
    for plane, names in renamed.items():
        turned = path_of(f"G{plane}\n" + blocks.translate(names))
        columns = ["XYZ".index(axis.translate(names)) for axis in "XYZ"]
        np.testing.assert_array_equal(plain.end, turned.end[:, columns])
        np.testing.assert_array_equal(plain.start, turned.start[:, columns])
        np.testing.assert_array_equal(plain.kind, turned.kind)
        assert {{18: 1, 19: 0}[plane]} == set(turned.normal.tolist())


def test_chunks_of_any_size_give_the_same_cycles() -> None:
    text = (
        "G21 G90 G0 X0 Y0 Z5 M3\nG81 X1 Y1 Z-1 R1\nX2\nG91 X1 L3\nG99 Y1\nG90 G98 G83 X1 Y2 Z-3 R1 Q.5\nX4\nG20 X1\n"
        "G88 X1 Z-1 R.5 P0\nY2\nG80\nG0 X0 Y0\nG2 X1 Y1 R1\nG87 X9 Y10 R.2 Z-1.1 I.231 J-0 K-3\nX1\nM2\n"
    )
    for lines in (1, 2, 3, 5):
        assert_same_path(path_of(text), path_of(text, lines=lines))
        assert str(state_after(text)) == str(state_after(text, lines=lines))


def test_moves_beside_cycles_are_the_moves_without_them() -> None:
    # Two ways through the code: a chunk with a cycle is walked block by block, one without is not.
    moves = "G0 X1 Y2 Z3\nG1 X.1 F10\nG91 X.2\nY.3 Z-.1\nG20 X1\nG2 X.5 I.25\nG3 X.1 Y.1 R.2\nG90 G21 G0 X3 Z5\nY1.5\n"
    walked = path_of(moves + "G81 X1 Y1 Z-1 R1\n")
    assert_same_path(path_of(moves), walked.take(slice(0, 9)))


def test_an_unknown_height_counts_as_zero_and_is_recorded() -> None:
    text = "G98 G81 X1 Y1 Z-2 R-1\n"
    assert path_of(text).end[:, 2].tolist() == [0, -1, -2, 0]
    assert state_after(text).assumed_zero == (False, False, True)


def test_lengths_are_inches_where_the_program_says_so_and_seconds_stay_seconds() -> None:
    path = path_of("G20 G0 X0 Y0 Z1\nG83 X1 Y0 Z-1 R0 Q.5 L1\n")
    assert path.end[path.kind == Kind.LINE].tolist() == [[25.4, 0, -12.7], [25.4, 0, -25.4]]
    assert path.end[[1, 2, 4, -1], 2].tolist() == [25.4, 0, 25.4, 25.4]


@pytest.mark.parametrize(
    ("block", "column"),
    [
        ("G81 X1 Y1 R0.2", 1),
        ("G81 X1 Y1 Z-1", 1),
        ("G81 X1 Y1 Z0.5 R0.2", 16),
        ("G81 X1 Z-1 R1 L0", 15),
        ("G81 X1 Z-1 R1 L-1", 15),
        ("G81 X1 Z-1 R1 L1.5", 15),
        ("G81 X1 Z-1 R1 L999999", 15),
        ("G81 R1", 5),
        ("G82 X1 Z-1 R1", 1),
        ("G82 X1 Z-1 R1 P-1", 15),
        ("G83 X1 Z-1 R1", 1),
        ("G83 X1 Z-1 R1 Q0", 15),
        ("G83 X1 Z-1 R1 Q-1", 15),
        ("G83 X1 Z-100 R1 Q.0001", 17),
        ("G84 M5 X1 Z-1 R1", 1),
        ("G84 M4 X1 Z-1 R1", 1),
        ("G86 M5 X1 Z-1 R1 P1", 1),
        ("G87 X1 Z-1 R1 I1 J1", 1),
        ("G93 G81 X1 Z-1 R1 F1", 5),
    ],
)
def test_a_cycle_that_makes_no_hole_is_an_error_at_its_word(block: str, column: int) -> None:
    # NISTIR 6556, 3.5.16.
    assert (2, column) == place_of(f"G21 G90 G17 G0 X0 Y0 Z5 M3 S100\n{block}\n")


def test_an_error_in_a_number_carried_over_points_at_the_block_that_uses_it() -> None:
    assert place_of("G0 X0 Y0 Z5\nG81 X1 Y1 Z-1 R1\nX2 Z2\n") == (3, 4)
    assert place_of("G0 X0 Y0 Z5\nG91 G81 X1 Y1 Z-1 R-3\nG90 X2\nX3\n".replace("Z-1 R-3", "Z-3 R-4")) == (3, 5)


def test_pecks_in_inches_end_at_the_bottom_without_a_last_one_of_nothing() -> None:
    # 0.069 * 25.4 is a little more than three times 0.023 * 25.4 in floating point.
    path = path_of("G20 G90 F9\nG0 X0 Y0 Z0\nG83 X1 Y1 Z-0.069 R0 Q0.023\nM2\n")
    assert np.count_nonzero(path.is_cut) == 3


def test_the_level_in_one_unit_is_the_same_as_in_the_other() -> None:
    # A ten-billionth of a millimetre is no way down.
    path = path_of("G20 G90 F9\nG0 X0 Y0 Z0.01968503937\nG21 G81 X1 Y1 Z-2 R0.5\nM2\n")
    assert path.kind[1:].tolist() == [Kind.RAPID, Kind.LINE, Kind.RAPID]
