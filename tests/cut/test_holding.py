from decimal import Decimal

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.holding import Bridge, bridges
from flipreg.cut.labelled import label
from flipreg.cut.outline import outline
from flipreg.cut.thickness import BothFaces
from flipreg.cut.tool import Cutter
from flipreg.geometry.isometry import Isometry
from flipreg.path import Path
from tests.cut.bruteforce import polyline
from tests.cut.faces import both_faces

OVER = Isometry.mirror_x(datum_mm=(Decimal(0), Decimal(0)))
GRID = Grid.covering((-40.0, -40.0), (40.0, 40.0), 0.2)
FLAT = Cutter.flat(6.0)
BLANK_MM = 18.0


def profile(tabs_deg: list[float], *, tab_mm: float, lift_mm: float, turn_deg: float = 0.0) -> Path:
    """Return a square profile, 20 mm to its sides, with tabs of the lift's height at the named sides' middles.

    The cutter is lifted over `tab_mm` along its way, so that tab_mm - 6 is left between its flanks.
    """
    corners = []
    half = tab_mm / 2
    for side in range(4):
        turn = np.radians(90.0 * side + turn_deg)
        along, out = np.array([-np.sin(turn), np.cos(turn)]), np.array([np.cos(turn), np.sin(turn)])
        deep = -BLANK_MM - 0.3
        corners.append([*(20 * out - 20 * along), deep])
        if 90.0 * side in tabs_deg:
            for s, z in ((-half, deep), (-half, deep + lift_mm), (half, deep + lift_mm), (half, deep)):
                corners.append([*(20 * out + s * along), z])
        corners.append([*(20 * out + 20 * along), deep])
    return polyline(np.array(corners))


def kerf_of(path: Path) -> NDArray[np.bool_]:
    region = outline(path, FLAT.radius_mm, chord_mm=1e-3)
    return np.stack([shapely.contains_xy(region, GRID.xs_mm, np.full_like(GRID.xs_mm, y)) for y in GRID.ys_mm.tolist()])


def held(path: Path, *, blank_mm: float = BLANK_MM) -> tuple[Bridge, ...]:
    """Return what joins the part, number 2, to the blank around it, number 1."""
    faces = both_faces([(path, FLAT)], [], OVER, GRID, blank_mm=blank_mm)
    kerf = kerf_of(path)
    return bridges(faces, kerf, label(~kerf).labels)


def test_a_profile_cut_through_all_round_lets_the_part_go() -> None:
    assert held(profile([], tab_mm=0.0, lift_mm=0.0)) == ()


@pytest.mark.parametrize("turn_deg", [0.0, 20.0, 45.0])
def test_tabs_are_counted_placed_and_measured(turn_deg: float) -> None:
    found = held(profile([0.0, 180.0, 270.0], tab_mm=14.0, lift_mm=3.3, turn_deg=turn_deg))
    assert [(one.one, one.other) for one in found] == [(1, 2)] * 3
    # The way of a bridge is from the blank, the smaller number, to the part.
    sides = sorted((one.tab.direction_deg + 180.0 - turn_deg + 5.0) % 360.0 - 5.0 for one in found)
    assert sides == pytest.approx([0.0, 180.0, 270.0], abs=4.0)
    for tab in (one.tab for one in found):
        # 14 mm of way less the cutter: 8 mm; 3.3 mm of lift less 0.3 mm below the blank: 3 mm.
        assert tab.width_mm == pytest.approx(8.0, abs=0.25)
        assert tab.thickness_mm == pytest.approx(3.0, abs=1e-4)
        assert tab.thinnest_mm == pytest.approx(3.0, abs=1e-4)
        assert tab.top_mm == pytest.approx(-15.0)
        assert tab.bottom_mm == pytest.approx(-18.0)
        assert np.hypot(*tab.at_mm) == pytest.approx(20.0, abs=0.2)
        assert tab.section_mm2 == pytest.approx(24.0, rel=0.03)


def test_tabs_that_the_cutter_eats_up_hold_nothing() -> None:
    # 6 mm of way for a cutter of 6 mm: its two flanks meet.
    assert held(profile([0.0], tab_mm=6.0, lift_mm=3.3)) == ()


def test_a_profile_that_does_not_reach_through_is_one_large_tab() -> None:
    (ring,) = held(profile([], tab_mm=0.0, lift_mm=0.0), blank_mm=BLANK_MM + 1.0)
    assert ring.tab.thinnest_mm == pytest.approx(0.7, abs=1e-4)


def test_wood_that_shares_no_more_than_rounding_with_the_part_is_no_tab() -> None:
    # Part, kerf and blank side by side: the kerf's wood begins where the part's ends.
    faces = BothFaces(
        Grid(0.0, 0.0, 1.0, (1, 3)),
        np.array([[0.0, -10.0, -10.0]], np.float32),
        np.array([[-10.000001, -20.0, -20.0]], np.float32),
        20.0,
    )
    kerf, numbers = np.array([[False, True, False]]), np.array([[1, 0, 2]], np.int32)
    assert bridges(faces, kerf, numbers) == ()


def test_a_tab_is_as_narrow_as_its_narrowest_section_although_another_has_less_area() -> None:
    # Along the way, in mm: 1.4 wide and 1.4 thick, then 1.0 wide and 2.0 thick, then as before.
    front, back = np.zeros((30, 20), np.float32), np.full((30, 20), -10.0, np.float32)
    kerf = np.zeros(front.shape, np.bool_)
    kerf[:, 4:16] = True
    thick = np.zeros(front.shape, np.float32)
    thick[8:22, 4:16] = 1.4
    thick[:, 8:12] = 0.0
    thick[10:20, 8:12] = 2.0
    front[kerf] = back[kerf] + thick[kerf]
    faces = BothFaces(Grid(0.0, 0.0, 0.1, front.shape), front, back, 10.0)
    (found,) = bridges(faces, kerf, label(~kerf).labels)
    assert found.tab.width_mm == pytest.approx(1.0)
    assert found.tab.thickness_mm == pytest.approx(1.4)
    assert found.tab.section_mm2 == pytest.approx(1.4)
