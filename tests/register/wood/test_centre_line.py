"""The centre line of a face against shapes whose axis is known by how they are made."""

from decimal import Decimal
from math import cos, radians, sin

import numpy as np
import pytest

from flipreg.findings import Status
from flipreg.geometry.isometry import Isometry
from flipreg.path import Path
from flipreg.program.face import FaceProgram
from flipreg.register.faces.placement import Placement
from flipreg.register.wood.centre_line import CentreLine, CentreLines, agreement, centre_lines
from flipreg.register.wood.mesh import Mesh
from tests.register.carved import (
    Height,
    Placed,
    board,
    bowl,
    cuts_of,
    dish,
    lopsided,
    neck,
    paddle,
    raster,
    scroll,
    spiral,
)
from tests.register.shapes import Mill

AT = (3.21, -7.13)


def _lines(*programs: FaceProgram) -> CentreLines:
    return centre_lines(cuts_of(*programs))


def _only(*programs: FaceProgram) -> CentreLine:
    found = _lines(*programs)
    assert len(found.lines) == 1, found
    return found.lines[0]


def _off(line: CentreLine, at: tuple[float, float], turn_deg: float) -> float:
    """Return the distance of a line's point from the line through a place at a turn."""
    dx, dy = line.point_mm[0] - at[0], line.point_mm[1] - at[1]
    return abs(cos(radians(turn_deg)) * dy - sin(radians(turn_deg)) * dx)


def _check(line: CentreLine, at: tuple[float, float], turn_deg: float, *, within_mm: float, within_deg: float) -> None:
    off, turn = _off(line, at, turn_deg), abs(line.direction_deg - turn_deg)
    assert off < within_mm
    assert turn < within_deg
    assert off < 3 * line.uncertainty_mm
    assert turn < 3 * line.uncertainty_deg


def test_a_centre_line_is_found_where_it_is_and_at_its_turn() -> None:
    line = _only(raster(Placed(paddle, AT, 1.3), 180.0, 2.0))
    _check(line, AT, 1.3, within_mm=0.002, within_deg=0.002)
    assert line.residual_mm < 0.01 < 1.0 < line.asymmetry_mm


def test_passes_along_the_line_that_lie_anyhow_to_it_do_not_move_it() -> None:
    line = _only(raster(Placed(neck, AT, 90.0), 230.0, 1.7, along="y", phase=0.81))
    _check(line, AT, 90.0, within_mm=0.01, within_deg=0.005)


def test_passes_fifteen_millimetres_apart_across_the_line_are_enough() -> None:
    line = _only(raster(Placed(neck, AT, 91.0), 230.0, 15.0, along="x"))
    _check(line, AT, 91.0, within_mm=0.005, within_deg=0.003)


def test_a_finish_over_a_rougher_pass_is_what_counts() -> None:
    shape = Placed(paddle, AT, 0.0)
    rough = raster(shape, 180.0, 5.0, along="y", phase=0.9, above=0.6)
    line = _only(rough, raster(shape, 180.0, 2.4))
    _check(line, AT, 0.0, within_mm=0.005, within_deg=0.005)


def test_a_spiral_is_read_like_a_raster() -> None:
    line = _only(spiral(Placed(paddle, AT, 2.0), 170.0, 4.0))
    _check(line, AT, 2.0, within_mm=0.01, within_deg=0.005)


def test_a_tray_has_two_centre_lines() -> None:
    found = _lines(raster(Placed(dish, AT, 0.4), 180.0, 1.5))
    assert len(found.lines) == 2
    along, across = sorted(found.lines, key=lambda line: line.direction_deg)
    _check(along, AT, 0.4, within_mm=0.02, within_deg=0.01)
    _check(across, AT, 90.4, within_mm=0.02, within_deg=0.01)


def test_tabs_lead_ins_and_a_letter_on_one_side_do_not_move_it() -> None:
    carved = raster(Placed(paddle, AT, 0.0), 180.0, 2.5)
    mill = Mill()
    for step in range(6):
        mill.lines(np.array([[40.0 + step, 10.0, -16.0], [40.0 + step, 30.0, -16.0]]))
    ramp = np.array([[-150.0, 60.0, -0.1], [-120.0, 20.0, -14.0], [-100.0, 20.0, -14.0]])
    mill.lines(ramp)
    line = _only(carved, mill.program("letter.nc", None))
    _check(line, AT, 0.0, within_mm=0.01, within_deg=0.01)


@pytest.mark.parametrize(
    ("shape", "reason"),
    [(bowl, "round"), (board, "flat"), (scroll, "not symmetric"), (lopsided, "not symmetric")],
)
def test_a_face_that_has_no_centre_line_claims_none(shape: Height, reason: str) -> None:
    found = _lines(raster(Placed(shape, AT, 0.0), 230.0, 3.0, along="y"))
    assert found.lines == ()
    assert found.reason is not None
    assert reason in found.reason


def test_a_face_without_cutting_says_so() -> None:
    assert centre_lines(cuts_of(FaceProgram(Path.empty(), "empty.nc"))).reason == "nothing is cut that has an area"


def _line(x: float, y: float, direction: float, mm: float = 0.01, deg: float = 0.001) -> CentreLine:
    return CentreLine((x, y), direction, mm, deg, 0.01, 3.0, 1.0)


PAGE = Placement.of(~Isometry.mirror_x(datum_mm=(Decimal(100), Decimal(5))))
"""The back's zero at (100, 5) of the front, its X the other way."""


def test_centre_lines_agree_where_the_flip_carries_one_to_the_other() -> None:
    front, back = _line(20.0, 50.0, 90.5), _line(80.0 - np.tan(np.radians(0.5)) * 100.0, -55.0, 89.5)
    found = agreement(front, back, PAGE, tolerance_mm=0.1)
    assert found.offset_mm == pytest.approx(0.0, abs=1e-9)
    assert found.turn_deg == pytest.approx(0.0, abs=1e-9)
    assert found.status is Status.PASS


def test_an_offset_and_a_turn_between_centre_lines_are_told_with_their_uncertainty() -> None:
    front, back = _line(20.0, 50.0, 90.0, 0.03), _line(80.4, 45.0, 90.2, 0.04)
    found = agreement(front, back, PAGE, tolerance_mm=0.1)
    # The front's line runs up, so that left of it is smaller X, where the back's line is.
    assert found.offset_mm == pytest.approx(0.4)
    assert found.turn_deg == pytest.approx(-0.2)
    assert found.uncertainty_mm == pytest.approx(0.05)
    assert found.status is Status.FAIL


def test_an_agreement_no_closer_than_its_uncertainty_decides_nothing() -> None:
    found = agreement(_line(20.0, 50.0, 90.0, 0.05), _line(80.05, 45.0, 90.0, 0.05), PAGE, tolerance_mm=0.1)
    assert found.status is Status.NOT_DETERMINED


def test_far_from_its_own_point_a_line_is_as_uncertain_as_its_direction() -> None:
    back = _line(80.0, 545.0, 90.0, 0.01, 0.1)
    found = agreement(_line(20.0, 50.0, 90.0), back, PAGE, tolerance_mm=0.1)
    assert found.uncertainty_mm == pytest.approx(np.hypot(0.01414, 500.0 * np.radians(0.1)), rel=1e-3)


def test_points_of_one_cut_along_a_line_make_no_surface() -> None:
    """Their rounding alone would make triangles of them."""
    y = 157.55 - 0.2 * np.arange(1678)
    assert Mesh.of(np.column_stack([np.full(1678, 171.6), y])) is None
    assert Mesh.of(np.column_stack([y / 3.0, y])) is None
