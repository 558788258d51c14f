"""What a face shows: holes by every way of making them, and of several passes the one that leaves the edge."""

import numpy as np
import pytest

from flipreg.register.faces.features import face_features
from flipreg.register.faces.outline import Side
from tests.register.shapes import Mill, offset_ring, paddle, ring, rounded


@pytest.mark.parametrize("cycle", [False, True], ids=["plunges", "canned cycles"])
def test_drilled_holes_are_found_with_their_depth(cycle: bool) -> None:  # noqa: FBT001 - a test's parameter
    mill = Mill().drill(10, 20, 4.0, cycle=cycle).drill(30, 25, 6.0, cycle=cycle)
    holes = face_features([mill.program(tool=5.0)]).holes
    assert holes.centre_mm.tolist() == [[10.0, 20.0], [30.0, 25.0]]
    assert holes.floor_mm.tolist() == [-4.0, -6.0]
    assert holes.diameter_mm.tolist() == [5.0, 5.0]


def test_bored_holes_are_as_wide_as_path_and_tool_make_them() -> None:
    holes = face_features([Mill().bore(12.0, 34.0, 3.0, 8.0).program(tool=4.0)]).holes
    assert holes.centre_mm[0].tolist() == pytest.approx([12.0, 34.0])
    assert holes.diameter_mm.tolist() == pytest.approx([10.0])
    assert holes.floor_mm.tolist() == [-8.0]


def test_a_ring_of_short_chords_with_three_decimals_of_an_inch_is_a_bored_hole() -> None:
    turns = np.linspace(0.0, 6.0 * np.pi, 73)
    ring = np.column_stack([1.0006 + 0.0394 * np.cos(turns), 2.0 + 0.0394 * np.sin(turns)])
    mill = Mill().lines(np.column_stack([np.round(ring, 3) * 25.4, np.full(len(ring), -8.0)]))
    holes = face_features([mill.program(tool=6.0)]).holes
    assert holes.centre_mm[0].tolist() == pytest.approx([25.4, 50.8], abs=0.02)


def test_spotting_drilling_and_boring_one_hole_make_one_hole() -> None:
    face = [
        Mill().drill(10, 20, 1.0, cycle=True).program("spot.nc", 3.0),
        Mill().drill(10, 20, 9.0).program("drill.nc", 5.0),
        Mill().bore(10, 20, 2.0, 5.0).program("bore.nc", 3.0),
    ]
    holes = face_features(face).holes
    assert len(holes) == 1
    assert holes.diameter_mm.tolist() == pytest.approx([7.0])
    assert holes.floor_mm.tolist() == [-9.0]


def test_a_hole_that_two_drills_take_to_one_floor_is_as_wide_as_the_wider_one_there() -> None:
    thin = Mill().drill(10, 20, 9.0).drill(40, 20, 9.0).program("thin.nc", 3.0)
    wide = Mill().drill(10, 20, 8.8).drill(40, 20, 3.0).program("wide.nc", 10.0)
    assert face_features([thin, wide]).holes.bore_mm.tolist() == [10.0, 3.0]


def test_a_plunge_into_a_contour_is_no_hole() -> None:
    assert len(face_features(paddle(holes=())).holes) == 0


def test_finishing_is_the_edge_of_a_profile_and_not_roughing() -> None:
    outline = rounded(120, 80, 10)
    mill = Mill().contour(offset_ring(outline, 3.6), (5.0, 10.0)).contour(offset_ring(outline, 3.0), (10.0,))
    found = face_features([mill.program()]).outlines
    assert [o.loop.size_mm for o in found] == pytest.approx([126.0])
    assert found[0].side is Side.INSIDE


def test_a_shallow_rabbet_along_the_profile_is_not_the_edge() -> None:
    outline = rounded(120, 80, 10)
    mill = Mill().contour(offset_ring(outline, 3.0), (10.0,)).contour(outline, (2.0,))
    assert face_features([mill.program()]).outlines[0].loop.size_mm == pytest.approx(126.0)


def test_the_wall_is_the_edge_of_a_pocket() -> None:
    outline = rounded(120, 80, 20)
    mill = Mill()
    for inset in np.arange(36.0, 2.9, -3.0):
        mill.contour(offset_ring(outline, -inset), (4.0,))
    found = face_features([mill.program()]).outlines
    assert found[0].loop.size_mm == pytest.approx(114.0)
    assert found[0].side is Side.OUTSIDE


def test_what_is_cleared_shallow_round_a_foot_does_not_make_a_pocket_of_the_profile() -> None:
    outline = rounded(120, 80, 30)
    mill = Mill()
    for inset in np.arange(-3.0, 27.1, 3.0):
        mill.contour(offset_ring(outline, -inset), (3.0,))
    mill.contour(offset_ring(outline, 3.0), (6.0, 12.0))
    last = Mill().contour(offset_ring(outline, 3.0), (16.0,))
    found = face_features([mill.program(), last.program()]).outlines
    assert [(o.side, o.loop.floor_mm) for o in found] == [(Side.INSIDE, -16.0)]


def test_an_opening_in_a_profile_has_its_wall_outside() -> None:
    mill = Mill().contour(ring((0, 0), (200, 0), (200, 100), (0, 100))).contour(ring((50, 30), (120, 30), (120, 60)))
    assert [o.side for o in face_features([mill.program()]).outlines] == [Side.INSIDE, Side.OUTSIDE]


def test_a_face_that_cuts_nothing_is_empty() -> None:
    features = face_features([Mill().rapid(0, 0, 5).rapid(10, 10).program()])
    assert features.is_empty
    assert features.size_mm == 0.0


def test_an_opening_is_one_with_the_zero_of_z_on_the_spoilboard_too() -> None:
    turn = np.linspace(0.0, 2.0 * np.pi, 120, endpoint=False)
    circle = np.column_stack([np.cos(turn), np.sin(turn)])
    for top, floor in ((0.0, -11.0), (20.0, 9.0)):
        mill = Mill()
        for radius in (61.0, 38.0):
            mill.rapid(radius, 0.0, top + 5.0).feed(z=floor)
            for x, y in np.vstack([circle[1:], circle[:1]]) * radius:
                mill.feed(float(x), float(y))
            mill.rapid(z=top + 5.0)
        shown = face_features([mill.program("ring.nc", 6.0)])
        assert [one.side for one in shown.outlines] == [Side.INSIDE, Side.OUTSIDE]
