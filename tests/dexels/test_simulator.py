"""What the simulator says, held to what geometry says."""

import math
from random import Random

import numpy as np
import pytest
import shapely

from tests.dexels.bench import Bench, Blank, Cutter, Program, Setup
from tests.dexels.campaign import BUILDERS, make
from tests.dexels.facts import confirmed, facts
from tests.dexels.part import tabs
from tests.dexels.paths import circle, rounded
from tests.dexels.pieces import loose_pieces
from tests.dexels.reader import read
from tests.dexels.simulate import simulate
from tests.dexels.wood import Wood
from tests.dexels.writer import Lift, Writer, contour, holes, program

FLAT = Cutter("6 flat", "flat", 6.0)
BLANK = Blank(100.0, 80.0, 20.0, None, "left", 30.0, 40.0)


def test_the_blank_lies_about_its_first_mark_and_its_centre_line() -> None:
    assert BLANK.box == (-30.0, -40.0, 50.0, 60.0)
    assert Blank(100.0, 80.0, 20.0, None, "right", 30.0, 40.0).box == (-50.0, -40.0, 30.0, 60.0)


@pytest.mark.parametrize(
    ("setup", "place"),
    [
        (Setup("front", "y", (1.0, 2.0)), (4.0, 6.0, -5.0)),
        (Setup("front", "y", (1.0, 2.0), "spoilboard"), (4.0, 6.0, -25.0)),
        (Setup("back", "y", (1.0, 2.0)), (-4.0, 6.0, -15.0)),
        (Setup("back", "x", (1.0, 2.0)), (4.0, -6.0, -15.0)),
        (Setup("back", "y", (1.0, 2.0), "spoilboard"), (-4.0, 6.0, 5.0)),
    ],
)
def test_a_setup_takes_its_programs_numbers_to_the_blank(setup: Setup, place: tuple[float, float, float]) -> None:
    assert tuple(setup.to_blank(np.array([[3.0, 4.0, -5.0]]), 20.0)[0]) == place
    assert setup.to_program(place[0], place[1]) == (3.0, 4.0)


@pytest.mark.parametrize(
    ("cutter", "away", "rise"),
    [
        (FLAT, 3.0, 0.0),
        (FLAT, 3.1, math.inf),
        (Cutter("ball", "ball", 6.0), 1.8, 3.0 - 2.4),
        (Cutter("vee", "vee", 12.0, 90.0), 4.0, 4.0),
        (Cutter("drill", "drill", 8.0, 120.0), 3.0, 3.0 / math.sqrt(3)),
    ],
)
def test_a_cutters_surface_rises_with_the_distance_from_its_axis(cutter: Cutter, away: float, rise: float) -> None:
    assert cutter.rise(np.array([away]))[0] == pytest.approx(rise)


def test_arcs_inches_increments_and_cycles_are_read() -> None:
    text = "G20 G90;T3 M6;G0 Z1;X0 Y1;G3 X-1 Y0 I0 J-1;G91;G1 Z-2;G90;G99 G81 X2 Y2 Z-0.5 R0.1;X3;G80"
    moves = read(text.replace(";", "\n"))
    arc = moves[1]
    assert (arc.line, arc.tool, arc.fed) == (5, 3, True)
    assert np.allclose(np.hypot(arc.points[:, 0], arc.points[:, 1]), 25.4)
    assert arc.points[len(arc.points) // 2][1] > 0
    assert moves[2].points[:, 2].tolist() == [25.4, -25.4]
    drilled = [move for move in moves[3:] if move.fed]
    assert [move.line for move in drilled] == [9, 10]
    assert [move.points[-1] for move in drilled] == [
        pytest.approx([50.8, 50.8, -12.7]),
        pytest.approx([76.2, 50.8, -12.7]),
    ]


def test_a_ball_leaves_its_round_and_a_slanting_motion_a_slant() -> None:
    wood = Wood(BLANK, 0.5)
    wood.cut(np.array([[-10.0, 0.0, -4.0], [10.0, 0.0, -4.0]]), Cutter("ball", "ball", 6.0), from_back=False)
    row, column = wood.cell(np.array([0.0]), np.array([1.75]))
    away = wood.y[row[0]]
    assert wood.high[row, column][0] == pytest.approx(-4.0 + 3.0 - math.sqrt(9 - away**2))
    wood.cut(np.array([[-10.0, 30.0, 0.0], [10.0, 30.0, -4.0]]), FLAT, from_back=False)
    row, column = wood.cell(np.array([0.0]), np.array([30.0]))
    assert wood.high[row, column][0] == pytest.approx(-2.0 - 0.6, abs=0.1)


def test_a_ring_cut_through_sets_free_what_it_goes_round_with_its_last_motion() -> None:
    setup = Setup("front", "y", (0.0, 0.0))
    text = program(setup, "ring.nc", [(FLAT, contour(circle(5.0, 0.0, 12.0), 20.5, 10.0))], 20.0)
    setup.programs.append(text)
    outcome = simulate(Bench(BLANK, [setup]), 0.25)
    (event,) = outcome.loose
    assert event.size == pytest.approx(math.pi * 9**2, rel=0.01)
    assert event.at == pytest.approx((5.0, 0.0), abs=0.1)
    last = max(number for number, line in enumerate(text.text.split("\n"), 1) if line.startswith("G3"))
    assert event.line == last
    assert outcome.bites["ring.nc", "6 flat"] == pytest.approx(20.0 / 3, abs=0.2)


def test_floors_at_different_heights_do_not_hold_each_other() -> None:
    wood = Wood(BLANK, 0.5)
    wood.high[:, 100:] = -12.0
    wood.low[:, :100] = -11.0
    (piece,) = loose_pieces(wood, 1.0)
    assert piece.area_mm2 == pytest.approx(30 * 100, rel=0.02)


def test_a_tab_is_as_wide_as_the_lift_less_the_cutter_and_as_thick_as_the_faces_leave() -> None:
    way = rounded(-15.0, -20.0, 35.0, 30.0, 8.0)
    lifts = (Lift(40.0, 51.0, 8.0),)
    setups = [Setup("front", "y", (0.0, 0.0)), Setup("back", "y", (0.0, 0.0))]
    for setup in setups:
        setup.programs.append(program(setup, setup.up, [(FLAT, contour(way, 10.5, 6.0, lifts))], 20.0))
    outcome = simulate(Bench(BLANK, setups), 0.2)
    (tab,) = tabs(outcome.wood, shapely.box(-12, -17, 32, 27).buffer(-5).buffer(5), (0.0, 6.0))
    assert tab.width == pytest.approx(5.0, abs=0.3)
    assert tab.thickness == pytest.approx(4.0)
    assert tab.section_mm2 == pytest.approx(20.0, rel=0.06)
    assert outcome.loose == []


def test_a_first_traverse_whose_end_is_in_wood_is_seen() -> None:
    setup = Setup("front", "y", (0.0, 0.0))
    setup.programs.append(Program("a.nc", {1: FLAT}, "G21 G90\nT1 M6\nG0 X0 Y0 Z-3\nG0 Z5\n"))
    (event,) = simulate(Bench(BLANK, [setup]), 0.5).traverses
    assert event.line == 3
    assert event.size == pytest.approx(3.0)


def test_drilled_from_both_faces_a_hole_goes_through_at_one_place() -> None:
    setups = [Setup("front", "y", (2.0, 3.0)), Setup("back", "x", (-4.0, 1.0))]
    drill = Cutter("5 drill", "drill", 5.0)
    for setup in setups:
        setup.programs.append(program(setup, setup.up, [(drill, holes([(7.0, -9.0)], 12.0))], 20.0))
    wood = simulate(Bench(BLANK, setups), 0.25).wood
    rows, columns = np.nonzero(~wood.there)
    assert (wood.x[columns].mean(), wood.y[rows].mean()) == pytest.approx((7.0, -9.0), abs=0.05)


def test_a_program_in_inches_cuts_the_same() -> None:
    setup = Setup("front", "y", (0.0, 0.0))
    ways = [read(program(setup, "a", [(FLAT, contour(circle(0, 0, 9), 5, 5))], 20.0, inch=inch).text)
            for inch in (False, True)]
    for metric, inch in zip(*ways, strict=True):
        assert metric.points == pytest.approx(inch.points, abs=3e-4)
    assert Writer(setup, 20.0, inch=True).number(25.4) == "1.00000"


@pytest.mark.parametrize("family", ["plain", "slug", "removed_tabs", "thin_web"])
def test_the_same_seed_gives_the_same_job(family: str) -> None:
    first, second = make(family, 3), make(family, 3)
    assert [p.text for s in first.bench.setups for p in s.programs] == [
        p.text for s in second.bench.setups for p in s.programs
    ]
    assert BUILDERS[family](Random("other")).bench != first.bench


def test_a_job_that_does_not_show_its_fault_is_not_confirmed() -> None:
    job = make("plain", 0)
    seen = facts(job)
    assert confirmed(job, seen)
    for fault in ("loose", "opening", "web", "tab", "rapid"):
        job.faults = frozenset({fault})
        assert not confirmed(job, seen)
