"""What has no partner where the rest agrees, corners of notches by two cutters, and flips about another axis."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from flipreg.findings import Status
from flipreg.geometry.isometry import Isometry
from flipreg.program.face import FaceProgram
from flipreg.register.check import check
from tests.register.boards import drilled, lattice, profiled, ringed
from tests.register.shapes import PADDLE, PADDLE_HOLES, PAGE, STILL, Mill, offset_ring, ring, rounded, shift

NOTCHES = [(20.0, 32.0), (50.0, 60.0), (86.0, 102.0), (118.0, 127.0)]
"""From where to where notches in the lower edge of a board go, and four more in the upper edge a little shifted."""
HIGH, DEEP = 90.0, 14.0


def comb(tool: float, told: float | None, move: Isometry = STILL, *, name: str = "comb.nc") -> FaceProgram:
    """Return a program that cuts notches, each up one wall, across and down the other."""
    mill = Mill()
    r = tool / 2
    for x0, x1 in NOTCHES:
        for far, bottom, extra in ((-r, DEEP - r, 0.0), (HIGH + r, HIGH - DEEP + r, 7.0)):
            left, right = x0 + extra + r, x1 + extra - r
            way = np.array([[left, far], [left, bottom], [right, bottom], [right, far]])
            mill.lines(np.column_stack([move.apply(way), np.full(4, -10.0)]))
    return mill.program(name, told)


def test_notches_cut_by_two_cutters_of_different_size_decide_register() -> None:
    report = check([comb(6.0, 6.0)], [comb(4.0, 4.0, PAGE)], flip=PAGE, tolerance_mm=0.1)
    assert report.in_register is True
    off = check([comb(6.0, 6.0)], [comb(4.0, 4.0, shift("0.4", "0") @ PAGE)], flip=PAGE, tolerance_mm=0.1)
    assert off.in_register is False
    assert abs(off.register.dx_mm or 0.0) == pytest.approx(0.4, abs=0.002)


@pytest.mark.parametrize("flip", [PAGE, None], ids=["told", "nothing told"])
def test_notches_of_two_cutters_that_nobody_told_show_their_place_and_no_size(flip: Isometry | None) -> None:
    report = check([comb(6.0, None)], [comb(4.0, None, PAGE)], flip=flip, tolerance_mm=0.1)
    assert report.in_register is None
    assert report.flip.choice.datum_mm == (205.0, 0.0)


def test_notches_of_one_cutter_that_nobody_told_decide_register() -> None:
    assert check([comb(6.0, None)], [comb(6.0, None, PAGE)], flip=PAGE, tolerance_mm=0.1).in_register is True


def test_no_flip_is_found_about_the_told_axis_where_the_other_explains_far_more() -> None:
    random = np.random.default_rng(3)
    points = random.uniform(15.0, 150.0, (18, 2))
    # Some of them lie on one another after half a turn too.
    points[6:12] = np.array([165.0, 165.0]) - points[:6]
    report = check([drilled(points)], [drilled(points, PAGE, name="back.nc")], axis="x", tolerance_mm=0.1)
    assert report.in_register is False
    assert report.flip.choice.datum_mm is None
    assert report.diagnosis is not None
    assert "other axis" in report.diagnosis


def slots(move: Isometry = STILL) -> FaceProgram:
    mill = Mill()
    for x, y, length in ((30.0, 25.0, 14.0), (60.0, 45.0, 22.0), (95.0, 30.0, 17.0), (120.0, 50.0, 11.0)):
        mill.lines(np.column_stack([move.apply(np.array([[x, y], [x + length, y]])), np.full(2, -3.0)]))
    return mill.program("slots.nc", 3.0)


def test_slots_that_all_lie_two_millimetres_off_stop_a_pass_though_the_profile_agrees() -> None:
    front = [profiled(PADDLE, 6.0), slots()]
    right = [profiled(PADDLE, 6.0, PAGE), slots(PAGE)]
    assert check(front, right, flip=PAGE, tolerance_mm=0.1).in_register is True
    off = check(front, [right[0], slots(shift("2", "0") @ PAGE)], flip=PAGE, tolerance_mm=0.1)
    assert off.in_register is not True
    assert any("another zero" in finding.message for finding in off.findings)


@pytest.mark.parametrize(("count", "off"), [(1, "2"), (2, "2"), (2, "0.15"), (2, "10")])
def test_saw_cuts_that_are_off_stop_a_pass_though_the_profile_agrees(count: int, off: str) -> None:
    def cuts(move: Isometry = STILL) -> FaceProgram:
        mill, x = Mill(), np.linspace(20.0, 120.0, 40)
        for y in (20.0, 40.0)[:count]:
            wave = np.column_stack([x, y + 4.0 * np.sin(x / 9.0)])
            mill.lines(np.column_stack([move.apply(wave), np.full(40, -10.0)]))
        return mill.program("cuts.nc", 3.0)

    front = [profiled(PADDLE, 6.0), cuts()]
    right = [profiled(PADDLE, 6.0, PAGE), cuts(PAGE)]
    assert check(front, right, flip=PAGE, tolerance_mm=0.1).in_register is True
    for move, says in ((shift("0", off) @ PAGE, "another zero"), (shift(off, "0"), "not mirrored")):
        wrong = check(front, [right[0], cuts(move)], flip=PAGE, tolerance_mm=0.1)
        assert wrong.in_register is not True
        if count > 1 or says == "another zero":
            assert any(says in finding.message for finding in wrong.findings)


def test_openings_sawn_from_both_faces_stop_a_pass_where_the_back_s_are_not_mirrored() -> None:
    """Both lie on the line that a mirror would keep, so that a shift lays them on one another."""

    def ports(move: Isometry = STILL) -> FaceProgram:
        mill = Mill()
        for y, radius in ((110.0, 70.0), (290.0, 35.0)):
            turn = np.linspace(0.0, 2.0 * np.pi, 200, endpoint=False)
            circle = np.column_stack([125.0 + radius * np.cos(turn), y + radius * np.sin(turn)])
            mill.contour(move.apply(circle), (10.0,))
        return mill.program("ports.nc", 6.0)

    box = np.array([(0.0, 0.0), (250.0, 0.0), (250.0, 400.0), (0.0, 400.0)])
    front = [profiled(box, 6.0), drilled(np.array(PADDLE_HOLES)), ports()]
    back = [profiled(box, 6.0, PAGE), drilled(np.array(PADDLE_HOLES), PAGE)]
    assert check(front, [*back, ports(PAGE)], flip=PAGE, tolerance_mm=0.1).in_register is True
    assert check(front, [*back, ports()], flip=PAGE, tolerance_mm=0.1).in_register is not True


@pytest.mark.parametrize(("told", "count"), [(8.0, 0), (10.5, 1), (20.0, 0)])
def test_an_opening_that_another_tool_than_the_named_one_cuts_is_told(told: float, count: int) -> None:
    window = np.array([(40.0, 40.0), (210.0, 40.0), (210.0, 360.0), (40.0, 360.0)])
    box = np.array([(0.0, 0.0), (250.0, 0.0), (250.0, 400.0), (0.0, 400.0)])

    def opening(move: Isometry, tool: float, name: float) -> FaceProgram:
        return Mill().contour(move.apply(offset_ring(window, -tool / 2.0)), (10.0,)).program("window.nc", name)

    front = [profiled(box, 6.0), opening(STILL, 6.0, 6.0)]
    report = check(front, [profiled(box, 6.0, PAGE), opening(PAGE, 8.0, told)], flip=PAGE, tolerance_mm=0.2)
    assert report.in_register is True
    says = "outside the front's all round: it is a lip or a rebate"
    assert sum(says in finding.message for finding in report.findings) == count


def test_housings_that_both_faces_have_at_different_heights_stop_no_pass() -> None:
    def housings(move: Isometry = STILL) -> FaceProgram:
        mill = Mill()
        for x in (40.0, 90.0):
            mill.lines(np.column_stack([move.apply(np.array([[x, 18.0], [x, 62.0]])), np.full(2, -3.0)]))
        return mill.program("housings.nc", 6.0)

    profiles = [profiled(PADDLE, 6.0), profiled(PADDLE, 6.0, PAGE)]
    back = [profiles[1], housings(shift("15", "0") @ PAGE)]
    assert check([profiles[0], housings()], back, flip=PAGE, tolerance_mm=0.1).in_register is True


def test_two_walls_of_a_rebate_that_is_wider_to_one_side_stop_no_pass() -> None:
    def corners(wide: float, move: Isometry = STILL) -> FaceProgram:
        way = np.array([[30.0, 80.0], [30.0, 20.0], [90.0 + wide, 20.0], [90.0 + wide, 80.0]])
        mill = Mill()
        mill.lines(np.column_stack([move.apply(way), np.full(4, -4.0)]))
        return mill.program("rebate.nc", 3.0)

    front = [profiled(PADDLE, 6.0), drilled(np.array(PADDLE_HOLES)), corners(0.0)]
    back = [profiled(PADDLE, 6.0, PAGE), drilled(np.array(PADDLE_HOLES), PAGE), corners(3.0, PAGE)]
    assert check(front, back, flip=PAGE, tolerance_mm=0.1).in_register is True


def test_holes_and_profile_that_are_all_off_by_less_than_the_tolerance_are_in_register() -> None:
    points, move = np.random.default_rng(2).uniform(20.0, 100.0, (9, 2)), shift("0.3", "0.28") @ PAGE
    back = [profiled(PADDLE, 6.0, move), drilled(points, move, name="back.nc")]
    report = check([profiled(PADDLE, 6.0), drilled(points)], back, flip=PAGE, tolerance_mm=0.5)
    assert report.in_register is True


def test_a_hole_three_millimetres_from_one_of_the_other_face_stops_a_pass() -> None:
    holes = np.array(PADDLE_HOLES[:3])
    moved = holes + np.array([[0.0, 0.0], [0.0, 0.0], [2.9, 0.4]])
    own = np.array([[70.0, 66.0], [80.0, 20.0]])
    front = [drilled(np.concatenate([holes, own]))]
    report = check(front, [drilled(moved, PAGE, name="back.nc")], flip=PAGE, tolerance_mm=0.1)
    assert report.in_register is not True


def test_two_holes_that_meet_the_wrong_way_round_pass_nothing_while_the_third_is_left_over() -> None:
    holes, own = np.array([[0.0, -70.0], [0.0, 70.0], [100.0, 25.0]]), np.array([[30.0, 10.0], [60.0, -20.0]])
    zero = (Decimal(0), Decimal(0))
    right, told = Isometry.mirror_y(datum_mm=zero), Isometry.mirror_x(datum_mm=zero)
    report = check(
        [drilled(np.concatenate([holes, own]))], [drilled(holes, right, name="back.nc")], flip=told, tolerance_mm=0.1
    )
    assert report.in_register is not True
    assert all(direction.status is not Status.PASS for direction in report.directions)


def test_extents_that_contradict_are_told_where_nothing_else_decides() -> None:
    def raster(move: Isometry, low: float, high: float) -> FaceProgram:
        mill = Mill()
        for y in np.arange(low, high, 5.0).tolist():
            line = move.apply(np.array([[10.0, y], [110.0, y]]))
            mill.lines(np.column_stack([line, np.full(2, -2.0)]))
        return mill.program("raster.nc", 6.0)

    for low, says in ((10.0, False), (45.0, True)):
        report = check([raster(STILL, 0.0, 60.0)], [raster(PAGE, low, low + 40.0)], flip=PAGE, tolerance_mm=0.1)
        assert report.in_register is None
        assert any(finding.check == "extents" for finding in report.findings) is says


def test_a_program_that_has_a_units_word_is_never_said_to_be_in_that_unit() -> None:
    large, small = ring((0, 0), (400, 0), (400, 300), (0, 300)), ring((0, 0), (16, 0), (16, 12), (0, 12))
    front = Mill().contour(large, (12.0,)).program("front.nc", 6.0)
    back = replace(Mill().contour(small, (12.0,)).program("back.nc", 6.0), inch=True)
    report = check([front], [back], tolerance_mm=0.1)
    assert "inches" not in str(report.diagnosis)
    assert "millimetres" not in str(report.diagnosis)


@pytest.mark.parametrize("off", ["8", "3"])
def test_slots_with_another_zero_than_the_profile_do_not_pass(off: str) -> None:
    def slots(move: Isometry) -> FaceProgram:
        mill = Mill()
        for number in range(5):
            ends = move.apply(np.array([[40.0, 20.0 + 16.0 * number], [95.0, 20.0 + 16.0 * number]]))
            mill.lines(np.column_stack([ends, np.full(2, -10.0)]))
        return mill.program("slots.nc", None)

    front = [profiled(PADDLE, 6.0), slots(STILL)]
    back = [profiled(PADDLE, 6.0, PAGE), slots(PAGE)]
    assert check(front, back, flip=PAGE, tolerance_mm=0.5).in_register is True
    back[1] = slots(shift("0", off) @ PAGE)
    assert check(front, back, flip=PAGE, tolerance_mm=0.5).in_register is not True


def test_pads_of_another_zero_stop_a_pass_though_the_holes_in_them_agree() -> None:
    random = np.random.default_rng(5)
    places = lattice(12, 9, 2.54)[random.permutation(108)[:30]]
    sizes = random.choice([1.2, 1.5, 1.8], 30).tolist()
    front, holes = [ringed(places, sizes), drilled(places)], drilled(places, PAGE, name="back.nc")
    for off, says in (("0", True), ("0.9", None)):
        report = check(front, [ringed(places, sizes, shift("0", off) @ PAGE), holes], flip=PAGE, tolerance_mm=0.1)
        assert report.in_register is says


@pytest.mark.parametrize(
    ("depth", "widths"),
    [
        (10.0, (5.0, 8.0, 5.0)),
        (3.0, (5.0, 8.0, 5.0)),
        (3.0, (5.0, 8.0, 4.2)),
        (3.0, (5.0, None, 5.0)),
        (3.0, (None, 8.0, None)),
        (3.0, (None, None, None)),
    ],
)
def test_a_hole_beside_the_recess_that_took_its_partner_is_asked_about(
    depth: float, widths: tuple[float | None, ...]
) -> None:
    """A counterbore is centred where the front's hole is, and the hole that belongs into it lies 3 mm beside."""
    places = [(20.0, 20.0), (180.0, 35.0), (70.0, 80.0), (120.0, 30.0)]
    front, sinks, holes = Mill(), Mill(), Mill()
    for number, (x, y) in enumerate(places):
        front.drill(x, y, 10.0)
        there_x, there_y = PAGE.apply(np.array([[x, y]]))[0].tolist()
        sinks.drill(there_x, there_y, 4.0)
        holes.drill(there_x + (3.0 if number == 2 else 0.0), there_y, depth)
    back = [sinks.program("sinks.nc", widths[1]), holes.program("holes.nc", widths[2])]
    report = check([front.program("front.nc", widths[0])], back, flip=PAGE, tolerance_mm=0.2)
    assert report.verdict is Status.NOT_DETERMINED
    assert any("at X 67.00 Y 80.00, 3.00 mm beside a recess" in one.message for one in report.findings)


def test_one_program_that_is_not_mirrored_shows_in_the_ends_of_its_curves() -> None:
    """The outline is symmetric and agrees; curves that are sawn from edge to edge have to lie right as well."""
    y = np.linspace(0.0, 120.0, 60)
    curves = [np.column_stack([x + 8.0 * np.sin(y / 15.0), y]) for x in (40.0, 97.0, 151.0)]
    box = np.array([(0.0, 0.0), (205.0, 0.0), (205.0, 120.0), (0.0, 120.0)])

    def face(sawn: Isometry, edge: Isometry) -> list[FaceProgram]:
        mill = Mill()
        for curve in curves:
            mill.lines(np.column_stack([sawn.apply(curve), np.full(len(curve), -8.0)]))
        return [mill.program("cuts.nc", 3.0), Mill().contour(edge.apply(box), (8.0,)).program("edge.nc", 6.0)]

    verdicts = [
        check(face(STILL, STILL), face(sawn, PAGE), flip=PAGE, tolerance_mm=0.2).verdict for sawn in (PAGE, STILL)
    ]
    assert verdicts == [Status.PASS, Status.FAIL]


def test_holes_that_land_in_recesses_of_the_other_face_pass_nothing_while_their_like_are_left_over() -> None:
    wells, holes = (
        np.array([(-60.0, -16.0), (0.0, -15.0), (60.0, -14.0)]),
        np.array([(-60.0, 33.0), (0.0, 35.0), (60.0, 37.0)]),
    )
    mills = Mill(), Mill(), Mill()
    for x, y in wells:
        mills[0].drill(float(x), float(y), 13.0)
    for mill, places in ((mills[1], holes), (mills[2], PAGE.apply(wells))):
        for x, y in places:
            mill.drill(float(x), float(y), 22.0)
    front = [mills[0].program("wells.nc", 21.0), mills[1].program("holes.nc", 4.0)]
    for thickness in (None, 21.5):
        back = [mills[2].program("back.nc", 4.0)]
        assert check(front, back, flip=PAGE, tolerance_mm=0.2, thickness_mm=thickness).in_register is not True


def test_profiles_of_two_sizes_that_go_through_pass_nothing_though_the_holes_agree() -> None:
    def face(scale: float, move: Isometry, depth: float) -> list[FaceProgram]:
        holes = drilled(np.array(PADDLE_HOLES), move)
        return [profiled(PADDLE * scale, 6.0, move, depth=depth), holes]

    assert check(face(1.0, STILL, 11.0), face(1.0, PAGE, 11.0), flip=PAGE, tolerance_mm=0.1).in_register is True
    assert check(face(1.0, STILL, 11.0), face(1.4, PAGE, 11.0), flip=PAGE, tolerance_mm=0.1).in_register is not True
    # A rabbet is shallow, and may run anywhere.
    assert check(face(1.0, STILL, 20.0), face(0.6, PAGE, 5.0), flip=PAGE, tolerance_mm=0.1).in_register is True


def test_slots_that_cross_those_of_the_other_face_are_no_quarter_turn() -> None:
    def laps(
        ends: tuple[tuple[float, float], tuple[float, float]], step: tuple[float, float], move: Isometry
    ) -> FaceProgram:
        mill = Mill()
        for number in range(3):
            way = move.apply(np.array(ends) + number * np.array(step))
            mill.lines(np.column_stack([way, np.full(2, -12.5)]))
        return mill.program("laps.nc", 3.0)

    front = [laps(((0.0, 30.0), (140.0, 30.0)), (0.0, 39.0), STILL)]
    back = [laps(((30.0, 0.0), (30.0, 140.0)), (39.0, 0.0), PAGE)]
    for flip in (PAGE, None):
        assert check(front, back, flip=flip, tolerance_mm=0.2).in_register is None


def test_leads_that_look_alike_make_no_flip_of_a_rectangle_that_fits_all_ways() -> None:
    board = offset_ring(np.array([(-60.0, -40.0), (60.0, -40.0), (60.0, 40.0), (-60.0, 40.0)]), 3.0)

    def face(ring_mm: np.ndarray) -> list[FaceProgram]:
        return [Mill().contour(ring_mm, (5.0, 11.0), lead=4.0).program("profile.nc", 6.0)]

    report = check(face(board), face(board), tolerance_mm=0.1)
    assert report.in_register is None


@pytest.mark.parametrize(("off_mm", "tool"), [("4.2", None), ("7.2", 3.0)])
def test_a_slot_that_cuts_into_its_neighbour_is_missed_where_it_belongs(off_mm: str, tool: float | None) -> None:
    """Two slots closer together than the tool is wide are one wider slot, and no field that says nothing."""

    def face(move: Isometry, off: str = "0") -> list[FaceProgram]:
        mill = Mill()
        for number in range(8):
            x = 20.0 + 8.0 * number + (float(off) if number == 3 else 0.0)
            ends = move.apply(np.array([(x, 20.0), (x, 90.0)]))
            mill.lines(np.column_stack([ends, [-13.0, -13.0]]))
        return [mill.program("slots.nc", tool)]

    assert check(face(STILL), face(PAGE), flip=PAGE, tolerance_mm=0.1).in_register is True
    assert check(face(STILL), face(PAGE, off_mm), flip=PAGE, tolerance_mm=0.1).in_register is not True


def test_slots_of_two_passes_decide_register() -> None:
    def face(move: Isometry) -> list[FaceProgram]:
        mill = Mill()
        for x, y in ((20.0, 30.0), (60.0, 42.0), (110.0, 21.0), (150.0, 55.0)):
            for across in (x - 2.0, x + 2.0):
                ends = move.apply(np.array([(across, y), (across, y + 80.0)]))
                mill.lines(np.column_stack([ends, [-13.0, -13.0]]))
        return [mill.program("slots.nc", 6.0)]

    assert check(face(STILL), face(PAGE), flip=PAGE, tolerance_mm=0.1).in_register is True
    assert check(face(STILL), face(shift("0.4", "0") @ PAGE), flip=PAGE, tolerance_mm=0.1).in_register is False


@pytest.mark.parametrize(("larger", "verdict"), [(0.0, Status.PASS), (1.4, Status.NOT_DETERMINED)])
def test_an_opening_that_is_larger_than_one_as_deep_that_agrees_is_asked_about(larger: float, verdict: Status) -> None:
    def openings(move: Isometry, larger: float = 0.0) -> FaceProgram:
        mill = Mill()
        for x, room in ((40.0, 0.0), (90.0, larger), (140.0, 0.0)):
            sides = np.array([(x, 30.0), (x + 32.0, 36.0), (x + 28.0, 70.0), (x - 4.0, 62.0)])
            mill.contour(move.apply(offset_ring(sides, room - 2.0, join_style="mitre")), (12.0,))
        return mill.program("openings.nc", 4.0)

    report = check([openings(STILL)], [openings(PAGE, larger)], flip=PAGE, tolerance_mm=0.2, thickness_mm=22.0)
    assert report.verdict is verdict


@pytest.mark.parametrize(("depth", "verdict"), [(10.0, Status.FAIL), (9.0, Status.NOT_DETERMINED)])
def test_a_lip_as_wide_as_the_tool_s_radius_is_no_wrong_tool_where_the_other_face_cuts_through(
    depth: float, verdict: Status
) -> None:
    front_mm = 10.5 if depth == 10.0 else 18.3
    front = Mill().contour(offset_ring(PADDLE, 3.0), (front_mm,)).program("profile.nc", 6.0)
    back = Mill().contour(PAGE.apply(PADDLE), (depth,)).program("rabbet.nc", 6.0)
    holes = [drilled(np.array(PADDLE_HOLES)), drilled(np.array(PADDLE_HOLES), PAGE)]
    report = check([front, holes[0]], [back, holes[1]], flip=PAGE, tolerance_mm=0.2, thickness_mm=18.0)
    assert report.verdict is verdict


@pytest.mark.parametrize(("off_mm", "is_right"), [("0", True), ("0.12", False)])
def test_a_saw_cut_with_knees_that_lock_the_pieces_decides_as_one_in_a_curve_does(
    off_mm: str, *, is_right: bool
) -> None:
    """Its short sides make no corners, and its ends are all that the check knows of it."""
    knee = np.array([(0.0, 0.0), (-6.0, 6.0), (0.0, 13.0), (7.0, 13.0), (13.0, 6.0), (7.0, 0.0)])
    knees = np.array([(-10.0, 60.0), *np.add(knee, (40.0, 60.0)), *np.add(knee, (90.0, 60.0)), (160.0, 60.0)])

    def face(move: Isometry) -> list[FaceProgram]:
        mill = Mill().lines(np.column_stack([move.apply(knees), np.full(len(knees), -11.0)]))
        return [mill.program("saw.nc", None)]

    front = [profiled(PADDLE, 6.0), *face(STILL)]
    back = [profiled(PADDLE, 6.0, PAGE), *face(shift("0", off_mm) @ PAGE)]
    assert (check(front, back, flip=PAGE, tolerance_mm=0.05).in_register is True) is is_right


def test_two_pins_that_lie_elsewhere_stop_a_pass_though_one_face_has_other_holes_too() -> None:
    """Profile and three holes agree; of the wells in the front none has to do with the pins."""
    rack, pins = np.array([(30.0, 30.0), (90.0, 30.0), (150.0, 40.0)]), np.array([(20.0, 60.0), (180.0, 50.0)])
    wells = Mill()
    for x, y in ((60.0, 60.0), (100.0, 70.0), (130.0, 65.0)):
        wells.bore(x, y, 7.0, 7.0)

    def pinned(move: Isometry) -> FaceProgram:
        mill = Mill()
        for x, y in move.apply(pins):
            mill.drill(x, y, 20.0)
        return mill.program("pins.nc", 8.0)

    front = [profiled(PADDLE, 6.0), drilled(rack), pinned(STILL), wells.program("wells.nc", 6.0)]
    back = [profiled(PADDLE, 6.0, PAGE), drilled(rack, PAGE, name="back.nc")]
    assert check(front, [*back, pinned(PAGE)], flip=PAGE, tolerance_mm=0.2).in_register is True
    assert check(front, [*back, pinned(STILL)], flip=PAGE, tolerance_mm=0.2).in_register is not True


def test_a_hole_as_deep_as_those_that_agree_that_lies_elsewhere_stops_a_pass_though_others_are_left_over_too() -> None:
    """Nobody told the tools; the back drills two shallower holes, and bores the catch's where it doesn't belong."""
    handle, catch = np.array([(30.0, 30.0), (90.0, 30.0)]), (180.0, 50.0)

    def face(move: Isometry, own: Sequence[tuple[float, float]], depth: float) -> list[FaceProgram]:
        mill, hinge = Mill(), Mill()
        for x, y in move.apply(handle):
            mill.drill(x, y, depth)
        for x, y in own:
            hinge.drill(x, y, 12.0)
        edge = Mill().contour(move.apply(offset_ring(PADDLE, 3.0)), (depth,))
        return [edge.program("edge.nc", None), mill.program("handle.nc", None), hinge.program("hinge.nc", None)]

    front = [*face(STILL, (), 8.6), Mill().drill(*catch, 8.6).program("catch.nc", None)]
    back = face(PAGE, [(20.0, 60.0), (25.0, 70.0)], 10.3)
    for move, verdict in ((PAGE, Status.PASS), (STILL, Status.NOT_DETERMINED)):
        x, y = move.apply(np.array([catch]))[0].tolist()
        bored = Mill().bore(x, y, 2.0, 10.3).program("catch.nc", None)
        report = check(front, [*back, bored], flip=PAGE, tolerance_mm=0.2, thickness_mm=18.0)
        assert report.verdict is verdict


@pytest.mark.parametrize(
    ("room_mm", "verdict", "says"),
    [
        (3.0, Status.PASS, ""),
        (-3.0, Status.NOT_DETERMINED, "off by the tool diameter"),
        (7.0, Status.PASS, "a lip or a rebate"),
    ],
)
def test_profiles_of_small_parts_that_run_round_inside_of_the_front_s_are_told(
    room_mm: float, verdict: Status, says: str
) -> None:
    pieces = [rounded(50.0, 30.0, 8.0, 20.0, 20.0 + 50.0 * number) for number in range(3)]
    holes = np.array([(45.0, 32.0), (40.0, 84.0), (52.0, 136.0)])

    def face(move: Isometry, room_mm: float) -> list[FaceProgram]:
        mill = Mill()
        for piece in pieces:
            mill.contour(move.apply(offset_ring(piece, room_mm)), (10.0,))
        return [mill.program("profiles.nc", 6.0), drilled(holes, move)]

    report = check(face(STILL, 3.0), face(PAGE, room_mm), flip=PAGE, tolerance_mm=0.1)
    assert report.verdict is verdict
    assert any(says in one.message for one in report.findings)


@pytest.mark.parametrize(("turn_deg", "is_right"), [(0.0, True), (4.6, False)])
def test_an_opening_that_is_turned_about_its_own_middle_stops_a_pass(turn_deg: float, *, is_right: bool) -> None:
    window = np.array([(30.0, 30.0), (180.0, 30.0), (180.0, 110.0), (30.0, 110.0)])
    box = np.array([(0.0, 0.0), (210.0, 0.0), (210.0, 145.0), (0.0, 145.0)])

    def face(move: Isometry, opening: Isometry, depth: float) -> list[FaceProgram]:
        inner = Mill().contour(opening.apply(offset_ring(window, -3.0)), (depth,))
        return [profiled(box, 6.0, move), inner.program("opening.nc", 6.0)]

    about = shift("105", "70") @ Isometry.rotation(turn_deg) @ shift("-105", "-70")
    report = check(
        face(STILL, STILL, 11.2), face(PAGE, PAGE @ about, 14.7), flip=PAGE, tolerance_mm=0.5, thickness_mm=25.0
    )
    assert (report.in_register is True) is is_right


@pytest.mark.parametrize("tool", [6.0, None])
def test_openings_of_which_either_face_clears_others_are_in_register(tool: float | None) -> None:
    """One face goes once round where the other clears the middle, and that says on which side the wall stands."""
    places = [(30.0, 40.0), (95.0, 55.0), (150.0, 30.0)]

    def face(move: Isometry, cleared: int, depth: float) -> list[FaceProgram]:
        mill = Mill()
        for number, (x, y) in enumerate(places):
            opening = rounded(50.0, 14.0, 6.9, x - 25.0, y - 7.0)
            for room in (4.5, 3.0) if number == cleared else (3.0,):
                mill.contour(move.apply(offset_ring(opening, -room)), (depth,))
        return [mill.program("openings.nc", tool)]

    front, back = face(STILL, 2, 10.0), face(PAGE, 0, 21.0)
    report = check(front, back, flip=PAGE, tolerance_mm=0.05, thickness_mm=30.0)
    assert report.verdict is Status.PASS


def test_screws_that_only_one_face_has_do_not_excuse_holes_that_are_not_mirrored() -> None:
    ring_mm = np.array([(40.0, 20.0), (160.0, 28.0), (150.0, 70.0), (60.0, 80.0)])
    screws = np.array([(-20.0, -20.0), (225.0, -20.0), (225.0, 130.0), (-20.0, 130.0)])

    def bored(points: np.ndarray, tool: float, depth: float) -> FaceProgram:
        mill = Mill()
        for x, y in points:
            mill.drill(x, y, depth)
        return mill.program(f"holes-{tool}.nc", tool)

    front = [profiled(PADDLE, 6.0), bored(ring_mm, 4.0, 21.0), bored(np.add(ring_mm[:2], (20.0, 30.0)), 9.0, 34.0)]
    back = [profiled(PADDLE, 6.0, PAGE), bored(screws, 3.5, 30.5)]
    for move, verdict in ((PAGE, Status.PASS), (STILL, Status.NOT_DETERMINED)):
        holes = bored(move.apply(ring_mm), 4.0, 18.0)
        assert check(front, [*back, holes], flip=PAGE, tolerance_mm=0.1, thickness_mm=38.1).verdict is verdict


def test_saw_cuts_with_corners_that_are_not_mirrored_beside_a_symmetric_edge_stop_a_pass() -> None:
    box = np.array([(0.0, 0.0), (205.0, 0.0), (205.0, 120.0), (0.0, 120.0)])
    knee = np.array([(0.0, 0.0), (-8.0, 9.0), (4.0, 20.0), (18.0, 18.0), (25.0, 7.0), (16.0, 0.0)])
    ways = [
        np.array([(-10.0, y), *np.add(knee, (x, y)), *np.add(knee, (x + 60.0, y)), (215.0, y)])
        for x, y in ((30.0, 25.0), (52.0, 75.0))
    ]

    def face(edge: Isometry, sawn: Isometry) -> list[FaceProgram]:
        mill = Mill()
        for way in ways:
            mill.lines(np.column_stack([sawn.apply(way), np.full(len(way), -11.0)]))
        return [profiled(box, 6.0, edge), mill.program("saw.nc", 2.0)]

    backs = [face(PAGE, sawn) for sawn in (PAGE, STILL)]
    verdicts = [check(face(STILL, STILL), back, flip=PAGE, tolerance_mm=0.2).verdict for back in backs]
    assert verdicts[0] is Status.PASS
    assert verdicts[1] is not Status.PASS
