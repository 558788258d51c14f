"""Closed loops are found whatever leads in, lifts over tabs, or goes round again."""

import numpy as np
import pytest

from flipreg.register.faces.chords import Cut, wood_top
from flipreg.register.faces.loop import Loop, circles_of
from flipreg.register.faces.loops import find_loops
from tests.register.shapes import Mill, ring

SQUARE = ring((0, 0), (100, 0), (100, 60), (0, 60))


def loops_of(mill: Mill) -> list[Loop]:
    path = mill.path
    return find_loops(Cut.of(path, wood_top(path)), path)[0]


@pytest.mark.parametrize(
    "how",
    [
        {},
        {"depths": (2.0, 4.0, 6.0, 8.0, 10.0)},
        {"lead": 7.0},
        {"tabs": 8.0},
        {"tabs": 8.0, "hop": True},
        {"tabs": 8.0, "lead": 5.0, "depths": (3.0, 11.0)},
    ],
    ids=["plain", "many passes", "lead-in", "tabs lifted", "tabs by traverse", "all at once"],
)
def test_a_contour_is_one_loop(how: dict[str, object]) -> None:
    found = loops_of(Mill().contour(SQUARE, **how))  # type: ignore[arg-type]
    assert len(found) == 1
    assert found[0].area_mm2 == pytest.approx(6000.0)
    assert found[0].box_mm.tolist() == [0.0, 0.0, 100.0, 60.0]


def test_the_deepest_pass_gives_the_floor() -> None:
    assert loops_of(Mill().contour(SQUARE, (2.0, 7.5)))[0].floor_mm == -7.5


def test_a_ramp_down_the_contour_does_not_hide_it() -> None:
    mill = Mill().rapid(0, 0, 5).feed(z=0)
    for x, y, z in ((100, 0, -1), (100, 60, -2), (0, 60, -3), (0, 0, -4), (100, 0, -4), (100, 60, -4), (0, 60, -4)):
        mill.feed(x, y, z)
    found = loops_of(mill.feed(0, 0).rapid(z=5))
    assert [loop.area_mm2 for loop in found] == [pytest.approx(6000.0)]


def test_an_end_that_runs_past_the_start_still_closes() -> None:
    mill = Mill().rapid(50, 0, 5).feed(z=-3).feed(100, 0).feed(100, 60).feed(0, 60).feed(0, 0).feed(53, 0).rapid(z=5)
    assert loops_of(mill)[0].area_mm2 == pytest.approx(6000.0, rel=1e-6)


def test_lines_that_end_elsewhere_are_no_loop() -> None:
    mill = Mill().rapid(0, 0, 5).feed(z=-3).feed(100, 0).feed(100, 60).feed(0, 60).feed(0, 1).rapid(z=5)
    assert loops_of(mill) == []


def test_going_back_and_forth_on_a_line_is_no_loop() -> None:
    mill = Mill().rapid(0, 0, 5)
    for depth in (1.0, 2.0, 3.0):
        mill.feed(z=-depth).feed(30, 0).feed(60, 0).feed(30, 0).feed(0, 0)
    assert loops_of(mill) == []


def test_the_wall_of_a_pocket_is_found_after_its_rows() -> None:
    mill = Mill().rapid(0, 0, 5).feed(z=-3)
    for row in range(0, 61, 4):
        ends = (100, 0) if (row // 4) % 2 else (0, 100)
        mill.feed(ends[0], row).feed(ends[1], row)
    for x, y in ((0, 60), (0, 0), (100, 0), (100, 60), (0, 60)):
        mill.feed(x, y)
    assert loops_of(mill.rapid(z=5))[0].area_mm2 == pytest.approx(6000.0)


def test_a_lead_out_a_hop_and_a_lead_in_make_no_outline() -> None:
    mill = Mill().rapid(0, 0, 5).feed(z=-3).feed(50, 0).arc(44, 6, (44, 0), 90.0).rapid(z=5).rapid(56, 6).feed(z=-6)
    mill.arc(50, 0, (56, 0), 90.0).feed(60, -40).rapid(z=5)
    assert loops_of(mill) == []


def test_feeding_in_the_air_is_no_cut() -> None:
    mill = Mill().rapid(0, 0, 5)
    for x, y in (*SQUARE.tolist(), SQUARE[0].tolist()):
        mill.feed(x, y, 2.0)
    mill.rapid(0, 0, 5).feed(z=-1).feed(10, 0).rapid(z=5)
    assert loops_of(mill) == []


def test_zero_on_the_spoilboard_is_understood() -> None:
    mill = Mill().rapid(0, 0, 30).rapid(*SQUARE[0])
    for depth in (12.0, 6.0, -0.2):
        mill.rapid(*SQUARE[0]).feed(z=depth)
        for x, y in (*SQUARE[1:].tolist(), SQUARE[0].tolist()):
            mill.feed(x, y)
        mill.rapid(z=30).rapid(150, 150)
    assert loops_of(mill)[0].area_mm2 == pytest.approx(6000.0)


def test_a_full_circle_is_round_and_a_square_is_not() -> None:
    circle = circles_of(loops_of(Mill().bore(20, 30, 4.0)), 40.0)[0]
    assert circle is not None
    assert circle[0].tolist() == pytest.approx([20.0, 30.0])
    assert circle[1] == pytest.approx(4.0)
    assert circles_of(loops_of(Mill().contour(ring((0, 0), (8, 0), (8, 8), (0, 8)))), 40.0) == [None]


def test_a_helix_into_a_pocket_does_not_stand_alone() -> None:
    mill = Mill().rapid(24, 30, 5).feed(z=0)
    for turn in range(3):
        mill.arc(24, 30, (20, 30), 360.0, z=-turn - 1.0)
    mill.arc(24, 30, (20, 30), 360.0).feed(60, 30).feed(60, 50).rapid(z=5)
    loops = loops_of(mill)
    assert [loop.stands_alone for loop, circle in zip(loops, circles_of(loops, 40.0), strict=True) if circle] == [False]
    assert [loop.stands_alone for loop in loops_of(Mill().bore(20, 30, 4.0))] == [True]


def test_a_cut_without_motions_has_no_loops() -> None:
    assert loops_of(Mill()) == []
    assert np.shape(Cut.of(Mill().path, 0.0).xyz_mm) == (0, 3)


def test_coarsely_flattened_arcs_give_the_same_loops() -> None:
    mill = Mill().bore(20, 30, 4.0).rapid(60, 0, 5).feed(z=-5).feed(100, 0).arc(110, 10, (100, 10), 90.0).feed(110, 40)
    mill.arc(60, 40, (85, 40), 180.0).feed(60, 0).rapid(z=5)
    path = mill.path
    fine, _ = find_loops(Cut.of(path, 0.0), path)
    coarse, _ = find_loops(Cut.of(path, 0.0, most=30), path)
    assert Cut.of(path, 0.0, most=30).chord_mm > 0.1
    assert [loop.area_mm2 for loop in coarse] == pytest.approx([loop.area_mm2 for loop in fine], rel=1e-3)
    assert [loop.box_mm.tolist() for loop in coarse] == [pytest.approx(loop.box_mm.tolist()) for loop in fine]
    assert [circle is not None for circle in circles_of(coarse, 200.0)] == [False, True]
