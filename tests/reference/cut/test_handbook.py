"""Volumes that Machinery's Handbook prints, and sections, from cuts of the same shape.

31st ed., "Volumes of Solids", pages 89 to 93, in inches but for the spherical segment: as quoted, not read in the book.
The printed figures are rounded, so half a unit of their last place is allowed, besides what the grid may be off by.
"""

from collections.abc import Callable

import numpy as np
import pytest

from flipreg.cut.grid import Grid
from flipreg.cut.heightmap import height_map
from flipreg.cut.tool import Cutter
from tests.cut.bruteforce import polyline
from tests.motions import INCH
from tests.reference.cut.cuts import Cut, arc, plunge
from tests.reference.cut.solids import Silhouette

_NO_SOLID = Silhouette(1.0, 1.0)
"""Only the motions of these cuts are used."""

PRINTED: dict[str, tuple[Callable[[], Cut], float, float, float]] = {
    "cylinder, p. 89": (lambda: plunge(Cutter.flat(2.5 * INCH), _NO_SOLID, 20 * INCH), 98.17, 0.005, INCH),
    "cone, p. 90": (
        # Diameter 6, height 4: the tangent of half the angle is 3 / 4.
        lambda: plunge(Cutter.vee(6 * INCH, 2 * float(np.degrees(np.arctan(0.75)))), _NO_SOLID, 4 * INCH),
        37.7,
        0.05,
        INCH,
    ),
    "spherical segment, p. 91": (lambda: plunge(Cutter.ball(2 * 64.0625), _NO_SOLID, 50.0), 372247.0, 1.5, 1.0),
    # Half of it: the ball's middle stays at the face.
    "torus, p. 93": (
        lambda: arc(Cutter.ball(1.5 * INCH), _NO_SOLID, 2.5 * INCH, 360.0, 0.75 * INCH),
        13.88,
        0.0025,
        INCH,
    ),
}  # fmt: skip


@pytest.mark.parametrize("solid", PRINTED)
def test_a_cut_of_the_shape_of_a_handbook_solid_has_the_volume_printed(solid: str) -> None:
    make, printed, rounding, unit_mm = PRINTED[solid]
    cut = make()
    for step in (2.0, 0.8):
        errors = cut.volumes_mm3(step) - printed * unit_mm**3
        allowed = rounding * unit_mm**3 + cut.chords_mm3
        assert float(np.sqrt((errors**2).mean())) <= cut.usual_mm3(step) + allowed


def test_a_spherical_sector_has_the_chord_printed() -> None:
    # Page 91: radius 3, height 1.5, chord 5.196 inches. A cell is cut where its centre is within half the chord.
    grid = Grid(-90.0, 0.0, 0.2, (1, 901))
    heights = height_map(
        polyline(np.array([[0.0, 0.0, 1.0], [0.0, 0.0, -1.5 * INCH]])), Cutter.ball(6 * INCH), grid, top_mm=0.0
    )
    # Printed to half a thousandth, and a cell at either end.
    chord = int((heights < 0.0).sum()) * grid.step_mm
    assert chord == pytest.approx(5.196 * INCH, abs=0.0005 * INCH + grid.step_mm)


def test_a_ball_nose_slot_has_the_section_of_a_circular_segment() -> None:
    # Page 83: chord 21, height 6, so the radius is 12.1875; area 89.254148, quoted from a tutor's page and computed.
    way = np.array([[-5.0, 0.0, -6.0], [5.0, 0.0, -6.0]])
    section = Grid(0.0, -12.0, 0.05, (481, 1))
    heights = height_map(polyline(way), Cutter.ball(2 * 12.1875), section, top_mm=0.0)
    wide = int((heights < 0.0).sum()) * section.step_mm
    assert wide == pytest.approx(21.0, abs=section.step_mm)
    # The midpoint rule: half a cell's rise at either edge, 10.5 : 6.1875 steep, and what the curve adds, far less.
    assert -float(heights.sum(dtype=np.float64)) * section.step_mm == pytest.approx(89.254148, abs=0.005)


@pytest.mark.parametrize(
    ("cutter", "stepover_mm", "scallop_mm"),
    [
        # Derived: half the stepover out from the tip, the profile has risen by this much.
        (Cutter.bull(8.0, 1.5), 6.0, 1.5 - np.sqrt(1.5**2 - 0.5**2)),
        (Cutter.vee(12.0, 60.0), 2.0, np.sqrt(3.0)),
        (Cutter.vee(12.0, 90.0, tip_width_mm=1.0), 3.0, 1.0),
        (Cutter.flat(6.0), 5.0, 0.0),
    ],
)
def test_cusps_between_slanted_passes_are_as_high_as_the_profile_half_a_stepover_out(
    cutter: Cutter, stepover_mm: float, scallop_mm: float
) -> None:
    along, across = np.array([0.8, 0.6]), np.array([-0.6, 0.8])
    rows = [[*(n * stepover_mm * across + t * along), -5.0] for n in (0, 1, 2) for t in (-20.0, 20.0)]
    ways = [polyline(np.array(rows[at : at + 2])) for at in (0, 2, 4)]
    grid = Grid.covering((-12.0, -12.0), (12.0, 18.0), 0.1)
    x, y = np.meshgrid(grid.xs_mm, grid.ys_mm)
    out = -0.6 * x + 0.8 * y
    between = (out > 0.0) & (out < 2 * stepover_mm) & (np.abs(0.8 * x + 0.6 * y) < 10.0)
    heights = np.minimum.reduce([height_map(way, cutter, grid, top_mm=0.0) for way in ways])[between]
    assert float(heights.min()) == pytest.approx(-5.0, abs=0.2 if cutter.tip_radius_mm == 0.0 else 1e-6)
    # Peaks fall between centres, so the map reads low by no more than half a step's rise.
    steep = scallop_mm - float(cutter.profile(np.array([stepover_mm / 2 - 0.05]))[0])
    highest = float(heights.max()) + 5.0
    assert scallop_mm - steep - 1e-4 <= highest <= scallop_mm + 1e-4
