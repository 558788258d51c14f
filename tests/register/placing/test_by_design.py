"""What would lie together elsewhere disproves nothing if it may be in both faces by design, told right."""

import numpy as np
import pytest

from flipreg.findings import Status
from flipreg.geometry.isometry import Isometry
from flipreg.program.face import FaceProgram
from flipreg.register.check import check
from flipreg.register.report import Report
from tests.register.shapes import PAGE, Mill, offset_ring

Points = list[tuple[float, float]]

COLUMN: Points = [(37.0, 64.0 + 32.0 * number) for number in range(10)]
SCATTERED: Points = [(30.0, 60.0), (97.0, 73.0), (41.0, 131.0), (120.0, 100.0), (66.0, 188.0)]


def moved(points: Points, x: float, y: float) -> Points:
    return [(a + x, b + y) for a, b in points]


def drilled(points: Points, depth: float) -> list[FaceProgram]:
    mill = Mill()
    for x, y in points:
        mill.drill(x, y, depth)
    return [mill.program("holes.nc", 5.0)]


def cleared(x: float, y: float, depth: float) -> list[FaceProgram]:
    """Return a pocket of 60 x 40 mm about a middle, cleared from the middle outwards."""
    mill = Mill().rapid(x, y, 5.0).feed(z=-depth)
    for room in (12.0, 9.0, 6.0, 3.0, 0.0):
        wide, high = 30.0 - room, 20.0 - room
        for corner in ((-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1)):
            mill.feed(x + corner[0] * wide, y + corner[1] * high)
    return [mill.rapid(z=5.0).program("pocket.nc", 5.0)]


def seen_from_the_back(points: Points) -> Points:
    return [(x, y) for x, y in PAGE.apply(np.array(points)).tolist()]


def checked(front: Points, back: Points, depth: float, thickness: float | None) -> Report:
    """Check holes of both faces, all of them said where they are in the front's numbers."""
    faces = drilled(front, depth), drilled(seen_from_the_back(back), depth)
    return check(*faces, flip=PAGE, tolerance_mm=0.2, thickness_mm=thickness)


@pytest.mark.parametrize("thickness", [None, 19.0])
@pytest.mark.parametrize(("x", "y"), [(0.0, 16.0), (326.0, 0.0)], ids=["staggered", "in the other column"])
def test_rows_of_blind_holes_that_would_meet_elsewhere_disprove_nothing(
    x: float, y: float, thickness: float | None
) -> None:
    found = checked(COLUMN, moved(COLUMN, x, y), 13.0, thickness)
    assert found.verdict is Status.NOT_DETERMINED
    assert Status.FAIL not in {one.status for one in found.findings} | {one.status for one in found.directions}


def test_a_row_that_has_its_like_in_the_programs_own_numbers_may_be_a_row_for_itself() -> None:
    found = checked(COLUMN, seen_from_the_back(COLUMN), 13.0, 19.0)
    assert found.verdict is Status.NOT_DETERMINED
    assert all(one.reason.startswith("if what both faces show is meant to be one, ") for one in found.mistakes)


@pytest.mark.parametrize("away", [(150.0, 80.0), (0.0, 120.0)])
def test_a_pocket_that_has_its_like_in_the_other_face_disproves_nothing(away: tuple[float, float]) -> None:
    middle = seen_from_the_back([(100.0 + away[0], 100.0 + away[1])])[0]
    found = check(
        cleared(100.0, 100.0, 12.0), cleared(*middle, 12.0), flip=PAGE, tolerance_mm=0.2, thickness_mm=19.0
    )
    assert found.verdict is Status.NOT_DETERMINED


def test_a_pocket_that_half_overlaps_its_like_and_goes_through_there_is_out_of_register() -> None:
    middle = seen_from_the_back([(130.0, 100.0)])[0]
    found = check(
        cleared(100.0, 100.0, 12.0), cleared(*middle, 12.0), flip=PAGE, tolerance_mm=0.2, thickness_mm=19.0
    )
    assert found.verdict is Status.FAIL


def test_a_row_that_either_face_bores_through_is_one_row() -> None:
    found = checked(COLUMN, moved(COLUMN, 30.0, 0.0), 19.5, 19.0)
    assert found.verdict is Status.FAIL


def test_a_row_that_is_nearly_where_it_should_be_is_misplaced() -> None:
    assert checked(COLUMN, moved(COLUMN, 1.5, 0.0), 13.0, 19.0).verdict is Status.FAIL


@pytest.mark.parametrize(("away", "verdict"), [(4.0, Status.NOT_DETERMINED), (3.0, Status.FAIL)])
def test_kerfs_of_either_face_that_lie_between_those_of_the_other_disprove_nothing(
    away: float, verdict: Status
) -> None:
    """A strip is sawn into from both faces, at half a pitch, so that it can be bent."""

    def kerfs(move: Isometry, by: float) -> list[FaceProgram]:
        mill = Mill()
        for number in range(12):
            x = 20.0 + 8.0 * number + by
            mill.lines(np.column_stack([move.apply(np.array([(x, -5.0), (x, 60.0)])), [-13.0, -13.0]]))
        return [mill.program("kerfs.nc", 2.0)]

    report = check(kerfs(Isometry(), 0.0), kerfs(PAGE, away), flip=PAGE, tolerance_mm=0.05, thickness_mm=18.0)
    assert report.verdict is verdict


@pytest.mark.parametrize("thickness", [None, 19.0])
def test_rows_beside_an_edge_that_agrees_lie_apart_by_design(thickness: float | None) -> None:
    edge = offset_ring(np.array([(0.0, 0.0), (205.0, 0.0), (205.0, 400.0), (0.0, 400.0)]), 3.0)
    profiles = [Mill().contour(move.apply(edge), (11.0,)).program("edge.nc", 6.0) for move in (Isometry(), PAGE)]
    front = [*drilled(COLUMN, 13.0), profiles[0]]
    back = [*drilled(seen_from_the_back(moved(COLUMN, 0.0, 8.0)), 13.0), profiles[1]]
    report = check(front, back, flip=PAGE, tolerance_mm=0.2, thickness_mm=thickness)
    assert report.verdict is not Status.FAIL
    assert "an outline" not in (report.diagnosis or "")


@pytest.mark.parametrize("thickness", [None, 19.0])
def test_holes_in_no_order_are_the_same_holes_however_far_apart(thickness: float | None) -> None:
    assert checked(SCATTERED, moved(SCATTERED, 60.0, 40.0), 13.0, thickness).verdict is Status.FAIL
    assert checked(SCATTERED, seen_from_the_back(SCATTERED), 13.0, thickness).verdict is Status.FAIL


@pytest.mark.parametrize("larger", [-0.175, 0.0, 0.175], ids=["a smaller cutter", "one cutter", "a larger cutter"])
def test_paths_that_roll_round_corners_are_no_other_outline_where_tools_are_not_told(larger: float) -> None:
    box = np.array([(0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0)])
    sharp = Mill().contour(offset_ring(box, 3.0 + larger, join_style="mitre"), (10.0,))
    rolled = Mill().contour(PAGE.apply(offset_ring(box, 3.0)), (10.0,))
    told = [
        check([sharp.program(tool=ours)], [rolled.program(tool=theirs)], flip=PAGE, tolerance_mm=0.2).verdict
        for ours, theirs in ((None, None), (6.0 + 2.0 * larger, 6.0))
    ]
    assert told == [Status.NOT_DETERMINED, Status.PASS]


@pytest.mark.parametrize(("away", "asked"), [(16.0, 0), (12.0, 1)])
def test_a_row_of_slots_is_staggered_by_half_a_pitch_or_its_program_may_be_off(away: float, asked: int) -> None:
    """The outline agrees, so that nothing else asks where the slots of the back lie."""
    edge = np.array([(0.0, 0.0), (300.0, 0.0), (300.0, 120.0), (0.0, 120.0)])

    def face(move: Isometry, name: str, by: float) -> list[FaceProgram]:
        slots = Mill()
        for number in range(6):
            x = 30.0 + 32.0 * number + by
            slots.lines(np.column_stack([move.apply(np.array([(x, 20.0), (x, 100.0)])), [-3.0, -3.0]]))
        profile = Mill().contour(move.apply(offset_ring(edge, 3.0)), (11.0,))
        return [slots.program(f"{name}-slots.nc", 3.0), profile.program(f"{name}-edge.nc", 6.0)]

    report = check(face(Isometry(), "front", 0.0), face(PAGE, "back", away), flip=PAGE, tolerance_mm=0.2)
    assert sum("their program has another zero" in one.message for one in report.findings) == asked
    assert report.verdict is not Status.FAIL


def test_dowel_holes_at_both_ends_do_not_outvote_pins_that_agree() -> None:
    pins: Points = [(30.0, 30.0), (175.0, 30.0), (175.0, 370.0), (30.0, 370.0)]
    front, back = ([(60.0 + 20.0 * number, y) for number in range(5)] for y in (12.0, 388.0))
    faces = [drilled(pins, 19.5) + drilled(row, 13.0) for row in (front, back)]
    faces[1] = drilled(seen_from_the_back(pins), 19.5) + drilled(seen_from_the_back(back), 13.0)
    report = check(*faces, flip=PAGE, tolerance_mm=0.2, thickness_mm=19.0)
    assert report.verdict is not Status.FAIL


def test_words_that_are_engraved_at_different_places_of_both_faces_disprove_nothing() -> None:
    strokes = [((10.0, 10.0), (18.0, 14.0)), ((25.0, 12.0), (25.0, 24.0)), ((33.0, 9.0), (41.0, 21.0)),
               ((50.0, 16.0), (61.0, 10.0)), ((66.0, 8.0), (70.0, 25.0))]  # fmt: skip

    def word(move: Isometry, x: float, y: float) -> list[FaceProgram]:
        mill = Mill()
        for stroke in strokes:
            mill.lines(np.column_stack([move.apply(np.add(stroke, (x, y))), [-1.0, -1.0]]))
        return [mill.program("word.nc", None)]

    report = check(
        word(Isometry(), 0.0, 0.0), word(PAGE, 12.0, -9.0), flip=PAGE, tolerance_mm=0.2, thickness_mm=18.0
    )
    assert report.verdict is Status.NOT_DETERMINED
