"""The simulator of the machine against what the report prints, and against plain physics."""

import pytest

from tests.machine.simulator import Unrunnable, run
from tests.machine.state import Point, Shop, Start, Trace

FLAT = Shop((0.0,) * 20, (6.0,) * 20, ((0.0, 0.0, 0.0),) * 9, -500.0)
LONG = Shop(tuple(10.0 * tool for tool in range(20)), (6.0,) * 20, ((-300.0, -200.0, -250.0),) * 9, -240.0)


def ends(text: str, at: Point = (0.0, 0.0, 0.0)) -> list[tuple[str, Point]]:
    return [(event.kind, rounded(event.way[-1])) for event in run(text, FLAT, Start(at)).events if event.moves]


def rounded(point: Point) -> Point:
    return round(point[0], 4), round(point[1], 4), round(point[2], 4)


def long_tool(text: str) -> Trace:
    return run(text, LONG, Start((-10.0, -10.0, -5.0)))


def test_the_reports_first_example_of_a_cycle() -> None:
    assert ends("G90 G81 G98 X4 Y5 Z1.5 R2.8", (1, 2, 3)) == [
        ("rapid", (4, 5, 3)),
        ("rapid", (4, 5, 2.8)),
        ("feed", (4, 5, 1.5)),
        ("rapid", (4, 5, 3)),
    ]


def test_the_reports_second_example_of_a_cycle() -> None:
    hole = [(5, 7), (9, 12), (13, 17)]
    assert ends("G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3", (1, 2, 3)) == [
        ("rapid", (1, 2, 4.8)),
        *(
            (kind, (x, y, z))
            for x, y in hole
            for kind, z in (("rapid", 4.8), ("feed", 4.2), ("rapid", 4.8))
        ),
    ]


def test_back_boring_as_in_the_reports_test_program() -> None:
    found = ends("G99 G87 X9 Y10 R0.2 Z-1.1 I0.231 J-0 K-3", (8, 9, 0.2))
    assert [point for _, point in found] == [
        (9, 10, 0.2),
        (9.231, 10, 0.2),
        (9.231, 10, -1.1),
        (9, 10, -1.1),
        (9, 10, -3),
        (9, 10, -1.1),
        (9.231, 10, -1.1),
        (9.231, 10, 0.2),
        (9, 10, 0.2),
    ]


def test_the_reports_pecks() -> None:
    found = ends("G99 G83 X0 Y0 R0.2 Z-1.1 Q0.21", (0, 0, 0.2))
    assert [p[2] for kind, p in found if kind == "feed"] == [-0.01, -0.22, -0.43, -0.64, -0.85, -1.06, -1.1]


@pytest.mark.parametrize(
    ("start", "block", "middle"),
    [
        ((0.0, 0.0, 0.0), "G18 G2 X10 Z0 I5 K0", (5, 0, -5)),
        ((0.0, 0.0, 0.0), "G18 G3 X10 Z0 I5 K0", (5, 0, 5)),
        ((10.0, 0.0, 0.0), "G17 G3 X-10 Y0 R10", (0, 10, 0)),
        ((0.0, 10.0, 0.0), "G19 G3 Y-10 Z0 R10", (0, 0, 10)),
    ],
)
def test_arcs_turn_as_the_report_says(start: Point, block: str, middle: Point) -> None:
    way = run(block, FLAT, Start(start)).events[0].way
    assert rounded(way[len(way) // 2]) == pytest.approx(middle, abs=1e-3)


def test_an_offset_table_that_has_an_edge_gives_the_reports_nominal_path() -> None:
    shop = Shop((0.0,) * 20, (1.0,) * 20, ((0.0, 0.0, 0.0),) * 9, -500.0)
    edge = "G1 X1 Y5 F1\nG41 G1 Y4\nG3 X2 Y3 I1\nG2 X3 Y2 J-1\nG1 Y-1\nG2 X2 Y-2 I-1\nG1 X-2\nG2 X-2.6 Y-0.2 J1"
    found = [rounded(event.way[-1])[:2] for event in run(edge, shop, Start((0, 0, 0))).events]
    assert found[2:] == [(2, 3.5), (3.5, 2), (3.5, -1), (2, -2.5), (-2, -2.5), (-2.9, 0.2)]


def test_a_length_offset_moves_nothing_and_changes_what_the_next_number_means() -> None:
    trace = long_tool("T3 M6\nG0 Z5\nG43 H3\nZ5\nG49\nZ5")
    assert [event.way[-1][2] for event in trace.events] == [-35.0, -275.0, -245.0, -275.0]


def test_a_machine_position_does_not_know_the_tool() -> None:
    trace = long_tool("G43 H3 T3 M6\nG53 G0 Z0\nG91 G28 Z-2\nG90 G30 Z0")
    assert [event.way[-1][2] for event in trace.events] == [-35, -30, -32, -30, -220 - 30 + 0, -35]


def test_axis_offsets_are_kept_and_brought_back() -> None:
    text = "G0 X4\nG92 X7\nG92 X9\nX9\nG92.2\nX4\nG92.3\nX9\nG92.1\nX4\nG92.3\nX4"
    assert {point[0] for _, point in ends(text)} == {4}


def test_an_end_resets_what_the_report_lists_and_keeps_the_length_offset() -> None:
    last = long_tool("G43 H2 G55 G18 G91 M49 G64 M3 M7 M8 T4 M6\nG92 X1\nM2").last
    assert (last.offset, last.plane, last.steps, last.overrides, last.spindle) == (1, "G17", False, True, "M5")
    assert (last.mist, last.flood, last.labels, last.length_offset, last.tool) == (False, False, (0, 0, 0), 20, 4)


def test_a_probe_stops_at_the_plate() -> None:
    assert long_tool("T2 M6 G43 H2\nG0 Z30\nG38.2 Z-30 F50").events[-1].way[-1][2] == -240


def test_lines_between_percents_are_read_and_a_deletable_one_left_out() -> None:
    text = "%\n/G0 X1\nX2 (X9) ; X8\nn5 g 0 x 3\nM30\n%\nX7\n"
    assert [p[0] for _, p in ends(text)] == [1, 2, 3]
    assert [e.line for e in run(text, FLAT, Start((0, 0, 0)), skip_deletable=True).events] == [3, 4, 5]


def test_what_a_machine_stops_at_is_said() -> None:
    with pytest.raises(Unrunnable, match="line 2: a cycle begins without"):
        run("G0 X1\nG81 X1 Z-1", FLAT, Start((0, 0, 0)))
