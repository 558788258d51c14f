"""The edge that both faces cut, against shifts and turns planted in it."""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from flipreg.cut.tool import Cutter
from flipreg.geometry.isometry import Isometry
from flipreg.path import Path
from flipreg.register.faces.placement import Placement
from flipreg.register.wood.rim import Rim, rim
from tests.register.carved import Height, Placed, ball_heights, domed, raster
from tests.register.shapes import PADDLE, Floats, Mill, offset_ring, ring, rounded

FLIP = Isometry.mirror_x(datum_mm=(Decimal(205), Decimal("3.7")))
"""From the front's numbers to the back's."""
WHERE = Placement.of(~FLIP)


def _turned(points: Floats, about: Floats, shift: tuple[float, float], turn_deg: float) -> Floats:
    c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    return np.asarray((points - about) @ np.array([[c, s], [-s, c]]) + about + np.array(shift))


def _contour(outline: Floats, tool: float, depth: float) -> Path:
    return Mill().contour(np.round(offset_ring(outline, tool / 2), 3), (depth,)).path


def _rim(
    outline: Floats,
    shift: tuple[float, float] = (0.0, 0.0),
    turn_deg: float = 0.0,
    *,
    tools: tuple[float, float] = (6.0, 6.0),
    depths: tuple[float, float] = (10.5, 10.5),
) -> Rim | None:
    off = _turned(outline, outline.mean(axis=0), shift, turn_deg)
    front = _contour(outline, tools[0], depths[0])
    back = _contour(FLIP.apply(off), tools[1], depths[1])
    cuts = [[(path, Cutter.flat(tool))] for path, tool in ((front, tools[0]), (back, tools[1]))]
    return rim(cuts[0], cuts[1], WHERE, thickness_mm=20.0)


def _planted(found: Rim, outline: Floats, shift: tuple[float, float], turn_deg: float) -> tuple[float, float]:
    middle = np.array([found.about_mm])
    x, y = (_turned(middle, outline.mean(axis=0), shift, turn_deg) - middle)[0].tolist()
    return x, y


OUTLINES = {
    "paddle": PADDLE,
    "rounded box on no grid line": rounded(150.07, 80.13, 12.0, 0.11, 0.06),
    "box": ring((0.0, 0.0), (140.0, 0.0), (140.0, 70.0), (0.0, 70.0)),
}


@pytest.mark.parametrize("name", OUTLINES)
@pytest.mark.parametrize(("shift", "turn_deg"), [((0.0, 0.0), 0.0), ((0.31, -0.17), 0.1), ((-2.4, 1.8), 0.5)])
def test_a_planted_shift_and_turn_are_measured_to_a_hundredth(
    name: str, shift: tuple[float, float], turn_deg: float
) -> None:
    outline = OUTLINES[name]
    found = _rim(outline, shift, turn_deg)
    assert found is not None
    dx, dy = _planted(found, outline, shift, turn_deg)
    assert found.grid_mm == 0.25
    assert found.dx_mm == pytest.approx(dx, abs=0.01)
    assert found.dy_mm == pytest.approx(dy, abs=0.01)
    assert found.turn_deg == pytest.approx(turn_deg, abs=0.005)
    assert abs(found.dx_mm - dx) < 4 * found.dx_uncertainty_mm
    assert found.residual_mm < 0.01
    assert found.length_mm > 300.0


def test_the_step_of_the_edge_is_told_where_the_back_lies_as_it_was_said_to() -> None:
    found = _rim(OUTLINES["box"], (0.0, 0.8))
    assert found is not None
    assert found.step_mm == pytest.approx(0.8, abs=0.01)


def test_tools_of_different_width_make_one_edge_and_another_far_side() -> None:
    found = _rim(PADDLE, (0.2, 0.1), tools=(8.0, 3.0))
    assert found is not None
    dx, dy = _planted(found, PADDLE, (0.2, 0.1), 0.0)
    assert (found.dx_mm, found.dy_mm) == pytest.approx((dx, dy), abs=0.01)
    assert found.gap_mm == pytest.approx(0.0, abs=0.01)


def test_an_allowance_all_round_is_a_gap_and_no_shift() -> None:
    front, back = _contour(PADDLE, 6.0, 10.5), _contour(offset_ring(FLIP.apply(PADDLE), 0.4), 6.0, 10.5)
    found = rim([(front, Cutter.flat(6.0))], [(back, Cutter.flat(6.0))], WHERE, thickness_mm=20.0)
    assert found is not None
    assert found.gap_mm == pytest.approx(0.4, abs=0.02)
    assert (found.dx_mm, found.dy_mm) == pytest.approx((0.0, 0.0), abs=0.02)


def test_cuts_that_do_not_meet_have_no_common_edge() -> None:
    assert _rim(PADDLE, depths=(9.0, 10.5)) is None


def test_parts_of_two_sizes_that_share_a_corner_have_no_edge_in_common() -> None:
    large, small = ring((0.0, 0.0), (143.0, 0.0), (143.0, 70.0), (0.0, 70.0)), OUTLINES["box"] * (1.0, 100.0 / 70.0)
    cuts = [[(_contour(outline, 6.0, 10.5), Cutter.flat(6.0))] for outline in (large, FLIP.apply(small))]
    assert rim(cuts[0], cuts[1], WHERE, thickness_mm=20.0) is None


def test_two_straight_walls_say_nothing_along_themselves() -> None:
    mill = [Mill(), Mill()]
    for number, (left, right) in enumerate(((10.0, 70.0), (10.3, 70.3))):
        for x in (left, right):
            line = np.array([[x, -40.0 - 20.0 * number, -10.6], [x, 160.0 + 25.0 * number, -10.6]])
            mill[number].lines(line if number == 0 else np.column_stack([FLIP.apply(line[:, :2]), line[:, 2]]))
    found = rim([(mill[0].path, Cutter.flat(6.0))], [(mill[1].path, Cutter.flat(6.0))], WHERE, thickness_mm=20.0)
    assert found is not None
    assert found.dx_mm == pytest.approx(0.3, abs=0.01)
    assert found.dx_uncertainty_mm < 0.05
    assert found.dy_uncertainty_mm > 1.0


def _carved(shape: Height, middle: tuple[float, float], stepover: float, along: str, phase: float) -> Path:
    """Return passes about a place."""

    def seen(x: Floats, y: Floats) -> Floats:
        return shape(x + middle[0], y + middle[1])

    about = raster(seen, 66.0, stepover, along=along, phase=phase, every=0.5)
    shift = np.array([*middle, 0.0])
    return replace(about.path, start=about.path.start + shift, end=about.path.end + shift)


@pytest.mark.parametrize(("steps", "scallops", "near"), [((1.0, 0.7), 0.013, 0.05), ((4.0, 3.0), 0.2, 0.6)])
def test_the_ends_of_carving_passes_show_the_edge_as_closely_as_their_stepovers_let_them(
    steps: tuple[float, float], scallops: float, near: float
) -> None:
    shift = (0.35, -0.2)

    def deep(u: Floats, v: Floats) -> Floats:
        return np.where(domed(u, v) <= -11.0, -14.0, domed(u, v))

    front = ball_heights(Placed(deep, (0.13, 0.21)), 3.0)
    seen = ball_heights(Placed(deep, (0.13 + shift[0], 0.21 + shift[1])), 3.0)

    def back(x: Floats, y: Floats) -> Floats:
        at = (~FLIP).apply(np.stack([x, y], axis=1))
        return seen(at[:, 0], at[:, 1])

    middle = FLIP.apply(np.array([[0.0, 0.0]]))[0].tolist()
    cuts = [
        [(_carved(front, (0.0, 0.0), steps[0], "x", 0.3), Cutter.ball(6.0))],
        [(_carved(back, (middle[0], middle[1]), steps[1], "y", 0.8), Cutter.ball(6.0))],
    ]
    found = rim(cuts[0], cuts[1], WHERE, thickness_mm=20.0)
    assert found is not None
    assert found.stepover_mm == pytest.approx(steps[0], rel=0.15)
    assert min(found.dx_uncertainty_mm, found.dy_uncertainty_mm) > scallops
    assert found.dx_mm == pytest.approx(shift[0], abs=min(near, 3 * found.dx_uncertainty_mm))
    assert found.dy_mm == pytest.approx(shift[1], abs=min(near, 3 * found.dy_uncertainty_mm))
    assert abs(found.turn_deg) < 3 * found.turn_uncertainty_deg


def test_a_large_part_is_measured_on_a_coarser_grid_that_is_told() -> None:
    outline = rounded(900.0, 500.0, 60.0)
    found = _rim(outline, (0.15, 0.25))
    assert found is not None
    assert found.grid_mm == 0.5
    assert (found.dx_mm, found.dy_mm) == pytest.approx((0.15, 0.25), abs=0.01)


def test_a_blank_without_thickness_is_refused() -> None:
    with pytest.raises(ValueError, match="thickness over 0 mm, got 0"):
        rim([], [], WHERE, thickness_mm=0.0)


def test_a_round_edge_says_nothing_of_the_turn() -> None:
    turns = np.linspace(0.0, 2 * np.pi, 361)[:-1]
    found = _rim(np.stack([80.0 + 60.0 * np.cos(turns), 50.0 + 60.0 * np.sin(turns)], axis=1), (0.2, 0.1))
    assert found is not None
    assert (found.dx_mm, found.dy_mm) == pytest.approx((0.2, 0.1), abs=0.01)
    assert found.dx_uncertainty_mm < 0.05
    assert found.turn_uncertainty_deg > 1.0


def _comb(where: Isometry | None = None, off_mm: tuple[float, float] = (0.0, 0.0), turn_deg: float = 0.0) -> Path:
    """Return the notches at both ends of a board, no two of them alike."""
    mill = Mill()
    for left, right, end in ((-41, -40, -1), (-25, -23, -1), (-5, 3, -1), (-41, -35, 1), (-18, -15, 1), (2, 9, 1)):
        notch = ring((left, 140.0 * end), (right, 140.0 * end), (right, 115.0 * end), (left, 115.0 * end))
        lies = _turned(notch, np.zeros(2), off_mm, turn_deg)
        mill.contour(lies if where is None else where.apply(lies), (10.5,))
    return mill.path


def test_walls_that_stand_near_others_without_coinciding_show_nothing() -> None:
    six = Cutter.flat(6.0)
    found = [
        rim([(_comb(), six)], [(_comb(FLIP, off_mm, turn_deg), six)], WHERE, thickness_mm=20.0)
        for off_mm, turn_deg in (((0.4, -0.2), 0.5), ((4.0, 3.0), 3.0))
    ]
    assert found[0] is not None
    assert found[0].turn_deg == pytest.approx(0.5, abs=0.005)
    assert found[1] is None
