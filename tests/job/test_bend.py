"""Carried lines and tapes on bent blanks against a plain construction of the side view with shapely.

The side view is drawn as a builder would: one face's polyline with its corner at the hinge, the other face offset by
the thickness with a mitred corner, squares as rays at right angles. What flipreg works out by formulas is read
off that drawing.
"""

from math import cos, radians, sin, tan

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from flipreg.job.bend import Bend
from flipreg.job.blank import BlankFace
from flipreg.job.layout import Layout
from flipreg.job.mark import Square
from flipreg.job.setup import Section
from tests.every import every
from tests.job.jobs import BACK, FRONT, bent_job

Floats = NDArray[np.float64]

CASES = every(
    "hinge_face, section, angle_deg",
    [(face, section, angle) for face in BlankFace for section in Section for angle in (12.0, -12.0, 35.0, -3.5)],
)


def drawing(layout: Layout) -> tuple[shapely.LineString, shapely.LineString]:
    """Return front and back of the side view, from the near end: points are (y, z) of the blank frame."""
    bend = layout.far or layout.near
    assert bend is not None
    thickness = layout.thickness_mm
    hinge = np.array([bend.hinge_y_mm, 0.0 if bend.hinge_face is FRONT else -thickness])
    rise = radians(bend.lean_deg)
    along, leaning = np.array([1000.0, 0.0]), 1000.0 * np.array([cos(rise), sin(rise)])
    if bend.section is Section.FAR:
        points = [hinge - along, hinge, hinge + leaning]
    else:
        points = [hinge + leaning * (-1.0, 1.0), hinge, hinge + along]
    own = shapely.LineString(points)
    # Left of the way along +y is +z.
    way = -thickness if bend.hinge_face is FRONT else thickness
    other = shapely.offset_curve(own, way, join_style="mitre", mitre_limit=100.0)
    assert isinstance(other, shapely.LineString)
    return (own, other) if bend.hinge_face is FRONT else (other, own)


def cut_square(layout: Layout, square: Square, from_face: BlankFace) -> Floats:
    """Return where a square's blade, laid on the corner of a face, meets the other face of the drawing."""
    bend = layout.far or layout.near
    assert bend is not None
    faces = dict(zip(BlankFace, drawing(layout), strict=True))
    start = np.array(faces[from_face].coords[1])
    other = faces[from_face.other]
    if square is Square.RIDGE:
        return np.array(other.coords[1])
    rise = radians(bend.turn_deg) if square is Square.BENT else 0.0
    inwards = np.array([-sin(rise), cos(rise)]) * (-1.0 if from_face is FRONT else 1.0)
    met = shapely.LineString([start, start + 500.0 * inwards]).intersection(other)
    return np.asarray(shapely.get_coordinates(met)[0])


def point(layout: Layout, bend: Bend, square: Square, from_face: BlankFace) -> list[float]:
    line = bend.carried(square, from_face)
    frame = layout.blank_from_section(line.bend)
    flat = np.array([[0.0, line.y_mm, layout.face_z_mm(line.face)]])
    y_mm, z_mm = frame.apply(flat)[0, 1:].tolist()
    return [y_mm, z_mm]


@CASES
@every("square", list(Square))
@every("from_face", list(BlankFace))
def test_every_carried_line_is_where_the_drawing_has_it(
    hinge_face: BlankFace, section: Section, angle_deg: float, square: Square, from_face: BlankFace
) -> None:
    layout = Layout.of(bent_job(hinge_face, section, angle_deg))
    bend = layout.far or layout.near
    assert bend is not None
    expected = cut_square(layout, square, from_face)
    assert point(layout, bend, square, from_face) == pytest.approx(expected.tolist(), abs=1e-9)


@CASES
@every("name", ["near", "far", "far back", "near back", "A", "H"])
def test_a_tape_on_the_wood_reads_the_distance_of_each_mark(
    hinge_face: BlankFace, section: Section, angle_deg: float, name: str
) -> None:
    job = bent_job(hinge_face, section, angle_deg)
    layout = Layout.of(job)
    mark = job.mark(name)
    assert mark.along_mm is not None
    front, back = drawing(layout)
    for face in mark.faces:
        place = layout.place(mark, face)
        line = front if face is FRONT else back
        # The tape's zero is the near end: on the front it is known from the origin, on the back it is square to it.
        zero_front = front.project(shapely.Point(0.0, 0.0)) - job.origin_along_mm
        end = shapely.get_coordinates(front.interpolate(zero_front))[0]
        zero = zero_front if face is FRONT else line.project(shapely.Point(end))
        expected = shapely.get_coordinates(line.interpolate(zero + mark.along_mm))[0]
        assert place.point_mm == pytest.approx((mark.across_mm, *expected.tolist()), abs=1e-9)
        assert place.along_mm == pytest.approx(mark.along_mm, abs=1e-9)


def test_the_three_lines_on_the_back_of_the_paddle() -> None:
    # 34 mm, 12 degrees towards the front: 34 · tan 6° = 3.5735 from the ridge to either carried line along the face.
    layout = Layout.of(bent_job(FRONT, Section.FAR, 12.0, thickness_mm=34.0))
    job = layout.job
    straight, bent, ridge = (layout.place(job.mark(name), BACK) for name in ("S", "B", "R"))
    assert (straight.line.bend, ridge.line.bend) == (None, None)
    assert bent.line.bend is layout.far
    assert ridge.point_mm[1] - straight.point_mm[1] == pytest.approx(3.5735, abs=5e-5)
    assert bent.along_mm - ridge.along_mm == pytest.approx(34.0 * tan(radians(6.0)), abs=1e-12)
    # Half-way between front hinge and ridge lies on the bisector of the sections.
    across = np.subtract(layout.place(job.mark("H"), FRONT).point_mm, ridge.point_mm)
    assert np.degrees(np.arctan2(-across[1], across[2])) == pytest.approx(6.0, abs=1e-9)


def test_over_an_inner_corner_a_carried_line_comes_out_on_the_other_section() -> None:
    # Leaning back, the back is concave: a square resting on the straight section meets the bent one.
    layout = Layout.of(bent_job(FRONT, Section.FAR, -12.0))
    straight = layout.place(layout.job.mark("S"), BACK)
    assert straight.line.bend is layout.far
    assert straight.point_mm[2] == pytest.approx(-30.0 / cos(radians(12.0)), abs=1e-12)
    assert layout.place(layout.job.mark("B"), BACK).line.bend is None


def test_without_a_bend_all_lines_are_straight_across() -> None:
    layout = Layout.of(bent_job(FRONT, Section.FAR, 1e-9))
    places = [layout.place(layout.job.mark(name), BACK).point_mm for name in ("S", "B", "R")]
    assert np.ptp(np.array(places), axis=0).max() < 1e-8


def test_a_mark_is_not_on_the_other_face() -> None:
    layout = Layout.of(bent_job(FRONT, Section.FAR, 12.0))
    with pytest.raises(ValueError, match="not drawn on the back"):
        layout.place(layout.job.mark("H"), BACK)
