"""One block at the proof's machine, worked by hand from NISTIR 6556 (3.5 to 3.8): numbers, and what nobody knows."""

from decimal import Decimal

import pytest

from flipreg.prove.machine.coordinate import REFERENCE, ZERO, Coordinate
from flipreg.prove.machine.machine import LENGTH_AT_START, Machine
from flipreg.rs274.read.program import Units
from tests.prove.machine.walks import at, walked

X, Y, Z = (Coordinate.start(letter) for letter in "XYZ")
OFFSET_X, OFFSET_Z = "axis offset at start X", "axis offset at start Z"
G54_X, G54_Z = "origin G54 X", "origin G54 Z"


def test_a_traverse_leads_to_zero_and_number_and_leaves_the_other_axes() -> None:
    machine, deed = walked("G0 X5 Z2")
    assert machine.place == [at(5, G54_X, OFFSET_X), Y, at(2, G54_Z, OFFSET_Z, LENGTH_AT_START)]
    (move,) = deed.moves
    assert (move.is_fed, move.is_straight, move.is_of_machine) == (False, True, False)
    assert (move.start, move.end) == ((X, Y, Z), tuple(machine.place))
    assert [move.goes(axis) for axis in range(3)] == [True, False, True]
    assert not deed.leaned_on_start
    assert deed.frame == machine.frame()
    assert machine.motion == 0


def test_a_cut_that_begins_at_an_unknown_place_depends_on_it() -> None:
    assert walked("G1 X5 Y5 Z5")[1].leaned_on_start
    machine, deed = walked("G0 X1 Y1 Z1", "G1 Z-1")
    assert not deed.leaned_on_start
    assert deed.moves[0].is_fed
    assert machine.place[2] == at(-1, G54_Z, OFFSET_Z, LENGTH_AT_START)
    assert walked("G0 X1 Z1", "G1 Z-1")[1].leaned_on_start


def test_a_step_adds_to_the_place_and_depends_on_it() -> None:
    machine, deed = walked("G91 G0 X5")
    assert machine.place[0] == X + at(5)
    assert deed.leaned_on_start
    machine, deed = walked("G0 X2", "G91", "X5")
    assert machine.place[0] == at(7, G54_X, OFFSET_X)
    assert not deed.leaned_on_start


def test_inches_are_millimetres_in_words_and_feeds_and_not_in_speeds() -> None:
    machine, _ = walked("G20 G1 X1 F10 S500")
    assert machine.place[0] == at("25.4", G54_X, OFFSET_X)
    assert (machine.feed_mm, machine.speed) == (Decimal("254.0"), Decimal(500))
    assert walked("G1 X1 F10")[0].feed_mm == 10


def test_a_program_begins_in_the_unit_that_was_said_for_it() -> None:
    assert [Machine.before(units).units for units in (None, Units.MM, Units.INCH)] == [210, 210, 200]
    assert Machine.before(None).place == [X, Y, Z]
    assert Machine.before(None, "of 2").place[1] == Coordinate.start("of 2 Y")


def test_no_feed_is_named_under_inverse_time() -> None:
    machine, _ = walked("G1 X1 F10", "G93 X2 F3")
    assert (machine.feed_mm, machine.feed_mode) == (Decimal(10), 930)


def test_a_length_offset_moves_nothing_and_gives_numbers_another_height() -> None:
    machine, deed = walked("G0 Z5", "G43 H2")
    assert deed.moves == []
    assert machine.place[2] == at(5, G54_Z, OFFSET_Z, LENGTH_AT_START)
    assert walked("G0 Z5", machine=machine)[0].place[2] == at(5, G54_Z, OFFSET_Z, "length offset H2")
    assert walked("G49", "Z5", machine=machine)[0].place[2] == at(5, G54_Z, OFFSET_Z)
    assert machine.length == ZERO


def test_a_length_offset_without_a_number_is_the_one_of_the_tool_in_the_spindle() -> None:
    one, other = walked("T1 M6", "T2", "G43")[0], walked("T2 M6", "G43")[0]
    assert one.length == Coordinate.of("length offset of T1")
    assert other.length == Coordinate.of("length offset of T2")
    assert walked("T1", "G43")[0].length == Coordinate.of("length offset of the tool at start")


@pytest.mark.parametrize("text", ["G80 G1 X3", "G1 G80 X3"])
def test_a_motion_beside_g80_is_made_and_without_one_none_stays_in_force(text: str) -> None:
    machine, deed = walked("G0 X1 Y1 Z1", text)
    assert [move.is_fed for move in deed.moves] == [True]
    assert machine.motion == 10
    assert walked(text.replace(" X3", ""))[0].motion == 800


def test_a_dwell_by_x_moves_nothing() -> None:
    machine, deed = walked("G0 X1", "G4 X2")
    assert (deed.moves, deed.acts) == ([], ["dwell"])
    assert machine.place[0] == walked("G0 X1")[0].place[0]


@pytest.mark.parametrize(
    ("text", "cuts"),
    [("I1", True), ("G2 K1", False), ("G18 K1", True), ("G64 I1", False), ("G64 G3 I1", True), ("G1 I1", False)],
)
def test_a_centre_without_an_end_is_a_full_circle(text: str, cuts: bool) -> None:  # noqa: FBT001 - a case
    machine, deed = walked("G0 X1 Y1 Z1", "G2 X2 I1", text)
    assert [move.is_fed for move in deed.moves] == [True] * cuts
    assert machine.place == walked("G0 X1 Y1 Z1", "G2 X2 I1")[0].place


def test_a_work_offset_has_a_zero_of_its_own_until_g10_sets_it() -> None:
    assert walked("G55", "G0 X1")[0].place[0] == at(1, "origin G55 X", OFFSET_X)
    machine, _ = walked("G10 L2 P2 X30", "G55 G0 X1 Y1")
    assert machine.place[:2] == [at(31, OFFSET_X), at(1, "origin G55 Y", "axis offset at start Y")]
    assert walked("G10 L2 P7 X3", "G59.1 G0 X1")[0].place[0] == at(4, OFFSET_X)
    assert walked("G10 L2 P9 X3", "G59.3 G0 X1")[0].place[0] == at(4, OFFSET_X)
    assert walked("G10 L2 P2 X30")[1].acts == ["data"]


def test_an_axis_offset_gives_the_place_another_number() -> None:
    machine, deed = walked("G49", "G0 X5 Z3", "G92 X0 Z1")
    assert deed.moves == []
    assert machine.axis_offset[0] == at(5, OFFSET_X)
    assert walked("G0 X1", machine=machine)[0].place[0] == at(6, G54_X, OFFSET_X)
    assert machine.axis_offset[2] == at(2, OFFSET_Z)
    assert machine.axis_offset[1] == at(0, "axis offset at start Y")


def test_axis_offsets_are_reset_kept_and_brought_back() -> None:
    kept, _ = walked("G0 X5", "G92 X0", "G92.2")
    assert kept.axis_offset == [ZERO] * 3
    assert walked("G92.3", machine=kept)[0].axis_offset[0] == at(5, OFFSET_X)
    gone, _ = walked("G0 X5", "G92 X0", "G92.1", "G92.3")
    assert gone.axis_offset == [ZERO] * 3
    assert gone.stored == [ZERO] * 3
    machine, deed = walked("G92.1", "G0 G92.2 X5")
    assert machine.place[0] == at(5, G54_X)
    assert len(deed.moves) == 1


def test_a_position_of_the_machine_is_a_number_without_offsets() -> None:
    machine, deed = walked("G43 H1", "G53 G0 Z-3")
    assert machine.place[2] == at(-3)
    assert deed.moves[0].is_of_machine
    assert not deed.moves[0].is_fed
    assert walked("G53 G1 X2 Y3 Z1")[1].moves[0].is_fed
    assert walked("G20", "G53 G0 X1")[0].place[0] == at("25.4")


def test_a_reference_position_is_reached_by_the_place_between() -> None:
    machine, deed = walked("G28 Z4")
    assert [move.end[2] for move in deed.moves] == [
        at(4, G54_Z, OFFSET_Z, LENGTH_AT_START),
        at(0, f"{REFERENCE}G28 Z"),
    ]
    assert machine.place[:2] == [X, Y]
    assert all(move.is_of_machine and not move.is_fed for move in deed.moves)
    machine, deed = walked("G91 G30 Z0")
    assert [move.end[2] for move in deed.moves] == [Z, at(0, f"{REFERENCE}G30 Z")]
    assert not deed.leaned_on_start
    machine, deed = walked("G28")
    assert len(deed.moves) == 1
    assert machine.place == [at(0, f"{REFERENCE}G28 {letter}") for letter in "XYZ"]


def test_compensation_leaves_x_and_y_a_radius_off_until_they_are_named_without_it() -> None:
    machine, deed = walked("G0 X1 Y1 Z1", "G41 D3 G1 X5")
    assert machine.cutter == (410, Decimal(3))
    assert machine.radius_off == {0, 1}
    assert not deed.moves[0].is_straight
    assert deed.moves[0].goes(2)
    machine, deed = walked("G40 G0 X7", machine=machine)
    assert machine.cutter == (400, None)
    assert machine.radius_off == {1}
    assert not deed.moves[0].is_straight
    machine, deed = walked("Y7", machine=machine)
    assert not machine.radius_off
    assert walked("X9", machine=machine)[1].moves[0].is_straight


def test_a_probe_ends_where_nobody_knows_and_each_time_somewhere_else() -> None:
    machine, deed = walked("G0 X1 Y1 Z5", "G38.2 Z-5")
    first = machine.place[2]
    assert deed.acts == ["probe"]
    assert deed.moves[0].is_fed
    assert not first.is_number
    assert not first.hangs_on_start
    assert machine.place[0] == at(1, G54_X, OFFSET_X)
    machine, _ = walked("G38.2 Z-5", machine=machine)
    assert machine.place[2] != first
    assert machine.unknowns == 2


def test_a_tool_that_is_changed_stands_still() -> None:
    machine, deed = walked("M3 S900 T4")
    assert (machine.selected, machine.tool, machine.turning) == (4, None, 3)
    machine, deed = walked("M6", machine=machine)
    assert (machine.tool, machine.turning, deed.acts) == (4, 5, ["change"])
    assert walked("T5 M6 M4")[0].turning == 4


def test_coolant_overrides_and_path_control_are_remembered() -> None:
    machine, _ = walked("M7", "M8", "M49", "G64 P0.05 Q0.1")
    assert (machine.mist, machine.flood, machine.overrides) == (True, True, False)
    assert machine.path == (640, (("P", Decimal("0.05")), ("Q", Decimal("0.1"))))
    machine, _ = walked("M9", "M48", "G61.1", machine=machine)
    assert (machine.mist, machine.flood, machine.overrides) == (False, False, True)
    assert machine.path == (611, ())


def test_words_of_path_control_are_lengths_in_the_unit_in_force() -> None:
    assert walked("G20", "G64 P0.1")[0].path == walked("G64 P2.54")[0].path
    assert walked("G20", "G64 P0.1")[0].path != walked("G64 P0.1")[0].path


def test_a_hole_ends_the_radius_along_the_axes_that_it_names_and_its_way_there_is_not_straight() -> None:
    beside = ("G0 X0 Y0 Z5", "G41 D1 G1 X5 F100", "G40", "G0")
    machine, deed = walked(*beside, "G81 X1 R1 Z-1")
    assert machine.radius_off == {1}
    assert [move.is_straight for move in deed.moves] == [False]
    machine, deed = walked("Y2", machine=machine)
    assert (machine.radius_off, [move.is_straight for move in deed.moves]) == (frozenset(), [False])
    assert [move.is_straight for move in walked("X3", machine=machine)[1].moves] == [True]


@pytest.mark.parametrize(
    ("text", "act"),
    [("G4 P1", "dwell"), ("M0", "M0"), ("M1", "M1"), ("M60", "M60"), ("M98 P1", "M98"), ("M30", "end"), ("M2", "end")],
)
def test_what_is_done_besides_moving_is_told(text: str, act: str) -> None:
    assert walked(text)[1].acts == [act]


def test_an_end_resets_what_an_end_resets_and_nothing_is_done_after_it() -> None:
    machine, _ = walked(
        "G18 G91 G93 G55 G41 D1 M3 M7 M8 M49 G20 G99 T2 M6", "G0 X1", "G92 X0", "G64", "M3", "M30"
    )
    assert machine.ended
    assert (machine.plane, machine.distance, machine.feed_mode, machine.offset) == (170, 900, 940, 540)
    assert (machine.cutter, machine.turning, machine.motion) == ((400, None), 5, 10)
    assert (machine.mist, machine.flood, machine.overrides) == (False, False, True)
    assert machine.axis_offset == [ZERO] * 3
    assert (machine.units, machine.returns, machine.tool, machine.path) == (200, 990, 2, (640, ()))
    place = [*machine.place]
    _, deed = walked("G0 X9 M8", machine=machine)
    assert (machine.place, machine.flood, deed.moves, deed.acts) == (place, False, [], [])


def test_axis_words_without_a_motion_move_nothing() -> None:
    assert walked("G0", "F5")[1].moves == []
    assert walked("G0", "F5")[1].frame is None


def test_a_cycle_goes_over_its_hole_and_back_to_where_it_was() -> None:
    machine, deed = walked("G49", "G0 X0 Y0 Z10", "G81 X5 Z-3 R2")
    assert deed.acts == ["cycle"]
    assert deed.moves[0].is_fed
    y = at(0, "origin G54 Y", "axis offset at start Y")
    assert machine.place == [at(5, G54_X, OFFSET_X), y, at(10, G54_Z, OFFSET_Z)]
    machine, _ = walked("G99 X6", machine=machine)
    assert machine.place[2] == at(2, G54_Z, OFFSET_Z)
    # From below the clearance G98 comes back to the clearance.
    machine, _ = walked("G0 Z1", "G98 G81 X7 Z-3 R2", machine=machine)
    assert machine.place[2] == at(2, G54_Z, OFFSET_Z)
    machine, _ = walked("G43 H3", "G81 X8 Z-3 R2", machine=machine)
    assert not (machine.place[2] - machine.zero(2)).is_number


def test_steps_of_a_cycle_are_repeated() -> None:
    machine, _ = walked("G49", "G0 X0 Y0 Z10", "G91 G99 G81 X5 Z-3 R-8 L3")
    assert machine.place[0] == at(15, G54_X, OFFSET_X)
    assert machine.place[2] == at(2, G54_Z, OFFSET_Z)
    assert walked("G91 G81 X5 Z-3 R-8")[1].leaned_on_start
