"""Of the passes that clear a pocket or go round a profile, one is a feature of the part, told right."""

import numpy as np
import pytest
import shapely

from flipreg.findings import Status
from flipreg.geometry.isometry import Isometry
from flipreg.program.face import FaceProgram
from flipreg.register.check import check
from flipreg.register.faces.features import face_features
from tests.register.shapes import PADDLE, PAGE, STILL, Floats, Mill, offset_ring

BLADE = np.array([(0.0, 0.0), (60.0, 4.0), (120.0, 14.0), (60.0, 20.0), (0.0, 26.0)])
"""An opening that tapers: its passes are shorter than it by far more than a stepover."""


def inner_rings(edge: Floats, stepover_mm: float) -> list[Floats]:
    """Return the ways that clear what an edge encloses, the outermost last."""
    rings: list[Floats] = []
    left = shapely.Polygon(edge)
    while not left.is_empty:
        rings.insert(0, shapely.get_coordinates(left.exterior)[:-1])
        left = left.buffer(-stepover_mm, join_style="mitre", mitre_limit=10.0)
    return rings


@pytest.mark.parametrize("edge", [BLADE, PADDLE], ids=["tapers", "is even"])
def test_rings_that_clear_a_pocket_are_one_feature(edge: Floats) -> None:
    mill = Mill()
    for ring in inner_rings(edge, 3.0):
        mill.contour(ring, (12.0,))
    shown = face_features([mill.program("pocket.nc", 6.0)])
    assert len(shown.marks) == len(shown.outlines) == 1
    assert shown.marks.centre_mm[0] == pytest.approx(shapely.get_coordinates(shapely.Polygon(edge).centroid)[0])


def test_of_a_rough_and_a_last_pass_the_last_one_is_the_feature() -> None:
    mill = Mill().contour(offset_ring(PADDLE, 3.5), (12.0,)).contour(offset_ring(PADDLE, 3.0), (12.0,))
    shown = face_features([mill.program("profile.nc", 6.0)])
    assert len(shown.marks) == 1
    assert shown.marks.size_mm[0] == pytest.approx(np.sqrt(shapely.Polygon(offset_ring(PADDLE, 3.0)).area))


def test_which_of_two_openings_is_cleared_says_nothing_about_the_way_round() -> None:
    """The openings lie symmetrically; of the front's the left one is cleared, of the back's the one under the right."""
    box = np.array([(-40.0, -30.0), (245.0, -30.0), (245.0, 90.0), (-40.0, 90.0)])
    left, right = np.add(BLADE, (5.0, 10.0)), PAGE.apply(np.add(BLADE, (5.0, 10.0)))

    def face(move: Isometry, cleared: Floats, whole: Floats, depths: tuple[float, float]) -> list[FaceProgram]:
        mill = Mill()
        for ring in inner_rings(cleared, 3.0):
            mill.contour(move.apply(ring), (depths[0],))
        mill.contour(move.apply(whole), (depths[1],))
        mill.contour(move.apply(offset_ring(box, 3.0)), (9.5,))
        return [mill.program("all.nc", None)]

    front = face(STILL, left, right, (6.4, 12.6))
    back = face(PAGE, right, left, (6.4, 12.6))
    report = check(front, back, tolerance_mm=0.1)
    assert report.verdict is not Status.FAIL
    assert check(front, back, flip=PAGE, tolerance_mm=0.1).verdict is Status.PASS


def test_an_edge_of_both_faces_tells_which_openings_go_through() -> None:
    """Each face cuts some openings two thirds deep and others one third; the wood is no thicker than its edge is."""
    box = np.array([(0.0, 0.0), (205.0, 0.0), (205.0, 120.0), (0.0, 120.0)])

    def face(move: Isometry, depths: tuple[float, float], edge_mm: float) -> list[FaceProgram]:
        mill = Mill()
        for (x, y), depth in zip(((10.0, 20.0), (10.0, 70.0)), depths, strict=True):
            mill.contour(move.apply(np.add(BLADE, (x, y))), (depth,))
        mill.contour(move.apply(offset_ring(box, 3.0)), (edge_mm,))
        return [mill.program("all.nc", 6.0)]

    report = check(face(STILL, (12.6, 6.4), 6.4), face(PAGE, (6.4, 12.6), 12.6), flip=PAGE, tolerance_mm=0.1)
    assert report.verdict is Status.PASS
    assert report.register.outlines == 3


def test_a_last_pass_that_is_driven_at_two_depths_from_two_places_is_the_edge() -> None:
    mill = Mill().contour(offset_ring(PADDLE, 3.5), (11.6,))
    for depth, start in ((5.8, 0), (11.6, 7)):
        mill.contour(np.roll(offset_ring(PADDLE, 3.0), start, axis=0), (depth,), lead=4.0)
    shown = face_features([mill.program("profile.nc", 6.0)])
    assert [outline.loop.floor_mm for outline in shown.outlines] == [-11.6]
    assert shown.outlines[0].loop.area_mm2 == pytest.approx(shapely.Polygon(offset_ring(PADDLE, 3.0)).area)


def test_an_opening_in_a_rebate_is_the_deepest_pass_and_no_ring_of_the_rebate_beside_it() -> None:
    """A ring of the rebate's clearing runs beside the opening, nearer to where the front has it."""
    window = np.array([(40.0, 30.0), (160.0, 30.0), (160.0, 110.0), (40.0, 110.0)])

    def rebated(off: float) -> list[FaceProgram]:
        mill = Mill().contour(offset_ring(window, 40.0), (5.6,))
        for room in (-0.1, 3.0, 6.0):
            mill.contour(offset_ring(window, room), (5.0,))
        return [mill.contour(np.add(window, (0.0, off)), (5.6,)).program("window.nc", 6.0)]

    for off in (0.0, 0.35):
        _, *edges = (one.loop for one in face_features(rebated(off)).outlines)
        assert sorted(edge.floor_mm for edge in edges) == [-5.6, -5.0]
        deepest = min(edges, key=lambda edge: edge.floor_mm)
        assert deepest.box_mm[1] == pytest.approx(30.0 + off)


def test_an_edge_that_is_rounded_over_in_steps_is_the_way_that_cuts_it_through() -> None:
    """The lowest step, of a wider tool, lies farther out than the profile; of the back the profile is off."""

    def face(move: Isometry, off: float) -> list[FaceProgram]:
        steps, profile = Mill(), Mill()
        for room, depth in ((1.6, 1.7), (2.6, 3.3), (3.0, 5.0)):
            steps.contour(move.apply(offset_ring(PADDLE, room)), (depth,))
        profile.contour(move.apply(np.add(offset_ring(PADDLE, 2.0), (0.0, off))), (13.0,))
        return [steps.program("round-over.nc", 6.0), profile.program("profile.nc", 4.0)]

    verdicts = [
        check(face(STILL, 0.0), face(PAGE, off), flip=PAGE, tolerance_mm=0.3, thickness_mm=25.0).verdict
        for off in (0.0, 0.58)
    ]
    assert verdicts == [Status.PASS, Status.FAIL]
