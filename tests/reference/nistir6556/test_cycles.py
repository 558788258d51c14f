"""Canned cycles C1 to C6 of the reference: NISTIR 6556 section 3.5.16 and Table 10.

R: moves are printed in the report. RI, D: computed from its rules.
"""

import numpy as np
import pytest

import flipreg
from flipreg.path import Kind, Path
from tests.motions import motions, on_line

RAPID, FEED = int(Kind.RAPID), int(Kind.LINE)

Move = tuple[int, float, float, float]


def moves(path: Path) -> list[Move]:
    """Return kind and end of every motion that goes somewhere."""
    going = path.take(np.any(path.start != path.end, axis=1))
    ends = np.round(going.end, 6) + 0.0
    return [(int(kind), float(x), float(y), float(z)) for kind, (x, y, z) in zip(going.kind, ends, strict=True)]


def test_example_1_of_the_report_makes_the_moves_it_lists() -> None:
    # C1 R: section 3.5.16.2. The report's sentence calls the clear level Z 2.8; its move list, and the rule
    # for G98, say 3.
    path = motions("G21 G17 G90 F100\nG0 X1 Y2 Z3\nG90 G81 G98 X4 Y5 Z1.5 R2.8\nM2\n")
    expected: list[Move] = [(RAPID, 4, 5, 3), (RAPID, 4, 5, 2.8), (FEED, 4, 5, 1.5), (RAPID, 4, 5, 3)]
    assert expected == moves(on_line(path, 3))


def test_example_1_with_g99_ends_at_the_r_level() -> None:
    # C1 D.
    path = motions("G21 G17 G90 F100\nG0 X1 Y2 Z3\nG90 G81 G99 X4 Y5 Z1.5 R2.8\nM2\n")
    expected: list[Move] = [(RAPID, 4, 5, 3), (RAPID, 4, 5, 2.8), (FEED, 4, 5, 1.5), (RAPID, 4, 5, 2.8)]
    assert expected == moves(on_line(path, 3))


def test_example_2_of_the_report_makes_the_moves_it_lists() -> None:
    # C2 R: section 3.5.16.2.
    path = motions("G21 G17 G90 F100\nG0 X1 Y2 Z3\nG91 G81 G98 X4 Y5 Z-0.6 R1.8 L3\nM2\n")
    expected: list[Move] = [(RAPID, 1, 2, 4.8)]
    for x, y in ((5, 7), (9, 12), (13, 17)):
        expected += [(RAPID, x, y, 4.8), (FEED, x, y, 4.2), (RAPID, x, y, 4.8)]
    assert expected == moves(on_line(path, 3))


@pytest.mark.parametrize("level", ["G98", "G99"])
def test_the_session_of_table_10_drills_two_holes_as_printed(level: str) -> None:
    # C3 R: Table 10. The return level is unstated there, and irrelevant.
    path = motions(f"G21 G17 {level} F20\nG0 X30 Y1 Z-0.5\ng91 g81 x3 y2 z-0.8 r1.5 l2\nM2\n")
    expected: list[Move] = [(RAPID, 30, 1, 1)]
    for x, y in ((33, 3), (36, 5)):
        expected += [(RAPID, x, y, 1), (FEED, x, y, 0.2), (RAPID, x, y, 1)]
    assert expected == moves(on_line(path, 3))


def test_tapping_feeds_in_and_out_and_turns_the_other_way_on_the_way_out() -> None:
    # C4 R: section 3.5.16.5; 2 threads per mm at F150 need S300. The spindle stops at the bottom and starts
    # counter-clockwise before the feed out.
    path = motions("G21 G17 G90 G99 F150 S300 M3\nG0 X0 Y0 Z3\nG84 X1 Y1 Z-2 R1\nG1 X5\nM2\n")
    tap = on_line(path, 3)
    assert moves(tap) == [(RAPID, 1, 1, 3), (RAPID, 1, 1, 1), (FEED, 1, 1, -2), (FEED, 1, 1, 1)]
    fed = tap.take(tap.is_cut)
    assert fed.feed_mm_per_min.tolist() == [150, 150]
    assert fed.spindle_rpm.tolist() == [300, -300]
    # "stop spindle; start clockwise": the next line turns as before.
    assert on_line(path, 4).spindle_rpm.tolist() == [300]


def test_peck_drilling_feeds_to_the_computed_depths() -> None:
    # C5 RI: line n0090 of program C.3. The back-off distance is not specified, so only its place is tested.
    path = motions("G21 G17 G90 G99 F100\nG0 X0 Y0 Z0.2\ng83 x5 y6 r0.2 z-1.1 q0.21\nM2\n")
    peck = on_line(path, 3)
    feeds = peck.take(peck.is_cut)
    depths = [-0.01, -0.22, -0.43, -0.64, -0.85, -1.06, -1.1]
    assert feeds.end[:, 2].tolist() == pytest.approx(depths, abs=1e-9)
    assert feeds.start[0, 2] == pytest.approx(0.2)
    up = peck.take(~peck.is_cut & (peck.end[:, 2] > peck.start[:, 2]))
    assert up.end[:, 2].tolist() == pytest.approx([0.2] * 7)
    assert set(map(tuple, feeds.end[:, :2].tolist())) == {(5.0, 6.0)}


def test_back_boring_makes_the_computed_moves() -> None:
    # C6 RI: line n0130 of program C.3 with G99, so that clear is 0.2. K lies below Z; no rule is against it.
    path = motions("G21 G17 G90 G99 F100 S100 M3\nG0 X8 Y9 Z0.2\ng87 x9 y10 r0.2 z-1.1 i0.231 j-0 k-3\nM2\n")
    expected: list[Move] = [
        (RAPID, 9, 10, 0.2),
        (RAPID, 9.231, 10, 0.2),
        (RAPID, 9.231, 10, -1.1),
        (RAPID, 9, 10, -1.1),
        (FEED, 9, 10, -3),
        (FEED, 9, 10, -1.1),
        (RAPID, 9.231, 10, -1.1),
        (RAPID, 9.231, 10, 0.2),
        (RAPID, 9, 10, 0.2),
    ]
    assert expected == moves(on_line(path, 3))


def test_back_boring_stands_still_on_the_way_in_and_turns_where_it_cuts() -> None:
    # C6: orient-stop before the bottom is reached and before the way out; started in between.
    path = motions("G21 G17 G90 G99 F100 S100 M3\nG0 X8 Y9 Z0.2\ng87 x9 y10 r0.2 z-1.1 i0.231 j-0 k-3\nM2\n")
    bore = on_line(path, 3)
    assert bore.spindle_rpm[2:8].tolist() == [0, 0, 100, 100, 0, 0]


@pytest.mark.parametrize(
    ("cycle", "way_out"),
    [
        ("G81 X1 Y1 Z-2 R1", RAPID),
        ("G82 X1 Y1 Z-2 R1 P0.5", RAPID),
        ("G85 X1 Y1 Z-2 R1", FEED),
        ("G86 X1 Y1 Z-2 R1 P0.5", RAPID),
        ("G89 X1 Y1 Z-2 R1 P0.5", FEED),
    ],
)
def test_a_cycle_leaves_the_hole_as_its_section_says(cycle: str, way_out: int) -> None:
    # D, from sections 3.5.16.2 to 3.5.16.10.
    path = motions(f"G21 G17 G90 G98 F100 S100 M3\nG0 X0 Y0 Z3\n{cycle}\nM2\n")
    expected: list[Move] = [(RAPID, 1, 1, 3), (RAPID, 1, 1, 1), (FEED, 1, 1, -2), (way_out, 1, 1, 3)]
    assert expected == moves(on_line(path, 3))


def test_boring_with_a_stop_leaves_the_hole_with_the_spindle_still() -> None:
    # D, from section 3.5.16.7: feed, dwell, stop the spindle, traverse out, restart in the old direction.
    path = motions("G21 G17 G90 G98 F100 S100 M4\nG0 X0 Y0 Z3\nG86 X1 Y1 Z-2 R1 P0.5\nG1 X5\nM2\n")
    bore = on_line(path, 3)
    assert bore.spindle_rpm[bore.is_cut].tolist() == [-100]
    assert bore.spindle_rpm[-1] == 0
    assert on_line(path, 4).spindle_rpm.tolist() == [-100]


def test_the_motions_of_a_cycle_name_it() -> None:
    path = motions("G21 G17 G90 G98 F100\nG0 X0 Y0 Z3\nG81 X1 Y1 Z-2 R1\nG80\nG1 X5\nM2\n")
    assert {2: {0}, 3: {81}, 5: {0}} == {line: set(on_line(path, line).cycle.tolist()) for line in (2, 3, 5)}


def test_the_depth_and_the_r_level_stay_for_the_next_hole_and_the_repeat_count_does_not() -> None:
    # D, from section 3.5.16: R and the depth are sticky, L is not.
    path = motions("G21 G17 G90 G99 F100\nG0 X0 Y0 Z3\nG81 X1 Y1 Z-2 R1 L2\nX4\nM2\n")
    once = [(RAPID, 4, 1, 1), (FEED, 4, 1, -2), (RAPID, 4, 1, 1)]
    assert once == moves(on_line(path, 4))


def test_repeats_in_absolute_mode_drill_in_place() -> None:
    # D, from section 3.5.16: with G90, L > 1 repeats at the same position.
    path = motions("G21 G17 G90 G99 F100\nG0 X0 Y0 Z3\nG81 X1 Y1 Z-2 R1 L3\nM2\n")
    hole = on_line(path, 3)
    assert hole.end[hole.is_cut].tolist() == [[1, 1, -2]] * 3


@pytest.mark.parametrize(
    ("plane", "words", "expected"),
    [
        (
            "G18",
            "Z1 X2 Y-2 R1",
            [(RAPID, 2, 3, 1), (RAPID, 2, 1, 1), (FEED, 2, -2, 1), (RAPID, 2, 3, 1)],
        ),
        (
            "G19",
            "Y1 Z2 X-2 R1",
            [(RAPID, 3, 1, 2), (RAPID, 1, 1, 2), (FEED, -2, 1, 2), (RAPID, 3, 1, 2)],
        ),
    ],
)
def test_the_depth_axis_is_the_one_normal_to_the_plane(plane: str, words: str, expected: list[Move]) -> None:
    path = motions(f"G21 {plane} G90 G98 F100\nG0 X3 Y3 Z3\nG81 {words}\nM2\n")
    assert expected == moves(on_line(path, 3))


@pytest.mark.parametrize(
    "block",
    [
        "G81 X1 Y1 R0.2",
        "G81 X1 Y1 Z0.5 R0.2",
        "G81 X1 Y1 Z-1",
        "G81 Z-1 R0.2 L0",
        "G81 X1 Z-1 R0.2 L1.5",
        "G81 X1 Z-1 R0.2 L-1",
        "G83 X1 Z-1 R0.2 Q0",
        "G83 X1 Z-1 R0.2 Q-1",
        "G83 X1 Z-1 R0.2",
        "G82 X1 Z-1 R0.2 P-1",
        "G82 X1 Z-1 R0.2",
        "G81 R0.2",
        "G93 F2 G81 X1 Z-1 R0.2",
        "M5 G84 X1 Z-1 R0.2",
        "M4 G84 X1 Z-1 R0.2",
        "M5 G86 X1 Z-1 R0.2 P1",
        "G41 G81 X1 Z-1 R0.2",
        "G18 G81 X1 Y1 Z0.5 R0.2",
        "G19 G81 X0.5 Y1 Z-1 R0.2",
    ],
)
def test_a_cycle_that_breaks_a_rule_is_an_error_on_its_line(block: str) -> None:
    # The error list of section 3.5.16: depth word or R missing at first use, R below the bottom (in G18 along
    # Y, in G19 along X), L, Q or P out of range or missing, no axis word, G93 or compensation active,
    # spindle not as needed.
    with pytest.raises(flipreg.ProgramError) as caught:
        motions(f"G21 G17 G90 G98 F100 S100 M3 T1\nG0 X0 Y0 Z3\n{block}\nM2\n")
    assert caught.value.location.line == 3
