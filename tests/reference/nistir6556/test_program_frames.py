"""Labels, machine positions, probing and origins: NISTIR 6556 sections 3.5.5, 3.5.8, 3.5.9, 3.5.12, 3.5.18, B.5.

Positions of a Path are the numbers in force before any G92, so that a label moves nothing. Home positions, origins and
probe trips are not in a program: after them a coordinate is not known until it is named.
"""

import numpy as np
import pytest

import flipreg
from flipreg.path import Kind
from tests.motions import motions, on_line
from tests.reference.nistir6556.strictly import error_by_the_report

HEAD = "G21 G17 G90 G94 F100\n"
NAN = np.nan


def ends(text: str) -> list[list[float]]:
    found: list[list[float]] = motions(HEAD + text).end.tolist()
    return found


def refusal(text: str, *, is_habit: bool = False) -> flipreg.ProgramError:
    return error_by_the_report(HEAD + text, is_habit=is_habit)


def test_an_axis_offset_moves_nothing_and_changes_the_numbers_after_it() -> None:
    # O1, O2 and O8: at X4 the point is called 7, then 9; the place of X4 stays 4.
    assert [end[0] for end in ends("G0 X4 Y0 Z0\nG92 X7\nX7\nX8\nG92 X9\nX8\nX9\n")] == [4, 4, 5, 4, 5]
    text = "G0 X4 Y0 Z0\nG92 X7\nG92 X9\nG0 X9\n"
    assert motions(HEAD + text).end[-1].tolist() == [4, 0, 0]


def test_axis_offsets_take_no_notice_of_the_distance_mode() -> None:
    # 3.5.18: "independent of G90/G91"; the increment after the label starts at the point itself.
    assert ends("G0 X4 Y0 Z0\nG91 G92 X7\nX1\nG90 X7\n") == [[4, 0, 0], [5, 0, 0], [4, 0, 0]]


def test_cancelling_axis_offsets_brings_the_old_numbers_back() -> None:
    # O5: G92.2 zeroes the offset and G92.3 brings it back; O6: G92.1 forgets it.
    assert [
        end[0] for end in ends("G0 X4 Y0 Z0\nG92 X7\nX7\nG92.2\nX9\nG92.3\nX10\nG92.1\nX4\n")
    ] == [4, 4, 9, 7, 4]
    assert [end[0] for end in ends("G0 X4 Y0 Z0\nG92 X7\nG92.1\nG92.3\nX3\n")] == [4, 3]


def test_units_and_planes_of_an_axis_offset_are_those_of_its_block() -> None:
    assert [end[0] for end in ends("G0 X25.4 Y0 Z0\nG20 G92 X0\nX1\n")] == [25.4, 50.8]
    arc = motions(HEAD + "G0 X10 Y0 Z0\nG92 X110 Y100\nG3 X100 Y110 I-10 J0\n")
    np.testing.assert_allclose(arc.centre[-1], [0, 0, 0], atol=1e-9)
    np.testing.assert_allclose(arc.end[-1], [0, 10, 0], atol=1e-9)
    positions = motions(HEAD + "G90.1 G0 X10 Y0 Z0\nG92 X110 Y100\nG3 X100 Y110 I100 J100\n")
    np.testing.assert_allclose(positions.centre[-1], [0, 0, 0], atol=1e-9)


def test_a_cycle_reads_its_levels_with_the_axis_offset_in_force() -> None:
    cycle = ends("G0 X0 Y0 Z5\nG92 Z25\nG99 G81 X1 Y1 R21 Z19\n")
    assert [end[2] for end in cycle] == [5, 5, 1, -1, 1]


def test_an_axis_offset_on_an_unknown_point_defines_the_frame() -> None:
    assert ends("G92 X0 Y0 Z10\nG0 X1\nG91 Z-1\n") == [[1, 0, 10], [1, 0, 9]]


def test_axis_offsets_cancelled_in_the_header_change_nothing() -> None:
    assert ends("G92.1\nG0 X1 Y2 Z3\n") == [[1, 2, 3]]
    assert ends("G0 X1 Y2 Z3\nG92.2\nX2\n") == [[1, 2, 3], [2, 2, 3]]


def test_what_an_axis_offset_stood_on_is_asked_for_where_it_matters() -> None:
    # The relation of the numbers before and after is not in the program.
    assert refusal("G92 X0\nG0 X1\nG92.2\nX2\n").location.line == 5
    assert ends("G92 X0 Y0 Z0\nG0 X1\nG92.2\nM2\n") == [[1, 0, 0]]
    assert refusal("G0 X1 Y1 Z1\nG28 X1\nG92 X3\n").location.line == 4
    assert refusal("G92.3\nG0 X1\n").location.line == 2


def test_the_way_home_goes_by_the_point_and_ends_where_the_machine_knows() -> None:
    path = motions(HEAD + "G0 X1 Y2 Z3\nG28 Z10\nX4\nG91 G30 X1\nG90 Y5\nG28\n")
    np.testing.assert_array_equal(
        path.end,
        [
            [1, 2, 3],
            [1, 2, 10],
            [1, 2, NAN],
            [4, 2, NAN],
            [5, 2, NAN],
            [NAN, 2, NAN],
            [NAN, 5, NAN],
            [NAN, NAN, NAN],
        ],
    )
    assert set(path.kind.tolist()) == {Kind.RAPID}
    assert path.line.tolist() == [2, 3, 3, 4, 5, 5, 6, 7]


def test_going_home_leaves_the_motion_code_in_force() -> None:
    assert on_line(motions(HEAD + "G1 X1 Y2 Z3\nG28 Z10\nX4\n"), 4).kind.tolist() == [Kind.LINE]


def test_a_machine_move_is_one_motion_to_a_place_that_is_not_known() -> None:
    path = motions(HEAD + "G0 X1 Y2 Z3\nG53 Z0\nX4\nG53 G1 X0\nX2 Z1\n")
    np.testing.assert_array_equal(path.end, [[1, 2, 3], [1, 2, NAN], [4, 2, NAN], [NAN, 2, NAN], [2, 2, 1]])
    np.testing.assert_array_equal(path.start[1:], path.end[:-1])
    assert path.kind.tolist() == [Kind.RAPID] * 3 + [Kind.LINE] * 2


@pytest.mark.parametrize(
    ("block", "column"),
    [("G53 G2 X1 I1", 1), ("G53", 1), ("G1 G53", 4), ("G80 G53 X1", 5), ("G91 G53 G0 X1", 5), ("G53 G0 X1 Y2 X3", 14)],
)
def test_a_machine_move_that_is_none_is_an_error(block: str, column: int) -> None:
    error = refusal(f"G0 X0 Y0 Z0\n{block}\n")
    assert (error.location.line, error.location.column) == (3, column)


def test_an_increment_from_a_machine_position_stays_unknown() -> None:
    np.testing.assert_array_equal(
        motions(HEAD + "G0 X1 Y2 Z3\nG53 Z0\nG91 Z-5\nG90 Z1\n").end[:, 2], [3, NAN, NAN, 1]
    )


def test_a_probe_goes_straight_and_leaves_what_it_moved_unknown() -> None:
    path = motions(HEAD + "G0 X1 Y2 Z3\nG38.2 Z-5 F20\nG0 Z1\n")
    assert path.kind.tolist() == [Kind.RAPID, Kind.LINE, Kind.RAPID]
    assert path.end.tolist() == [[1, 2, 3], [1, 2, -5], [1, 2, 1]]
    np.testing.assert_array_equal(path.start[2], [1, 2, NAN])
    assert path.feed_mm_per_min[1] == 20


def test_probing_is_a_motion_code_that_stays_in_force() -> None:
    assert motions(HEAD + "G0 X1 Y2 Z3\nG38.2 Z-5\nX9\n").line.tolist() == [2, 3, 4]


@pytest.mark.parametrize(
    "block",
    ["G38.2 Z2.8", "G20 G38.2 Z0.109", "G93 G38.2 Z-5 F2", "G38.2", "G38.2 A5", "G41 D1 G38.2 Z-5", "G38.2 G1 Z5"],
)
def test_a_probe_that_is_none_is_an_error(block: str) -> None:
    # 3.5.9: under 0.254 mm or 0.01 inch, inverse time, no axis, rotary; B.5 number 3.
    assert refusal(f"G0 X1 Y2 Z3\n{block}\n").location.line == 3


def test_a_probe_of_just_enough_is_none_too_short() -> None:
    assert len(motions(HEAD + "G0 X1 Y2 Z3\nG38.2 Z2.746\n")) == 2


@pytest.mark.parametrize("index", [5061, 5066, 5161, 5181, 5211, 5220, 5221, 5386])
def test_a_parameter_of_the_machine_is_refused_with_the_reason(index: int) -> None:
    error = refusal(f"G0 X#{index}\n")
    assert isinstance(error, flipreg.RefusedError)
    assert (error.location.line, error.location.column) == (2, 4)
    assert f"#{index}" in error.message


def test_an_origin_makes_the_point_unknown_where_it_is_in_force() -> None:
    # O3 and O4: no motion, but other numbers, which depend on what the origin was before.
    path = motions(HEAD + "G0 X1 Y2 Z3\nG10 L2 P2 X9\nX2\nG10 L2 P1 Y9\nX3\nM2\n")
    np.testing.assert_array_equal(path.end, [[1, 2, 3], [2, 2, 3], [3, NAN, 3]])
    assert refusal("G0 X1 Y2 Z3\nG10 L2 P1 X9\nX2\n").location.line == 4
    assert ends("G10 L2 P1 X9 Y9\nG0 X1 Y2 Z3\n") == [[1, 2, 3]]


def test_the_numbers_of_an_origin_may_be_expressions() -> None:
    # L7: G[2*5] L[1+1] is G10 L2.
    assert ends("#100=2 #1=1\nG[2*5] L[1+1] P#1 X3.5\nG10 L#100 P2 X1\nG0 X1 Y2 Z3\n") == [[1, 2, 3]]


@pytest.mark.parametrize(
    ("block", "column"),
    [
        ("G10 L2 P0 X1", 8),
        ("G10 L2 P10 X1", 8),
        ("G10 L2 P1.5 X1", 8),
        ("G10 L2 X1", 1),
        ("G10 P1 X1", 1),
        ("G10 L20 P1 X1", 1),
        ("G10 L2 P1 R2", 11),
        ("G92", 1),
        ("G92 X1 G1", 1),
        ("G28 G0 X1", 5),
        ("G92 G10 L2 P1 X1", 5),
        ("G1 X1 A10", 7),
        ("G0 B-90", 4),
    ],
)
def test_data_that_means_nothing_is_an_error_at_its_word(block: str, column: int) -> None:
    error = refusal(f"G0 X0 Y0 Z0\n{block}\n", is_habit=block == "G28 G0 X1")
    assert (error.location.line, error.location.column) == (3, column)


@pytest.mark.parametrize("block", ["G92 X1", "G92.1", "G92.2", "G28", "G30 Z1", "G53 G0 Z1", "G38.2 Z-5"])
def test_nothing_of_it_may_be_done_under_cutter_compensation(block: str) -> None:
    # B.5 numbers 1, 3, 6 and 7. By habit a program parks where nothing is cut after it before G40, as here.
    text = f"G0 X0 Y0 Z0\nG41 D1 G1 X1\n{block}\n"
    assert refusal(text, is_habit=block in ("G28", "G30 Z1", "G53 G0 Z1")).location.line == 4
    assert refusal(f"{text}X3 Y4\nG40\n").location.line == 4


@pytest.mark.parametrize("block", ["G80 G92 X1", "G53 G1 X1", "G4 P1 G1 X3", "G91 G28 Z0", "G92.1 X2"])
def test_what_may_stand_together_is_read(block: str) -> None:
    # 7.3: the legal ones of the list.
    assert len(motions(HEAD + f"G1 X0 Y0 Z0\n{block}\nM2\n")) >= 1


def test_another_work_offset_has_other_numbers() -> None:
    # 2.1.2.10: the numbers of the point change without motion; by how much is not in the program.
    path = motions(HEAD + "G54 G0 X1 Y2 Z3\nG55 X4\nY5 Z6\n")
    np.testing.assert_array_equal(path.start, [[NAN] * 3, [NAN] * 3, [4, NAN, NAN]])
    np.testing.assert_array_equal(path.end, [[1, 2, 3], [4, NAN, NAN], [4, 5, 6]])


def test_all_of_it_is_the_same_however_the_program_is_cut() -> None:
    from flipreg.rs274.read.scanner import scan_chunks
    from tests.rs274.reading import path_of_chunks

    text = HEAD + (
        "G92.1\nG0 X1 Y2 Z5\nG92 X0 Y0\nG1 X3\nG91 X1\nG90 G92.2\nX1\nG92.3\nX1\nG28 Z9\nX2\nG53 G0 Z0\nZ4\n"
        "G38.2 Z-3\nG0 Z4\nG81 X1 Y1 R1 Z-1\nG80\nG10 L2 P3 X1\nG56 G0 X1 Y1 Z1\nG55 Z2\nG91 Z1\nM2\n"
    )
    whole = motions(text)
    lines = [line.encode() for line in text.splitlines(keepends=True)]
    for size in (1, 2, 5):
        parts = [b"".join(lines[at : at + size]) for at in range(0, len(lines), size)]
        cut = path_of_chunks(blocks for blocks in scan_chunks(parts, "example.ngc"))
        for name in ("start", "end", "kind", "line"):
            np.testing.assert_array_equal(getattr(whole, name), getattr(cut, name))
