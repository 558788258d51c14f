"""Offsets: NISTIR 6556 appendix B (Tables 12 and 13), sections 3.5.10, 3.5.11, 3.5.13.

Positions in a Path are the programmed ones; the tool-centre paths of the reference (K1, K2) are reached here by
moving every motion to its left, so that Table 13 checks what was read of Table 12.
"""

import re

import numpy as np
import pytest
from numpy.typing import NDArray

from flipreg.path import Compensation, Path
from tests.motions import line_of, motions, on_line

TABLE_12 = """\
N0010 G1 X1 Y5
N0020 G41 G1 Y4
N0030 G3 X2 Y3 I1
N0040 G2 X3 Y2 J-1
N0050 G1 Y-1
N0060 G2 X2 Y-2 I-1
N0070 G1 X-2
N0080 G2 X-2.6 Y-0.2 J1
N0090 G1 X1.4 Y2.8
N0100 G2 X2 Y3 I0.6 J-0.8
N0110 G40
"""

TABLE_13 = """\
N0010 G1 X1.5 Y5
N0020 G41 G1 Y4
N0030 G3 X2 Y3.5 I0.5
N0040 G2 X3.5 Y2 J-1.5
N0050 G1 Y-1
N0060 G2 X2 Y-2.5 I-1.5
N0070 G1 X-2
N0080 G2 X-2.9 Y0.2 J1.5
N0090 G1 X1.1 Y3.2
N0100 G2 X2 Y3.5 I0.9 J-1.2
N0110 G40
"""

HEAD = "G21 G17 G90 F100 T1 M6\nG0 X0 Y6 Z0\n"

K1_ARCS = {
    "0030": ((2, 4), 1, 90),
    "0040": ((2, 2), 1, -90),
    "0060": ((2, -1), 1, -90),
    "0080": ((-2, -1), 1, -143.1301),
    "0100": ((2, 2), 1, -36.8699),
}
"""Centre, radius and sweep of Table 12's programmed arcs (RI)."""

Floats = NDArray[np.float64]


def program(table: str) -> str:
    """Return a table's fragment with a start and an end."""
    return f"{HEAD}{table}M2\n"


def moved_left(path: Path, row: int, distance_mm: float) -> Floats:
    """Return the end of a motion moved to the left of its direction there, in XY."""
    if path.is_arc[row]:
        spoke = path.end[row, :2] - path.centre[row, :2]
        forward = np.sign(path.sweep_deg[row]) * np.array([-spoke[1], spoke[0]])
    else:
        forward = path.end[row, :2] - path.start[row, :2]
    left = np.array([-forward[1], forward[0]]) / np.hypot(*forward)
    result: Floats = path.end[row, :2] + distance_mm * left
    return result


@pytest.mark.parametrize("number", K1_ARCS)
def test_the_programmed_arcs_of_table_12_are_as_computed(number: str) -> None:
    text = program(TABLE_12)
    path = motions(text)
    centre, radius, sweep_deg = K1_ARCS[number]
    (row,) = np.flatnonzero(path.line == line_of(text, number))
    assert path.centre[row, :2].tolist() == pytest.approx(centre, abs=1e-9)
    assert np.hypot(*(path.end[row] - path.centre[row])[:2]) == pytest.approx(radius, abs=1e-9)
    assert path.sweep_deg[row] == pytest.approx(sweep_deg, abs=5e-5)


@pytest.mark.parametrize("number", re.findall(r"N(0\d\d0) G[123] ", TABLE_12)[1:])
def test_table_12_half_a_millimetre_to_the_left_is_table_13(number: str) -> None:
    # K2 RI: from N0030 on, Table 13's programmed points are Table 12's tool centres for a tool of diameter 1.
    edge, nominal = motions(program(TABLE_12)), motions(program(TABLE_13))
    (row,) = np.flatnonzero(edge.line == line_of(program(TABLE_12), number))
    (same,) = np.flatnonzero(nominal.line == line_of(program(TABLE_13), number))
    assert nominal.end[same, :2].tolist() == pytest.approx(moved_left(edge, int(row), 0.5).tolist(), abs=1e-9)
    if edge.is_arc[row]:
        assert nominal.centre[same].tolist() == pytest.approx(edge.centre[row].tolist(), abs=1e-9)
        assert nominal.sweep_deg[same] == pytest.approx(edge.sweep_deg[row], abs=1e-9)


def test_compensation_is_left_from_its_line_to_the_one_that_turns_it_off() -> None:
    text = program(TABLE_12 + "N0120 G0 X0\n")
    path = motions(text)
    sides = {number: set(on_line(path, line_of(text, number)).compensation.tolist()) for number in ("0010", "0120")}
    assert sides == {"0010": {Compensation.OFF}, "0120": {Compensation.OFF}}
    inside = (path.line >= line_of(text, "0020")) & (path.line <= line_of(text, "0100"))
    assert set(path.compensation[inside].tolist()) == {Compensation.LEFT}
    assert np.count_nonzero(inside) == 9


def test_g42_is_on_the_right() -> None:
    path = motions(program(TABLE_12).replace("G41", "G42"))
    assert Compensation.RIGHT in path.compensation
    assert Compensation.LEFT not in path.compensation


@pytest.mark.parametrize(
    ("code", "number"),
    [
        ("G54", 1), ("G55", 2), ("G56", 3), ("G57", 4), ("G58", 5),
        ("G59", 6), ("G59.1", 7), ("G59.2", 8), ("G59.3", 9),
    ],
)  # fmt: skip
def test_a_work_offset_is_counted_as_the_report_numbers_its_systems(code: str, number: int) -> None:
    # Section 3.5.13: 1 for G54 to 9 for G59.3.
    path = motions(f"G21 G90 F100\n{code}\nG0 X1 Y2 Z3\nM2\n")
    assert path.work_offset.tolist() == [number]
    assert path.end.tolist() == [[1, 2, 3]]


def test_the_first_work_offset_is_g54_until_another_is_named() -> None:
    path = motions("G21 G90 F100\nG0 X1 Y2 Z3\nG55 X1 Y2 Z3\nM2\n")
    assert path.work_offset.tolist()[0] == 1
    assert path.work_offset.tolist()[-1] == 2


def test_a_tool_length_offset_leaves_the_numbers_of_the_program_as_they_are_written() -> None:
    # The report's O7 (Z reads -0.5 after G43 of a tool of length 1) needs a tool file; a Path is in the numbers
    # of the program, and the next Z word says where Z is.
    path = motions("G21 G90 F100\nG0 X0 Y0 Z0.5\nG43 H2\nG0 Z5\nG1 X1\nG49\nG0 Z9\nM2\n")
    assert on_line(path, 4).end[-1].tolist() == [0, 0, 5]
    assert on_line(path, 5).end[-1].tolist() == [1, 0, 5]
    assert on_line(path, 7).end[-1].tolist() == [1, 0, 9]


@pytest.mark.parametrize(
    "block",
    ["G43 H1.5", "G43 H-1", "G41 D1.5", "G41 D-1", "D1", "G18 G41 D1", "G19 G42 D1"],
)
def test_an_offset_index_out_of_range_or_plane_is_an_error(block: str) -> None:
    # Sections 3.5.10, 3.5.11 and appendix B.5: not an integer, negative, D without G41 or G42, not XY.
    with pytest.raises(Exception, match=r"^example\.ngc:3:") as caught:
        motions(f"G21 G90 F100 T1 M6\nG0 X0 Y0 Z0\n{block}\nM2\n")
    assert caught.type.__module__.startswith("flipreg")


@pytest.mark.parametrize("block", ["G41", "G42", "G55", "G18", "G19", "G20", "G81 X1 Y1 Z-1 R1"])
def test_what_the_report_forbids_while_compensation_is_on_is_an_error(block: str) -> None:
    # Appendix B.5 numbers 5, 8, 9, 2; sections 3.5.13 and 3.5.16.
    with pytest.raises(Exception, match=r"^example\.ngc:5:") as caught:
        motions(f"G21 G17 G90 F100 T1 M6\nG0 X0 Y0 Z2\nG41 G1 X9\nX20\n{block}\nM2\n")
    assert caught.type.__module__.startswith("flipreg")
