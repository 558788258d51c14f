"""Blanks that bend twice, against a side view drawn with points and straight lines.

The builder's way: the planes of the three sections are lines in the side view, each with its other face T beside it;
corners are where neighbouring lines meet, and a tape is the sum of the pieces it lies on. Nothing of flipreg's
formulas is used.
"""

from dataclasses import dataclass, replace
from itertools import pairwise
from math import cos, hypot, radians, sin, tan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from flipreg.job.blank import Blank, BlankFace, Edge
from flipreg.job.job import Job
from flipreg.job.layout import Layout
from flipreg.job.mark import Carried, Mark, Square
from flipreg.job.pose import blank_from_setup
from flipreg.job.setup import Section, Setup, Tilt, ZZero
from tests.job.jobs import BACK, FRONT, job, setup

__all__ = ["Shape", "bent_twice", "shapes"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Drawing:
    """Corners of each face in the side view, (y, z), from the near end to the far end."""

    corners: dict[BlankFace, list[Floats]]

    def tape(self, face: BlankFace, piece: int, share: float) -> tuple[float, Floats]:
        """Return what a tape on a face reads at a share of one of its three pieces, and the place there."""
        points = self.corners[face]
        before = sum(hypot(*(b - a)) for a, b in pairwise(points[: piece + 1]))
        start, end = points[piece], points[piece + 1]
        return before + share * hypot(*(end - start)), start + share * (end - start)


@dataclass(frozen=True)
class Shape:
    """A blank that bends twice: T, where the hinges are on the straight section, their faces and leans, both ends."""

    thickness: float
    hinges: tuple[float, float]
    faces: tuple[BlankFace, BlankFace]
    leans: tuple[float, float]
    ends: tuple[float, float]

    def drawing(self) -> Drawing:
        thickness = self.thickness
        rise = [radians(lean) for lean in self.leans]
        # Directions of the sections, away from the near end; the near one rises towards its own end.
        ways = [np.array(way) for way in ((cos(rise[0]), -sin(rise[0])), (1.0, 0.0), (cos(rise[1]), sin(rise[1])))]
        up = [np.array([-way[1], way[0]]) for way in ways]
        hinges = [np.array([y, 0.0 if face is FRONT else -thickness])
                  for y, face in zip(self.hinges, self.faces, strict=True)]  # fmt: skip
        on_front = [
            hinges[0] if self.faces[0] is FRONT else hinges[0] + thickness * up[0],
            np.zeros(2),
            hinges[1] if self.faces[1] is FRONT else hinges[1] + thickness * up[2],
        ]
        lines = {
            FRONT: list(zip(on_front, ways, strict=True)),
            BACK: [(point - thickness * normal, way) for point, normal, way in zip(on_front, up, ways, strict=True)],
        }
        corners = {face: [_meet(a, b) for a, b in pairwise(found)] for face, found in lines.items()}
        near = corners[FRONT][0] - self.ends[0] * ways[0]
        far = corners[FRONT][1] + self.ends[1] * ways[2]
        return Drawing(
            {
                FRONT: [near, *corners[FRONT], far],
                BACK: [near - thickness * up[0], *corners[BACK], far - thickness * up[2]],
            }
        )


def _meet(one: tuple[Floats, Floats], other: tuple[Floats, Floats]) -> Floats:
    (p, u), (q, v) = one, other
    along, _ = np.linalg.solve(np.array([u, -v]).T, q - p).tolist()
    return np.asarray(p + along * u)


shapes = st.builds(
    Shape,
    thickness=st.floats(5, 60),
    hinges=st.tuples(st.floats(-400, -150), st.floats(150, 400)),
    faces=st.tuples(st.sampled_from(BlankFace), st.sampled_from(BlankFace)),
    leans=st.tuples(*[st.floats(1, 40).flatmap(lambda lean: st.sampled_from([lean, -lean]))] * 2),
    ends=st.tuples(st.floats(150, 400), st.floats(150, 400)),
)


def bent_twice(shape: Shape, more: list[Mark], setups: list[Setup]) -> Job:
    drawn = shape.drawing()
    front = drawn.corners[FRONT]
    origin = hypot(*(front[1] - front[0])) - front[1][0]
    tilts = [
        Tilt("N", shape.leans[0], Section.NEAR),
        Tilt("F", shape.leans[1], Section.FAR),
    ]
    hinges = [
        Mark(name, (face,), drawn.tape(face, piece, 0.0)[0])
        for name, face, piece in zip("NF", shape.faces, (1, 2), strict=True)
    ]
    length = drawn.tape(FRONT, 2, 1.0)[0]
    made = job(
        [*setups, *(setup(f"tilted {tilt.hinge}", tilt=tilt) for tilt in tilts)],
        [*hinges, *more],
        thickness_mm=shape.thickness,
    )
    blank = Blank(length, 100.0, shape.thickness, Edge.LEFT, 45.0)
    return replace(made, blank=blank, marks=(Mark("A", (FRONT,), origin), *made.marks[1:]))


@given(shapes, st.lists(st.tuples(st.sampled_from(BlankFace), st.integers(0, 2), st.floats(0.02, 0.98)), min_size=1))
def test_every_mark_is_where_the_tape_on_its_face_comes_to_lie(
    shape: Shape, places: list[tuple[BlankFace, int, float]]
) -> None:
    drawn = shape.drawing()
    read = [(face, *drawn.tape(face, piece, share)) for face, piece, share in places]
    marks = [Mark(f"m{row}", (face,), along) for row, (face, along, _) in enumerate(read)]
    layout = Layout.of(bent_twice(shape, marks, []))
    for row, (face, along, point) in enumerate(read):
        place = layout.place(layout.job.mark(f"m{row}"), face)
        assert place.point_mm[1:] == pytest.approx(point.tolist(), abs=1e-8)
        assert place.along_mm == pytest.approx(along, abs=1e-8)


@given(shapes)
def test_both_faces_have_their_corners_where_the_drawing_has_them(shape: Shape) -> None:
    drawn = shape.drawing()
    carried = [
        Mark(f"ridge {name}", (face.other,), None, carried=Carried(name, Square.RIDGE))
        for name, face in zip("NF", shape.faces, strict=True)
    ]
    layout = Layout.of(bent_twice(shape, carried, []))
    for number, bend in enumerate((layout.near, layout.far)):
        assert bend is not None
        for face in BlankFace:
            assert bend.corner(face)[0] == pytest.approx(drawn.corners[face][number + 1][0], abs=1e-8)
    for number, mark in enumerate(carried):
        place = layout.place(mark, mark.faces[0])
        corner = drawn.corners[mark.faces[0]][number + 1]
        assert place.point_mm[1:] == pytest.approx(corner.tolist(), abs=1e-8)
        assert place.along_mm == pytest.approx(drawn.tape(mark.faces[0], number + 1, 0.0)[0], abs=1e-8)


@given(shapes, st.sampled_from(Section), st.sampled_from(BlankFace), st.floats(0.1, 0.9), st.floats(-40, 40))
def test_what_a_tilted_setup_cuts_at_its_zero_is_on_the_face_that_is_up(
    shape: Shape, section: Section, up: BlankFace, share: float, jog: float
) -> None:
    drawn = shape.drawing()
    piece, number = (0, 0) if section is Section.NEAR else (2, 1)
    along, point = drawn.tape(up, piece, share)
    tilt = Tilt("NF"[number], shape.leans[number], section)
    axis = None if up is FRONT else "y"
    lies = Setup("cut", up, axis, "on it", (0.0, jog), ZZero.TOP, (), 0, tilt)  # type: ignore[arg-type]
    made = bent_twice(shape, [Mark("on it", (up,), along)], [lies])
    start, end = drawn.corners[up][piece], drawn.corners[up][piece + 1]
    way = (end - start) / hypot(*(end - start))
    zero = blank_from_setup(made, lies).offset_mm
    assert zero[1:] == pytest.approx((point + jog * way).tolist(), abs=1e-8)


def test_the_far_hinge_on_the_back_is_off_by_two_half_tangents_where_the_near_one_is_forgotten() -> None:
    # T = 30, the near section leans 10 degrees: over an inner corner on the front the back's tape reads
    # 2 · 30 · tan 5° = 5.249 mm more, so that 300 on the back is 94.751 from the origin and not 100.
    shape = Shape(30.0, (-100.0, 94.7506801884), (FRONT, BACK), (10.0, 12.0), (100.0, 100.0))
    assert shape.drawing().tape(BACK, 2, 0.0)[0] == pytest.approx(300.0, abs=1e-6)
    layout = Layout.of(bent_twice(shape, [], []))
    assert layout.far is not None
    assert layout.far.hinge_y_mm == pytest.approx(100.0 - 60.0 * tan(radians(5.0)), abs=1e-6)
