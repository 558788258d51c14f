"""Volumes of removed wood against solids that another library sweeps, cuts off at the face and measures."""

import math
from collections.abc import Callable
from decimal import Decimal

import numpy as np
import pytest
from manifold3d import Manifold

from flipreg.cut.grid import Grid
from flipreg.cut.tool import Cutter
from flipreg.geometry.isometry import Isometry
from tests.cut.faces import both_faces
from tests.reference.cut.cuts import Cut, arc, passes, plunge
from tests.reference.cut.solids import Silhouette, between, removed_mm3

STEPS_MM = (0.8, 0.4, 0.2)


def vee(diameter_mm: float, angle_deg: float) -> tuple[Cutter, Silhouette]:
    rise = diameter_mm / 2 / math.tan(math.radians(angle_deg / 2))
    return Cutter.vee(diameter_mm, angle_deg), Silhouette(diameter_mm / 2, 0.0, cone_mm=rise)


FLAT = Cutter.flat(6.0), Silhouette(3.0, 3.0)
BALL = Cutter.ball(6.0), Silhouette(3.0, 0.0, 3.0)
BULL = Cutter.bull(8.0, 1.5), Silhouette(4.0, 2.5, 1.5)
DRILL = Cutter.drill(10.0, 118.0), Silhouette(5.0, 0.0, cone_mm=5.0 / math.tan(math.radians(59.0)))

CUTS: dict[str, Callable[[], Cut]] = {
    "flat slot": lambda: passes(*FLAT, [[1.0, 2.0, -5.0], [23.0, 11.0, -5.0]]),
    "ball-nose slot below its middle": lambda: passes(*BALL, [[1.0, 2.0, -5.0], [23.0, 11.0, -5.0]]),
    "ball-nose slot above its middle": lambda: passes(*BALL, [[1.0, 2.0, -2.0], [12.0, 21.0, -2.0]]),
    "bull-nose slot": lambda: passes(*BULL, [[1.0, 2.0, -4.0], [23.0, -7.0, -4.0]]),
    "spherical cap": lambda: plunge(Cutter.ball(10.0), Silhouette(5.0, 0.0, 5.0), 2.0),
    "drilled cone": lambda: plunge(*DRILL, 2.5),
    "drilled hole": lambda: plunge(*DRILL, 7.0),
    "vee groove": lambda: passes(*vee(16.0, 90.0), [[0.0, 0.0, -4.0], [19.0, 13.0, -4.0]]),
    "crossed ball-nose slots": lambda: passes(
        *BALL, [[-9.0, -4.0, -4.0], [9.0, 4.0, -4.0]], [[4.0, -9.0, -4.0], [-4.0, 9.0, -4.0]]
    ),
    "ball ring": lambda: arc(*BALL, 9.0, 360.0, 4.0),
    "flat ring": lambda: arc(*FLAT, 9.0, 360.0, 4.0),
    "bull-nose horseshoe": lambda: arc(*BULL, 11.0, 240.0, 3.0),
    "vee horseshoe": lambda: arc(*vee(6.0, 60.0), 8.0, 210.0, 3.0),
    "inclined ball pass out of the wood": lambda: passes(*BALL, [[-9.0, -5.0, 1.0], [13.0, 7.0, -6.0]]),
    "inclined flat pass": lambda: passes(*FLAT, [[-9.0, -5.0, -1.0], [13.0, 7.0, -6.0]]),
    "steep ball pass": lambda: passes(*BALL, [[0.0, 0.0, 1.0], [1.5, 1.0, -9.0]]),
    "steep bull-nose pass": lambda: passes(*BULL, [[-2.0, -1.0, 1.0], [3.0, 2.0, -9.0]]),
    "inclined vee pass": lambda: passes(*vee(12.0, 60.0), [[-9.0, -5.0, 0.5], [13.0, 7.0, -6.0]]),
    "zigzag of a vee": lambda: passes(
        *vee(12.0, 60.0), [[0.0, 0.0, -1.0], [17.0, 3.0, -4.0], [2.0, 7.0, -2.0], [15.0, 13.0, -5.0], [1.0, 12.0, 0.5]]
    ),
}  # fmt: skip


@pytest.mark.parametrize("make", CUTS.values(), ids=CUTS)
def test_the_volume_is_that_of_the_swept_solid_and_closer_on_finer_grids(make: Callable[[], Cut]) -> None:
    cut = make()
    true = removed_mm3(cut.sweep)
    assert true.half_mm3 < 1e-3 * true.middle_mm3
    usual = []
    for step in STEPS_MM:
        errors = cut.volumes_mm3(step) - true.middle_mm3
        assert np.abs(errors).max() <= cut.worst_mm3(step) + true.half_mm3
        # What mesh and chords may be off by is not the grid's error.
        usual.append(max(0.0, float(np.sqrt((errors**2).mean())) - true.half_mm3 - cut.chords_mm3))
        assert usual[-1] <= cut.usual_mm3(step)
    # Order one or better: a quarter of the step, a quarter of the error.
    assert usual[-1] <= usual[0] * STEPS_MM[-1] / STEPS_MM[0]


FLIPS = {
    "about Y": (Isometry.mirror_x(datum_mm=(Decimal(21), Decimal(2))), "y"),
    "about X": (Isometry.mirror_y(datum_mm=(Decimal(-3), Decimal(9))), "x"),
}


@pytest.mark.parametrize("flip", FLIPS)
def test_what_both_faces_leave_is_the_blank_less_both_solids(flip: str) -> None:
    # Grooves that meet in the middle: what both of them sweep counts once. The blank is 10 mm thick.
    over, axis = FLIPS[flip]
    grid_mm = ((-10.0, -12.0), (30.0, 24.0))
    front = passes(*BALL, [[-4.0, 1.0, -6.0], [23.0, 9.0, -7.0]])
    back_way = (~over).apply(np.array([[8.0, -8.0, -5.0], [13.0, 19.0, -6.5]]))
    back = passes(*FLAT, back_way.tolist())
    # The back's solid is turned over in space: half a turn about an axis in the face, then down by the thickness.
    half_turn = [0.0, 180.0, 0.0] if axis == "y" else [180.0, 0.0, 0.0]
    dx, dy, _ = over.offset_mm.tolist()

    def both(outside: bool) -> Manifold:  # noqa: FBT001 - the one thing a Sweep is asked
        return front.sweep(outside) + back.sweep(outside).rotate(half_turn).translate([dx, dy, -10.0])

    size = [grid_mm[1][0] - grid_mm[0][0], grid_mm[1][1] - grid_mm[0][1], 10.0]
    blank = Manifold.cube(size).translate([*grid_mm[0], -10.0])
    true = between(both, blank)
    assert true.half_mm3 < 1e-3 * true.middle_mm3
    for step in STEPS_MM:
        grid = Grid.covering(*grid_mm, step)
        faces = both_faces([(front.paths[0], front.cutter)], [(back.paths[0], back.cutter)], over, grid, blank_mm=10.0)
        removed = 10.0 - np.maximum(faces.left_mm.astype(np.float64), 0.0)
        error = float(removed.sum()) * grid.cell_mm2 - true.middle_mm3
        assert abs(error) <= front.worst_mm3(step) + back.worst_mm3(step) + true.half_mm3
        # One place of the grid only, so four times the root mean square.
        assert abs(error) <= 2.0 * math.hypot(front.usual_mm3(step), back.usual_mm3(step)) + true.half_mm3
    assert not faces.is_left.all()
