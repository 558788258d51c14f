import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flipreg.path import Compensation, Kind, Path
from flipreg.rs274.interpret.interpret import interpret_blocks
from flipreg.rs274.interpret.state import State
from flipreg.rs274.read.location import ProgramError, RefusedError
from tests.rs274.reading import assert_same_path, chunks_of, modes_of, path_of, state_after
from tests.rs274.slowly import Motion, programs

NAN = math.nan


def error_of(text: str) -> ProgramError:
    with pytest.raises(ProgramError) as caught:
        path_of(text)
    return caught.value


def place_of(text: str) -> tuple[int, int]:
    location = error_of(text).location
    return location.line, location.column


@given(programs())
def test_columns_agree_with_an_interpreter_that_takes_one_block_at_a_time(case: tuple[str, list[Motion]]) -> None:
    text, expected = case
    path = path_of(text)
    assert [motion.line for motion in expected] == path.line.tolist()
    assert [motion.kind for motion in expected] == path.kind.tolist()
    assert [motion.normal for motion in expected] == path.normal.tolist()
    for name, column in (
        ("start", path.start),
        ("end", path.end),
        ("centre", path.centre),
        ("sweep", path.sweep_deg),
        ("feed", path.feed_mm_per_min),
    ):
        wanted = np.array([getattr(motion, name) for motion in expected]).reshape(column.shape)
        tolerance = 1e-6 if name in ("centre", "sweep") else 1e-9
        np.testing.assert_allclose(column, wanted, rtol=0, atol=tolerance, err_msg=name)


@settings(max_examples=20, deadline=None)
@given(programs(), st.integers(1, 9))
def test_chunks_of_any_size_give_the_same_path(case: tuple[str, list[Motion]], lines: int) -> None:
    text, _ = case
    assert_same_path(path_of(text), path_of(text, lines=lines))
    # As text, because an unknown coordinate is NaN and equals nothing.
    assert str(state_after(text)) == str(state_after(text, lines=lines))


def test_all_that_holds_from_block_to_block_holds_from_chunk_to_chunk() -> None:
    text = (
        "G0 X0 Y0 Z0\nS100\nM3\nF50\nT7\nM6\nG1 X1\nM4\nY1\nG55\nX2 Y0 Z0\nG41 D1\nX3\nG40\nG20\nX1\nG91\nX1\nG90.1\n"
        "G90\nY1\nG2 X1 Y1 I1.5 J1\nG18\nG91.1\nG2 X2 Z0 I.5\nG93\nG1 X5 F4\nG94\nX6\nG99\n#1=8\nG0 X#1\n"
        "G80\nG0 Z9\nM30\nX4\n"
    )
    for lines in (1, 2, 3, 7):
        assert_same_path(path_of(text), path_of(text, lines=lines))
        assert str(state_after(text)) == str(state_after(text, lines=lines))


def test_words_that_name_no_axis_make_no_motion() -> None:
    assert path_of("G21 G90 G17 F100\nG1 X1\nM3 S100\nF200\nG4 P1\nM8\n").line.tolist() == [2]


def test_a_block_that_moves_nowhere_is_a_motion() -> None:
    path = path_of("G0 X1 Y2 Z3\nX1\nG1 X1 Y2 Z3\n")
    assert path.line.tolist() == [1, 2, 3]
    assert path.end.tolist() == [[1, 2, 3]] * 3


def test_coordinates_are_unknown_until_they_are_named() -> None:
    path = path_of("G90 G0 Z5\nX1\nG1 Y2\n")
    np.testing.assert_array_equal(path.start, [[NAN, NAN, NAN], [NAN, NAN, 5], [1, NAN, 5]])
    np.testing.assert_array_equal(path.end, [[NAN, NAN, 5], [1, NAN, 5], [1, 2, 5]])


def test_an_increment_from_an_unknown_coordinate_starts_at_program_zero_and_is_recorded() -> None:
    text = "G91 G0 X1.5\nX1\nG90 Y3\nG91 Y1\n"
    np.testing.assert_array_equal(path_of(text).end[:, 0], [1.5, 2.5, 2.5, 2.5])
    assert state_after(text).assumed_zero == (True, False, False)
    assert state_after(text, lines=1).assumed_zero == (True, False, False)


def test_a_hundred_thousand_increments_do_not_drift() -> None:
    text = "G90 G1 X0 Y0 Z0 F1\nG91\n" + "X0.1 Y-0.001\n" * 100_000
    assert path_of(text).end[-1].tolist() == [10_000.0, -100.0, 0.0]


def test_increments_from_a_written_coordinate_are_the_number_a_person_would_write() -> None:
    assert path_of("G90 G1 X10.1 F1\nG91 X.2\n").end[1, 0] == 10.3


def test_increments_too_large_for_the_grid_still_add_up() -> None:
    text = "G90 G0 X5000000000\nG91 X5000000000\nX0.5\nG90 X1\nG91 X1\n"
    assert path_of(text).end[:, 0].tolist() == [5e9, 1e10, 1e10 + 0.5, 1, 2]


def test_inches_are_converted_and_the_position_stays_where_it_is() -> None:
    # NISTIR 6556, 3.8: G20 takes effect before the motion in its block; 2.1.2.10: the point does not move.
    path = path_of("G21 G0 X10 Y10\nG20 X1\nG1 Y1 F10\nG21 Y20\n")
    assert path.end[:, :2].tolist() == [[10, 10], [25.4, 10], [25.4, 25.4], [25.4, 20]]
    np.testing.assert_allclose(path.feed_mm_per_min, [NAN, NAN, 254, 254])


def test_motion_and_technology_follow_the_order_of_execution_not_of_writing() -> None:
    # NISTIR 6556, table 8: speed, tool, spindle, plane, units, distance mode, then the motion.
    path = path_of("G0 X0 Y0 Z0\nX1 G91 G1 F100 M3 S500 M6 T4 G20\nX1 M5\n")
    assert path.end[:, 0].tolist() == [0, 25.4, 50.8]
    assert path.spindle_rpm.tolist() == [0, 500, 0]
    assert path.tool.tolist() == [-1, 4, 4]


def test_the_spindle_is_positive_clockwise_and_negative_the_other_way() -> None:
    path = path_of("G0 X0 S100\nX1 M3\nX2 M4\nS200\nX3\nX4 M5\nX5 M4 S0\n")
    assert path.spindle_rpm.tolist() == [0, 100, -100, -200, 0, 0]
    assert not np.signbit(path.spindle_rpm[-1])


def test_a_tool_change_stops_the_spindle() -> None:
    # NISTIR 6556, 3.6.3.
    assert path_of("M3 S100 G0 X0\nT2 M6\nX1\nT3\nM3 M6\nX2\n").spindle_rpm.tolist() == [100, 0, 100]


def test_a_tool_counts_from_the_change_that_puts_it_into_the_spindle() -> None:
    text = "G0 X0\nT1\nX1\nM6\nX2\nT2\nX3\nT3 M6\nX4\n"
    assert path_of(text).tool.tolist() == [-1, -1, 1, 1, 3]
    assert (state_after(text, lines=1).tool_selected, state_after(text, lines=1).tool) == (3, 3)


def test_traverses_have_no_feed_and_feeds_keep_the_last_one() -> None:
    np.testing.assert_array_equal(path_of("G1 X1\nF100\nX2\nG0 X3\nG1 X4\n").feed_mm_per_min, [NAN, 100, NAN, 100])


def test_inverse_time_is_feed_along_the_path() -> None:
    # NISTIR 6556, 3.5.19: a move lasts 1/F minutes; 2.1.2.6: a helix is fed along the helix.
    path = path_of("F50 G0 X0 Y0 Z0\nG93\nG1 X3 Y4 F2\nG0 X10 Y0\nG17 G3 X0 Y10 Z5 I-10 F4\nG94 G1 X1\n")
    quarter = math.hypot(5 * math.pi, 5)
    np.testing.assert_allclose(path.feed_mm_per_min, [NAN, 10, NAN, 4 * quarter, 50])


def test_an_inverse_time_feed_without_f_is_an_error() -> None:
    assert place_of("G1 X0 Y0 F1\nG93\nG1 X1\n") == (3, 1)
    assert place_of("G1 X0 Y0 F1\nG93 X1 F2\nX2\n") == (3, 1)


def test_compensation_keeps_programmed_positions_and_marks_the_side() -> None:
    # NISTIR 6556, B.2.3: on and off count for the motion of their own block.
    path = path_of("G1 X0 Y0 F1\nG41 D1 X1\nY1\nG40 X2\nG42 X3\nG40\nX4\n")
    left, right, off = Compensation.LEFT, Compensation.RIGHT, Compensation.OFF
    assert [off, left, left, off, right, off] == path.compensation.tolist()
    assert path.end[:, 0].tolist() == [0, 1, 1, 2, 3, 4]


@pytest.mark.parametrize(
    ("blocks", "column"),
    [
        ("G41 X1\nG41 X2", 1),
        ("G41 X1\nG42 X2", 1),
        ("G41 X1\nG18 X2", 1),
        ("G41 X1\nG20 X2", 1),
        ("G41 X1\nG40 G20 X2", 5),
        ("G41 X1\nG55 X2", 1),
        ("G40\nG18 G41 X1", 5),
        ("G41 X1\nG81 X1 Z-1 R1", 1),
        ("G40\nX1 D1", 4),
        ("G40\nG41 X1 D-1", 8),
        ("G40\nG41 X1 D1.5", 8),
    ],
)
def test_what_compensation_forbids_is_an_error_at_its_word(blocks: str, column: int) -> None:
    # NISTIR 6556, B.5.
    assert (3, column) == place_of(f"G21 G17 G54 G1 X0 Y0 Z5 F1\n{blocks}\n")


def test_repeating_a_mode_while_compensation_is_on_changes_nothing() -> None:
    assert len(path_of("G1 X0 Y0 F1\nG41 X1 G21 G17 G54\n")) == 2


def test_work_offsets_are_numbered() -> None:
    text = "G0 X0\nG55 X1\nG59 X2\nG59.1 X3\nX4\nG59.3 X5\nG54 X6\n"
    assert path_of(text).work_offset.tolist() == [1, 2, 6, 7, 7, 9, 1]


def test_nothing_after_the_end_is_executed() -> None:
    # NISTIR 6556, 3.6.1; the rest of the block that ends the program is executed.
    text = "G0 X1\nM2 X2\nX3\nG5 R7\nG1 X#7\n"
    assert path_of(text).end[:, 0].tolist() == [1, 2]
    assert path_of(text, lines=1).end[:, 0].tolist() == [1, 2]
    modes = modes_of(text)
    assert modes.executes.tolist() == [True, True, False, False, False]
    assert modes.values[[1, 3, 4, 5, 6]].tolist() == [1, 2, 3, 5, 7]


def test_the_end_resets_the_modes_that_the_report_names() -> None:
    state = state_after("G18 G20 G91 G93 G55 G99 M3 S5 G0 X1\nM30\n")
    assert (
        state.motion,
        state.normal,
        state.incremental,
        state.inverse_time,
        state.work_offset,
        state.turning,
        state.cutter,
    ) == (10, 2, False, False, 1, 0, 400)
    assert state.ended
    assert state.inch
    assert not state.initial_level


def test_expressions_in_the_block_that_ends_the_program_count() -> None:
    assert path_of("G0 X1\nM2 X[1+1]\nX[1+2]\n").end[:, 0].tolist() == [1, 2]


def test_an_end_that_is_written_as_an_expression_ends_the_program() -> None:
    text = "G0 X1\nM[1+1]\nX#9\n"
    assert path_of(text).line.tolist() == [1]


def test_parameters_are_read_before_they_are_set_in_a_block() -> None:
    # NISTIR 6556, 3.3.3: the example of the report.
    text = "#3=15\n#3=6 G1 X#3 F1\nX#3\n"
    for lines in (1, 2, 10):
        assert path_of(text, lines=lines).end[:, 0].tolist() == [15, 6]


def test_codes_and_axis_words_may_be_expressions() -> None:
    path = path_of("#1=2\nG[#1-1] X[#1*3] F#1\nG0 Y[2**3]\n")
    assert path.end[1:, :2].tolist() == [[6, 8]]
    assert path.kind.tolist() == [Kind.LINE, Kind.RAPID]
    assert path.feed_mm_per_min[0] == 2


def test_a_parameter_nobody_set_is_an_error_at_the_word() -> None:
    assert place_of("#1=3\nG0 X#2\n") == (2, 4)
    assert place_of("#1=#2\n") == (1, 1)


def test_parameters_that_hold_offsets_are_not_set() -> None:
    assert isinstance(error_of("#5221=10\n"), RefusedError)
    assert isinstance(error_of("G0 X1\n#[5220+1]=10\n"), RefusedError)


def test_block_delete_lines_are_executed() -> None:
    assert path_of("G0 X1\n/X2\n").end[:, 0].tolist() == [1, 2]


def test_modes_are_columns_of_blocks() -> None:
    modes = modes_of("X1 G1 F1\nG18\nG91 G20 G81 X1 Y-1 Z1 R1 G99\nG90.1\nG59.2 G80\n")
    assert modes.motion.tolist() == [10, 10, 810, 810, 800]
    assert modes.normal.tolist() == [2, 1, 1, 1, 1]
    assert modes.incremental.tolist() == [False, False, True, True, True]
    assert modes.inch.tolist() == [False, False, True, True, True]
    assert modes.initial_level.tolist() == [True, True, False, False, False]
    assert modes.absolute_centres.tolist() == [False, False, False, True, True]
    assert modes.work_offset.tolist() == [1, 1, 1, 1, 8]
    assert modes.cutter.tolist() == [400] * 5
    assert modes.inverse_time.tolist() == [False] * 5
    with pytest.raises(ValueError, match="read-only"):
        modes.motion[0] = 0


def test_the_state_says_whether_units_and_distance_mode_were_stated() -> None:
    silent, units, both = (state_after(f"{head} G0 X1\nX2\n", lines=1) for head in ("", "G21", "G20 G90"))
    assert (silent.units_stated, silent.distance_mode_stated) == (False, False)
    assert (units.units_stated, units.distance_mode_stated) == (True, False)
    assert (both.units_stated, both.distance_mode_stated) == (True, True)


def test_interpreting_a_chunk_leaves_the_state_before_it_alone() -> None:
    state = State()
    for blocks in chunks_of("#1=5 G20 G91 G0 X1\n"):
        interpret_blocks(blocks, state)
    assert str(State()) == str(state)


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("X1\n", (1, 1)),
        ("G80 X1\n", (1, 5)),
        ("G0 X1\nG80\nY1\n", (3, 1)),
        ("G0 X1 Y2 X3\n", (1, 10)),
        ("G0 X0 L3\n", (1, 7)),
        ("G0 X0 Q3\n", (1, 7)),
        ("G0 X0 P3\n", (1, 7)),
        ("G0 X0 H3\n", (1, 7)),
        ("G43 H-1\n", (1, 5)),
        ("G4\n", (1, 1)),
        ("G4 P-1\n", (1, 4)),
        ("S-1\n", (1, 1)),
        ("F-1\n", (1, 1)),
        ("T-1\n", (1, 1)),
        ("T1.5\n", (1, 1)),
        ("G28 G1 X1\n", (1, 1)),
        ("G92 X1 G1\n", (1, 1)),
        ("G81 F100\n", (1, 1)),
        ("G38.2 F1\n", (1, 1)),
        ("M3 R5\n", (1, 4)),
        ("G0 G80\nX1\n", (2, 1)),
        ("G4 X1 Y1\n", (1, 1)),
        ("G4 X-1\n", (1, 4)),
        ("G4 G64 P1\n", (1, 8)),
        ("G54 P2\n", (1, 5)),
        ("G0 X0 Y0\nG2 X1 I.5 P2\n", (2, 11)),
    ],
)
def test_what_means_nothing_is_an_error_at_its_word(text: str, place: tuple[int, int]) -> None:
    error = error_of(text)
    assert place == (error.location.line, error.location.column)
    assert not isinstance(error, RefusedError)


@pytest.mark.parametrize(
    ("block", "column"),
    [
        ("G92.3", 1),
        ("G0 X1 A90", 7),
        ("G91 G53 G0 X1", 5),
        ("M98 P7", 1),
    ],
)
def test_what_is_understood_but_not_interpreted_is_refused_at_its_word(block: str, column: int) -> None:
    error = error_of(f"G0 X0 Y0 Z0\n{block}\n")
    assert isinstance(error, RefusedError)
    assert (2, column) == (error.location.line, error.location.column)
    assert len(error.message) > 30


def test_a_rotary_word_that_turns_nothing_is_read() -> None:
    assert path_of("G0 X1 Y2 A0\n").end[:, :2].tolist() == [[1, 2]]


def test_the_same_word_twice_with_one_value_counts_once() -> None:
    assert path_of("G0 X1 X1\nG91 X2 X2.0\n").end[:, 0].tolist() == [1, 3]


def test_the_first_of_several_errors_is_the_one_reported() -> None:
    # Rules are checked one after the other for the whole chunk; the person reads from the top.
    faults = ["G0 X0 Y0 Q1", "G5", "G2 X1", "S-1", "G81 X1", "G92.3", "G10 X1", "X1 X2", "G0 G1", "G81"]
    good = "G0 X1 Y1 Z1\nG80\n"
    for first in faults:
        for second in faults:
            assert place_of(f"{good}{first}\n{good}{second}\n")[0] == 3


def test_an_error_says_the_line_of_the_file_in_later_chunks_too() -> None:
    with pytest.raises(ProgramError) as caught:
        path_of("G0 X1\nX2\nX3\nX4 Q1\nX5\n", lines=3)
    assert (caught.value.location.line, caught.value.location.column) == (4, 4)


def test_a_path_owns_the_right_types() -> None:
    path = path_of("G0 X1 Y1 Z1\nG1 X2 F1\nG2 X3 I.5\nM3 S5 T1 M6\nG41 X4 G1\n")
    for name, column in (("kind", np.uint8), ("tool", np.int32), ("compensation", np.int8), ("line", np.int64)):
        assert column == getattr(path, name).dtype
    assert isinstance(path, Path)
