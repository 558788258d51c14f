"""The flip is found from what both faces share, and symmetric parts say that they are."""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flipreg.geometry.isometry import Isometry
from flipreg.program.face import Face
from flipreg.register.check import check
from flipreg.register.faces.features import face_features
from flipreg.register.placing.evidence import are_apart, outweighs
from flipreg.register.placing.matching import Faces
from flipreg.register.placing.search import Fit, FlipFound, choose, fits
from tests.register.shapes import (
    PADDLE,
    PAGE,
    STILL,
    TRAY_HOLES,
    Mill,
    offset_ring,
    paddle,
    ring,
    rounded,
    tray,
)


def find_flip(front: Face, back: Face, tolerance_mm: float) -> FlipFound:
    return choose(fits(Faces.of(face_features(front), face_features(back), tolerance_mm)))


def is_sure(found: FlipFound) -> bool:
    return found.best is not None and found.best.is_passing and not found.others


def answers(found: FlipFound) -> list[Fit]:
    return [] if found.best is None else [found.best, *found.others, *found.not_mirrored]


MM = st.decimals(-400, 400, places=2)


@settings(max_examples=12, deadline=None)
@given(axis=st.sampled_from(["x", "y"]), x=MM, y=MM, tool=st.sampled_from([3.0, 6.0]), data=st.data())
def test_any_flip_of_an_asymmetric_part_is_found(
    axis: str, x: Decimal, y: Decimal, tool: float, data: st.DataObject
) -> None:
    mirror = Isometry.mirror_x if axis == "y" else Isometry.mirror_y
    kept = data.draw(st.sampled_from(["outline", "holes", "both"]))
    front, back = paddle(), paddle(mirror(datum_mm=(x, y)), tool=tool)
    if kept != "both":
        row = 0 if kept == "outline" else 1
        front, back = front[row : row + 1], back[row : row + 1]
    found = find_flip(front, back, 0.1)
    assert found.best is not None
    assert is_sure(found)
    assert found.best.orientation.axis == axis
    assert found.best.datum_mm == pytest.approx((float(x), float(y)), abs=0.002)


@settings(max_examples=10, deadline=None)
@given(
    corners=st.lists(st.tuples(st.integers(0, 300), st.integers(0, 200)), min_size=5, max_size=12, unique=True),
    x=MM,
    y=MM,
)
def test_random_holes_are_never_explained_worse_than_by_the_truth(
    corners: list[tuple[int, int]], x: Decimal, y: Decimal
) -> None:
    front, back = Mill(), Mill()
    flip = Isometry.mirror_x(datum_mm=(x, y))
    for corner in corners:
        front.drill(*corner)
        back.drill(float(x) - corner[0], corner[1] - float(y))
    found = find_flip([front.program()], [back.program()], 0.05)
    told = [(fit.orientation.axis, fit.placement.isometry) for fit in answers(found)]
    # Few random holes may be symmetric: then the truth is among the answers.
    assert any(
        axis == "y" and isometry.offset_mm.tolist() == pytest.approx((~flip).offset_mm.tolist(), abs=0.002)
        for axis, isometry in told
    )


def test_a_back_that_is_not_mirrored_says_so() -> None:
    found = find_flip(paddle(), paddle(STILL), 0.1)
    assert found.best is not None
    assert found.best.orientation.words == "not mirrored"
    assert found.best.datum_mm == (0.0, 0.0)
    turned = find_flip(paddle(), paddle(Isometry.rotation(180.0)), 0.1)
    assert turned.best is not None
    assert turned.best.orientation.words == "not mirrored, turned by 180°"


def test_a_symmetric_part_has_alternatives() -> None:
    found = find_flip(tray(), tray(Isometry.mirror_x(datum_mm=(Decimal(300), Decimal(0)))), 0.1)
    assert not is_sure(found)
    assert [(fit.orientation.axis, fit.orientation.is_turned) for fit in answers(found)] == [
        ("y", False),
        ("x", False),
        ("none", False),
        ("none", True),
    ]
    assert [fit.datum_mm for fit in answers(found)] == [(300.0, 0.0), (0.0, 200.0), (0.0, 0.0), (300.0, 200.0)]


def test_a_symmetric_outline_with_asymmetric_holes_is_sure() -> None:
    holes = (*TRAY_HOLES[:3], (30.0, 180.0))
    flip = Isometry.mirror_y(datum_mm=(Decimal(0), Decimal(200)))
    found = find_flip(tray(holes=holes), tray(flip, holes=holes), 0.1)
    assert is_sure(found)
    assert found.best is not None
    assert found.best.orientation.axis == "x"


def test_one_mirror_line_leaves_two_answers() -> None:
    kite = ring((0, 0), (60, -40), (150, 0), (60, 40))
    face = [Mill().contour(offset_ring(kite, 3)).program()]
    found = find_flip(face, face, 0.1)
    # Mirrored about its own line (an end-over-end flip) the kite is as it was.
    assert [fit.orientation.axis for fit in answers(found)] == ["x", "none"]


def test_a_difference_below_the_tolerance_does_not_break_symmetry() -> None:
    slightly = rounded(300, 200, 15)
    slightly[(slightly[:, 0] > 299) & (slightly[:, 1] > 100)] += (0.05, 0.0)
    face = [Mill().contour(slightly).program()]
    assert len(answers(find_flip(face, face, 0.1))) == 4
    assert len(answers(find_flip(face, face, 0.01))) == 1


def test_nothing_shared_finds_nothing() -> None:
    other = [Mill().drill(10, 10).program()]
    assert find_flip([Mill().contour(PADDLE).program()], other, 0.1).best is None


def drilled(points: list[tuple[float, float]]) -> Face:
    mill = Mill()
    for x, y in points:
        mill.drill(x, y, cycle=True)
    return [mill.program()]


def test_the_flip_of_more_holes_than_are_looked_at_first_is_found() -> None:
    random = np.random.default_rng(5)
    points = random.uniform((0.0, 0.0), (900.0, 500.0), (900, 2)).round(2).tolist()
    found = find_flip(drilled(points), drilled([(850.0 - x, y) for x, y in points]), 0.1)
    assert is_sure(found)
    assert found.best is not None
    assert found.best.orientation.axis == "y"
    assert found.best.datum_mm == pytest.approx((850.0, 0.0), abs=0.01)
    assert found.best.evidence.coincide == len(points)


def test_a_large_lattice_of_holes_is_not_sure() -> None:
    lattice = [(5.0 * column, 5.0 * row) for row in range(25) for column in range(40)]
    found = find_flip(drilled(lattice), drilled([(200.0 - x, y) for x, y in lattice]), 0.1)
    assert len(answers(found)) == 4


def test_where_every_feature_has_its_partner_no_other_place_explains_more() -> None:
    front = face_features(paddle())
    there = fits(Faces.of(front, front, 0.1))[0].evidence
    told = replace(there, coincide=there.features, through=there.through - 4)
    assert not outweighs(there, told)
    assert outweighs(there, replace(told, coincide=there.features - 1))


@pytest.mark.parametrize("misplaced", [1, 3])
def test_one_misplaced_hole_of_a_row_does_not_move_the_back_by_a_pitch(misplaced: int) -> None:
    front, back = Mill(), Mill()
    for number in range(5):
        front.drill(64.0 * number, 0.0)
        back.drill(-64.0 * number + 1.6 * (number == misplaced), 0.0)
    front.contour(rounded(20, 10, 4, x=-40, y=30), (4.0,))
    report = check([front.program()], [back.program("back.nc")], axis="y", tolerance_mm=0.5)
    assert report.in_register is None
    assert report.register.holes != 3


def test_placements_that_outlines_alone_tell_are_not_told_by_different_features() -> None:
    faces = Faces.of(face_features(tray()), face_features(tray(PAGE)), 0.1)
    evidence = fits(faces)[0].evidence
    none = np.empty(0, np.intp)
    by_outlines = replace(evidence, agreement=replace(evidence.agreement, front=none, back=none))
    assert not are_apart(by_outlines, by_outlines)
