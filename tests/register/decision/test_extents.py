"""Extents as evidence: they never prove, and contradict only what nothing else explains."""

from decimal import Decimal

import numpy as np

from flipreg.geometry.isometry import Isometry
from flipreg.program.face import FaceProgram
from flipreg.register.decision.extents import Cutting, extents
from flipreg.register.faces.chords import Cut, wood_top
from flipreg.register.faces.placement import Placement
from tests.register.shapes import PADDLE, Floats, Mill, offset_ring, ring

PAGE = Isometry.mirror_x(datum_mm=(Decimal(205), Decimal(0)))


def _cutting(program: FaceProgram) -> Cutting:
    radius = None if program.tool_diameter_mm is None else program.tool_diameter_mm / 2
    return [(Cut.of(program.path, wood_top(program.path)), radius)]


def _back(outline: Floats, tool: float | None = 6.0) -> Cutting:
    return _cutting(Mill().contour(PAGE.apply(outline)).program("back.nc", tool))


FRONT = _cutting(Mill().contour(offset_ring(PADDLE, 3.0)).program())
WHERE = Placement.of(~PAGE)


def test_extents_of_one_outline_agree_on_both_axes() -> None:
    x, y = extents(FRONT, _back(offset_ring(PADDLE, 3.0)), WHERE)
    assert (x.axis, y.axis) == ("x", "y")
    assert abs(x.offset_mm) < 0.2
    assert abs(y.offset_mm) < 0.2
    assert not x.contradicts
    assert not y.contradicts


def test_a_face_that_is_half_a_part_off_is_contradicted_on_that_axis_only() -> None:
    x, y = extents(FRONT, _back(offset_ring(PADDLE, 3.0) + np.array([0.0, 40.0])), WHERE)
    assert not x.contradicts
    assert y.contradicts
    assert abs(y.offset_mm - 40.0) < 0.2


def test_a_small_pocket_anywhere_inside_contradicts_nothing() -> None:
    for x_mm, y_mm in ((20.0, 30.0), (150.0, 40.0)):
        pocket = ring((0, 0), (20, 0), (20, 20), (0, 20)) + np.array([x_mm, y_mm])
        assert not any(one.contradicts for one in extents(FRONT, _back(pocket), WHERE))


def test_a_lead_in_from_the_other_side_contradicts_nothing() -> None:
    front = _cutting(Mill().contour(offset_ring(PADDLE, 3.0), lead=15.0).program())
    assert not any(one.contradicts for one in extents(front, _back(offset_ring(PADDLE, 3.0)), WHERE))


def test_a_tool_that_was_not_named_may_be_wide() -> None:
    known = extents(FRONT, _back(offset_ring(PADDLE, 3.0) + np.array([0.0, 12.0])), WHERE)
    unknown = extents(FRONT, _back(offset_ring(PADDLE, 3.0) + np.array([0.0, 12.0]), tool=None), WHERE)
    assert [one.contradicts for one in known] == [False, True]
    assert [one.contradicts for one in unknown] == [False, False]


def test_faces_that_cut_nothing_across_have_no_extents() -> None:
    drilled = _cutting(Mill().drill(20.0, 20.0).program())
    assert extents(FRONT, drilled, WHERE) == ()
