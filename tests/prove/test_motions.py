"""Motions compared column by column: with one number changed in what was read of the output, its line is named."""

import re
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from numpy.typing import NDArray

from flipreg.errors import ProofError
from flipreg.geometry.isometry import Isometry
from flipreg.path import Path
from flipreg.prove import Expected, Read
from flipreg.prove.motions import compare_motions
from tests.prove.reads import read

TEXT = """\
G21 G90 G17
G0 X0 Y0 Z5
S1000 M3
G1 Z-1 F300
X10
G2 X20 Y10 I10 J0
G3 X30 Y0 R12
G1 X40 F200
"""
AS_IT_WAS = Expected(Isometry())
TOLERANCE_MM = 0.001
LINES = [2, 4, 5, 6, 7, 8]
"""The line of each motion."""


def changed(source: Read, column: str, at: int | tuple[int, int], value: float) -> Read:
    """Return what was read with one entry of a column of the motions changed."""
    values = getattr(source.path, column).copy()
    values[at] = value
    return replace(source, path=replace(source.path, **{column: values}))


def compared(source: Read, output: Read, expected: Expected = AS_IT_WAS) -> float:
    return compare_motions(source, expected, output, TOLERANCE_MM)


def stops(source: Read, output: Read, message: str, expected: Expected = AS_IT_WAS) -> None:
    with pytest.raises(ProofError, match=f"^{re.escape(message)}$"):
        compared(source, output, expected)


@pytest.mark.parametrize("row", [0, 3, 5])
@pytest.mark.parametrize(
    ("column", "words", "value"),
    [
        ("kind", "kind", 7),
        ("normal", "normal", 1),
        ("tool", "tool", 3),
        ("compensation", "compensation", 1),
        ("work_offset", "work offset", 2),
        ("cycle", "cycle", 81),
        ("line", "line", 1),
        ("spindle_rpm", "spindle rpm", -1000.0),
        ("feed_mm_per_min", "feed", 299.0),
    ],
)
def test_one_entry_that_differs_is_stopped_on_either_side(row: int, column: str, words: str, value: float) -> None:
    right = read(TEXT)
    message = f"front.ngc:{LINES[row]}: the {words} of this motion would change; nothing was written"
    stops(right, changed(right, column, row, value), message)
    if column not in ("kind", "line", "normal"):
        stops(changed(right, column, row, value), right, message)


@pytest.mark.parametrize("column", ["tool", "work_offset", "spindle_rpm", "feed_mm_per_min"])
def test_a_column_of_one_value_is_not_taken_for_the_first_value_of_another(column: str) -> None:
    right = read(TEXT)
    n = len(right.path)
    constant = replace(right, path=replace(right.path, **{column: np.broadcast_to(getattr(right.path, column)[3], n)}))
    varied = changed(constant, column, 4, 77)
    assert compared(constant, constant) == 0.0
    message = f"front.ngc:7: the {column.split('_mm')[0].replace('_', ' ')} of this motion would change"
    stops(constant, varied, f"{message}; nothing was written")
    stops(varied, constant, f"{message}; nothing was written")
    other = replace(right, path=replace(right.path, **{column: np.broadcast_to(np.array(77), n)}))
    stops(constant, other, f"{message.replace(':7:', ':2:')}; nothing was written")


@pytest.mark.parametrize("column", ["spindle_rpm", "feed_mm_per_min"])
def test_a_number_is_the_same_within_noise_of_its_own_size_only(column: str) -> None:
    source = changed(changed(read(TEXT), column, 2, 1e6), column, 3, 0.5)
    assert compared(source, changed(source, column, 2, 1e6 + 5e-4)) == 0.0
    assert compared(source, changed(source, column, 3, 0.5 + 5e-10)) == 0.0
    words = column.split("_mm")[0].replace("_", " ")
    for row, value in ((2, 1e6 + 5e-3), (2, 1e6 - 5e-3), (2, -1e6), (3, 0.5 + 1.5e-9), (3, 0.5 - 1.5e-9), (3, -0.5)):
        message = f"front.ngc:{LINES[row]}: the {words} of this motion would change; nothing was written"
        stops(source, changed(source, column, row, value), message)


def test_a_feed_known_on_one_side_only_is_another_feed() -> None:
    right = read(TEXT)
    assert np.isnan(right.path.feed_mm_per_min[0])
    message = "front.ngc:4: the feed of this motion would change; nothing was written"
    stops(right, changed(right, "feed_mm_per_min", 1, np.nan), message)
    stops(changed(right, "feed_mm_per_min", 1, np.nan), right, message)


@pytest.mark.parametrize("column", ["start", "end"])
@pytest.mark.parametrize("axis", [0, 1, 2])
def test_a_place_off_along_any_axis_is_measured_and_past_the_tolerance_stopped(column: str, axis: int) -> None:
    right = read(TEXT)
    there = float(getattr(right.path, column)[5, axis])
    assert compared(right, changed(right, column, (5, axis), there - 0.0009)) == pytest.approx(0.0009, abs=1e-12)
    for off in (0.0011, -0.0011):
        message = f"front.ngc:8: the {column} of this motion would be 0.001100 mm off in the output, "
        wrong = changed(right, column, (5, axis), there + off)
        stops(right, wrong, f"{message}allowed is 0.001 mm; nothing was written")


def test_the_largest_of_all_deviations_is_told_whichever_comes_last() -> None:
    right = read(TEXT)
    ends = changed(right, "end", (5, 0), 40.0008)
    assert compared(right, changed(ends, "start", (5, 0), 30.0002)) == pytest.approx(0.0008, abs=1e-12)
    both = changed(changed(right, "end", (5, 0), 40.0006), "end", (5, 1), 0.0006)
    assert compared(right, both) == pytest.approx(0.0006 * 2**0.5, abs=1e-12)
    stops(
        right,
        changed(changed(right, "end", (5, 0), 40.0008), "end", (5, 1), 0.0008),
        "front.ngc:8: the end of this motion would be 0.001131 mm off in the output, allowed is 0.001 mm; "
        "nothing was written",
    )


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_a_coordinate_known_on_one_side_only_is_another_place(axis: int) -> None:
    right = read("G21 G90\nG0 X1 Y1 Z1\nX2\nX3\n")
    unknown = changed(right, "end", (2, axis), np.nan)
    message = "front.ngc:4: the end of this motion would change; nothing was written"
    stops(right, unknown, message)
    stops(unknown, right, message)
    assert compared(unknown, unknown) == 0.0
    other = (axis + 1) % 3
    there = float(right.path.end[2, other])
    with pytest.raises(ProofError, match=r"0\.002000 mm off"):
        compared(unknown, changed(unknown, "end", (2, other), there + 0.002))


ARCS = {
    "G17": ("G2 X10 Y0 I5 J0", "G2 X0 Y10 I0 J5", (0, 1)),
    "G18": ("G2 X10 Z0 I5 K0", "G2 X0 Z10 I0 K5", (0, 2)),
    "G19": ("G2 Y10 Z0 J5 K0", "G2 Y0 Z10 J0 K5", (1, 2)),
}
"""Half circles along either axis of each plane, and those axes."""


@pytest.mark.parametrize("plane", ARCS)
@pytest.mark.parametrize("along", [0, 1])
def test_a_centre_off_along_either_axis_of_its_plane_is_stopped(plane: str, along: int) -> None:
    *arcs, axes = ARCS[plane]
    right = read(f"G21 G90 {plane}\nG0 X0 Y0 Z0\n{arcs[along]} F100\n")
    for axis in axes:
        centre = float(right.path.centre[1, axis])
        near = compared(right, changed(right, "centre", (1, axis), centre + 0.0004))
        # The point half way stands off by no more than twice as much.
        assert 0.0004 - 1e-9 <= near <= 0.0008 + 1e-9
        with pytest.raises(ProofError, match=r"^front\.ngc:3: the arc of this motion would be 0\.00\d{4} mm off"):
            compared(right, changed(right, "centre", (1, axis), centre + 0.0015))


@pytest.mark.parametrize("row", [1, 2])
def test_a_full_circle_is_not_an_arc_of_no_length(row: int) -> None:
    right = read("G21 G90 G17\nG0 X0 Y0 Z0\nG3 X0 Y0 I5 F100\nG3 X0 Y0 I6\n")
    message = f"^front\\.ngc:{row + 2}: the arc of this motion would be 1[02]\\.000000 mm off in the output"
    with pytest.raises(ProofError, match=message):
        compared(right, changed(right, "sweep_deg", row, 1e-6))


def test_an_arc_the_other_way_round_is_named_with_its_line() -> None:
    right = read(TEXT)
    message = "the direction of this motion would change; nothing was written"
    stops(right, changed(right, "sweep_deg", 3, 90.0), f"front.ngc:6: {message}")
    stops(right, changed(right, "sweep_deg", 4, -right.path.sweep_deg[4]), f"front.ngc:7: {message}")


def test_arcs_in_two_planes_are_each_compared() -> None:
    right = read("G21 G90 G17\nG0 X0 Y0 Z0\nG2 X10 Y0 I5 J0 F100\nG18 G2 X20 Z0 I5 K0\nG17 G2 X30 Y0 I5 J0\n")
    for row, axis in ((1, 1), (2, 2), (3, 0)):
        centre = float(right.path.centre[row, axis])
        with pytest.raises(ProofError, match=rf"^front\.ngc:{row + 2}: the arc of this motion would be"):
            compared(right, changed(right, "centre", (row, axis), centre + 0.0021))


@pytest.mark.parametrize(
    ("output", "line", "count"),
    [
        ("G0 X1\nX2\nX3\nX4\n", 4, 4),
        ("G0 X1\n\nX3\n", 2, 2),
        ("G0 X1\nX2\n\n", 3, 2),
        ("G0 X1\n\n\n", 2, 1),
    ],
)
def test_the_first_line_with_another_number_of_motions_is_named(output: str, line: int, count: int) -> None:
    source = read("G0 X1\nX2\nX3\n\n")
    message = f"front.ngc:{line}: the output has {count} motions where the source has 3; nothing was written"
    stops(source, read(output), message)


def test_an_arc_that_the_isometry_would_take_out_of_the_main_planes_is_named() -> None:
    source = read("G21 G90 G18\nG0 X0 Y0 Z0\nG2 X10 Z0 I5 K0 F100\n")
    turned = Expected(Isometry.rotation(30.0))
    message = "front.ngc: line 3: an arc outside the XY plane cannot be turned by this angle; nothing was written"
    stops(source, source, message, turned)


def test_each_motion_is_moved_by_the_isometry_of_its_own_zero() -> None:
    aside, up = Isometry.translation(Decimal(10), Decimal(0)), Isometry.translation(Decimal(0), Decimal(7))
    expected = Expected(aside, {2: up})
    for source, output in (
        ("G21 G90 G54\nG0 X1 Y2 Z3\nX4\n", "G21 G90 G54\nG0 X11 Y2 Z3\nX14\n"),
        ("G21 G90 G55\nG0 X1 Y2 Z3\nX4\n", "G21 G90 G55\nG0 X1 Y9 Z3\nX4\n"),
        ("G21 G90 G56\nG0 X1 Y2 Z3\nX4\n", "G21 G90 G56\nG0 X11 Y2 Z3\nX14\n"),
    ):
        assert compared(read(source), read(output), expected) == 0.0
        with pytest.raises(ProofError, match=r"mm off in the output"):
            compared(read(source), read(source), expected)
    assert compared(read("G21 G90\n"), read("G21 G90\n"), expected) == 0.0


def test_what_has_no_motions_is_moved_to_nothing() -> None:
    empty = read("G21 G90\n").path
    assert len(Expected(Isometry(), {2: Isometry()}).moved(empty)) == 0


def test_motions_keep_their_order_where_work_offsets_take_turns() -> None:
    aside = Isometry.translation(Decimal(10), Decimal(0))
    path = read("G21 G90 G54\nG0 X1 Y0 Z0\nG55 X2\nG54 X3\nG56 X4\nG55 X5\nG54 X6\n").path
    moved: Path = Expected(Isometry(), {2: aside}).moved(path)
    ends: Callable[[Path], list[float]] = lambda motions: motions.end[:, 0].tolist()  # noqa: E731 - a short name
    assert ends(moved) == [1, 12, 3, 4, 15, 6]
    order: NDArray[np.int64] = moved.line
    assert order.tolist() == path.line.tolist()
