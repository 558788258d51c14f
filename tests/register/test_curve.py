"""Distances between outlines against shapely, which knows nothing of ours."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from flipreg.geometry.isometry import Isometry
from flipreg.register.faces.features import face_features
from flipreg.register.faces.nearest_chord import NearestChord
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.match import two_way
from flipreg.register.placing.matching import Faces
from tests.register.shapes import PADDLE, Mill, offset_ring, paddle, ring


@settings(max_examples=25, deadline=None)
@given(dx=st.floats(-3, 3), dy=st.floats(-3, 3), turn=st.floats(-2, 2))
def test_the_worst_distance_is_the_hausdorff_distance(dx: float, dy: float, turn: float) -> None:
    contour = [Mill().contour(PADDLE).program(tool=None)]
    faces = Faces(face_features(contour), face_features(contour), 0.1)
    moved = Placement.of(Isometry()).moved(np.radians(turn), np.zeros(2), np.array([dx, dy]))
    pair = faces.pair(0, 0)
    worst = max(
        float(off.max()) for off in two_way(pair, moved, pair.front_curve.samples_mm, pair.back_curve.samples_mm)
    )
    original = shapely.LinearRing(PADDLE)
    other = affinity.translate(affinity.rotate(original, turn, origin=(0, 0)), dx, dy)
    expected = shapely.hausdorff_distance(original, other, densify=0.01)
    assert worst == pytest.approx(expected, abs=0.02)


@pytest.mark.parametrize("radius", [0.5, 1.5, 3.0, 6.0])
def test_the_edge_of_a_profile_is_the_drawing_whatever_the_tool(radius: float) -> None:
    convex = ring((0, 0), (120, -8), (200, 20), (190, 90), (60, 100))
    face = [Mill().contour(offset_ring(convex, radius)).program(tool=2 * radius)]
    faces = Faces(face_features(face), face_features(face), 0.1)
    edge = shapely.Polygon(faces.pair(0, 0).front_curve.ring_mm)
    assert shapely.hausdorff_distance(edge.exterior, shapely.LinearRing(convex)) < 0.002


def test_sharp_and_rounded_corners_of_a_path_leave_one_edge() -> None:
    sharp = [Mill().contour(offset_ring(PADDLE, 3.0, join_style="mitre")).program()]
    faces = Faces(face_features(paddle(holes=())), face_features(sharp), 0.1)
    pair = faces.pair(0, 0)
    off = two_way(pair, Placement.of(Isometry()), pair.front_curve.samples_mm, pair.back_curve.samples_mm)
    assert max(float(part.max()) for part in off) < 0.002


@settings(max_examples=25, deadline=None)
@given(
    corners=st.lists(st.tuples(st.floats(-50, 50), st.floats(-50, 50)), min_size=3, max_size=40, unique=True),
    points=st.lists(st.tuples(st.floats(-300, 300), st.floats(-300, 300)), min_size=1, max_size=30),
)
def test_the_nearest_chord_is_the_one_that_shapely_measures_as_nearest(
    corners: list[tuple[float, float]], points: list[tuple[float, float]]
) -> None:
    closed, at = np.array([*corners, corners[0]]), np.array([*points, *corners])
    chords = np.asarray(shapely.linestrings(np.stack([closed[:-1], closed[1:]], axis=1)))
    nearest = shapely.distance(chords[NearestChord(closed).of(at)], shapely.points(at))
    assert nearest == pytest.approx(shapely.distance(shapely.LineString(closed), shapely.points(at)), abs=1e-9)
