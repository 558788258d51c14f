"""The proof's own closed loops: by walking, at one height, however the program comes round."""

import numpy as np
import pytest

from flipreg.prove.loops import closed_loops, lifted_loops, loops_at_no_known_height
from tests.motions import motions

HEAD = "G21 G90 G17\nG0 X0 Y0 Z5\n"


def areas(text: str, *, left_out: slice = slice(0, 0)) -> list[float]:
    path = motions(HEAD + text + "G0 Z5\nM2\n")
    rows = np.ones(len(path), np.bool_)
    rows[left_out] = False
    return [round(loop.area_mm2, 6) for loop in closed_loops(path, rows, least_mm2=0.05)]


def lifted(text: str) -> list[float]:
    path = motions(HEAD + text + "G0 Z5\nM2\n")
    return [round(loop.area_mm2, 6) for loop in lifted_loops(path, np.ones(len(path), np.bool_), least_mm2=0.05)]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("G1 Z-2 F90\nX10\nY10\nX0\nY0\n", [100]),
        ("G1 Z-2 F90\nY10\nX10\nY0\nX0\n", [-100]),
        # Closed to the last decimal that most programs are written with, and not beyond it.
        ("G1 Z-2 F90\nX10\nY10\nX0\nY0.001\n", [100]),
        ("G1 Z-2 F90\nX10\nY10\nX0\nY0.002\n", []),
        # A lead-in and a lead-out, two laps, out and back, a loop within a way out and back.
        ("X-5\nG1 Z-2 F90\nX0\nX10\nY10\nX0\nY0\nX-5\n", [100]),
        ("G1 Z-2 F90\nX10\nY10\nX0\nY0\nX10\nY10\nX0\nY0\n", [100, 100]),
        ("G1 Z-2 F90\nX10\nX0\n", []),
        ("G1 Z-2 F90\nX10\nX20\nY9\nX10 Y0\nX0\n", [45]),
        # Two that touch in a corner, the other way round each.
        ("G1 Z-2 F90\nX10\nY10\nX0\nY0\nX-10\nY10\nX0\nY0\n", [100, -100]),
        ("G1 Z-2 F90\nG3 X0 Y0 I5 J0\n", [78.539816]),
        ("G1 Z-2 F90\nG2 X10 Y0 I5 J0\nG2 X0 Y0 I-5 J0\n", [-78.539816]),
        # A rise over a tab; a dive; a helix; a ring that nothing cuts at its own height; a traverse in between.
        ("G1 Z-2 F90\nX4\nZ-1\nX6\nZ-2\nX10\nY10\nX0\nY0\n", [100]),
        ("G1 Z-2 F90\nX4\nZ-3\nX6\nZ-2\nX10\nY10\nX0\nY0\n", []),
        ("G1 Z0 F90\nG3 X0 Y0 I5 J0 Z-1\nG3 X0 Y0 I5 J0 Z-2\n", []),
        ("G1 Z-2 F90\nX10 Z-1\nY10\nX0\nY0 Z-2\n", []),
        ("G1 Z-2 F90\nX10\nG0 Y10\nG1 X0\nY0\n", []),
        ("G1 Z-2 F90\nX0.2\nY0.2\nX0\nY0\n", []),
    ],
)
def test_a_loop_is_closed_at_its_lowest_height_and_encloses_something(text: str, expected: list[float]) -> None:
    assert areas(text) == expected


def test_a_loop_holds_no_motion_that_is_left_out() -> None:
    text = "G1 Z-2 F90\nX10\nY10\nX0\nY0\n"
    assert areas(text, left_out=slice(5, 6)) == []


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("G1 Z-2 F90\nX10\nY4\nG0 Z5\nY6\nG1 Z-2\nY10\nX0\nY0\n", [100]),
        # Too much air; pieces at two heights; nothing lifted.
        ("G1 Z-2 F90\nX10\nG0 Z5\nY10\nG1 Z-2\nX0\nY0\n", []),
        ("G1 Z-2 F90\nX10\nY4\nG0 Z5\nY6\nG1 Z-1\nY10\nX0\nY0\n", []),
        ("G1 Z-2 F90\nX10\nY10\nX0\nY0\n", []),
    ],
)
def test_a_contour_in_pieces_is_a_loop_where_the_ways_through_the_air_are_short(
    text: str, expected: list[float]
) -> None:
    assert lifted(text) == expected


def test_a_loop_at_a_height_that_is_not_known_is_found_as_one() -> None:
    path = motions("G21 G90 G17\nG0 X0 Y0\nG1 X10 F90\nY10\nX0\nY0\nM2\n")
    found = loops_at_no_known_height(path, np.ones(len(path), np.bool_), least_mm2=0.05)
    assert [loop.area_mm2 for loop in found] == pytest.approx([100])
