"""Lines that an edit adds: what they may do, and which of their motions are clear for every value of the unknowns."""

from decimal import Decimal

import pytest

from flipreg.errors import ProofError
from flipreg.prove.machine.beside import Beside
from flipreg.prove.machine.history import History
from flipreg.prove.machine.machine import MachineState
from flipreg.prove.machine.ours import added_moves, check_rise, is_across, is_high, is_straight_along_z
from flipreg.prove.machine.step import Move
from tests.prove.machine.walks import at, line, walked

SAFE = Decimal(10)


def both(*texts: str) -> Beside:
    return Beside("front.nc", walked(*texts)[0], walked(*texts)[0], History())


def moves(beside: Beside, text: str, *, acts: tuple[str, ...] = ()) -> list[Move]:
    return added_moves(beside, line(text), "XYZ", acts=acts)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("/G0 Z10", "be left out under block delete"),
        ("G0 Z10 F5", "hold F"),
        ("G1 Z10", "cut"),
        ("M0", "do more than it may"),
        ("G4", "do more than it may"),
    ],
)
def test_an_added_line_holds_no_more_than_it_may(text: str, said: str) -> None:
    with pytest.raises(ProofError, match=f"front.nc:7:1: an added line would {said}"):
        moves(both("G0 X1 Y1 Z1"), text)


def test_an_added_line_moves_the_output_alone() -> None:
    beside = both("G0 X1 Y1 Z1")
    (move,) = moves(beside, "G0 Z10")
    assert beside.source.place[2] != beside.output.place[2] == move.end[2]
    assert moves(beside, "M30", acts=("end",)) == []


def test_along_z_and_across_are_told_apart() -> None:
    up, across, slanting = (walked("G0 X1 Y1 Z1", text)[1].moves[0] for text in ("Z5", "X5 Y5", "X5 Z5"))
    assert [is_straight_along_z(move) for move in (up, across, slanting)] == [True, False, False]
    assert [is_across(move) for move in (up, across, slanting)] == [False, True, False]
    beside = walked("G0 X1 Y1 Z1", "G41 D1 G1 X5", "G40", "G0 Z5")[1].moves[0]
    assert not is_straight_along_z(beside)


@pytest.mark.parametrize("height", ["10", "10.002"])
def test_a_rise_leads_straight_up_to_the_safe_height_as_it_is_rounded(height: str) -> None:
    beside = both("G0 X1 Y1 Z1")
    (move,) = moves(beside, f"G0 Z{height}")
    check_rise(beside, 7, move, SAFE, from_anywhere=False)


@pytest.mark.parametrize("height", ["9.5", "10"])
def test_a_short_rise_is_one_and_so_is_none_at_all(height: str) -> None:
    beside = both(f"G0 X1 Y1 Z{height}")
    (move,) = moves(beside, "G0 Z10")
    check_rise(beside, 7, move, SAFE, from_anywhere=False)


@pytest.mark.parametrize(
    ("before", "text"),
    [
        ("G0 X1 Y1 Z1", "G0 Z9.99"),
        ("G0 X1 Y1 Z1", "G0 Z10.004"),
        ("G0 X1 Y1 Z1", "G0 Z10 X2"),
        ("G0 X1 Y1 Z10.001", "G0 Z10"),
        ("G53 G0 Z0", "G0 Z10"),
        ("G17", "G0 Z10"),
    ],
)
def test_what_is_no_rise_for_some_value_of_the_unknowns_is_refused(before: str, text: str) -> None:
    beside = both(before)
    (move,) = moves(beside, text)
    with pytest.raises(ProofError, match=r"front.nc:7:1: an added line would not lead straight up to the safe height"):
        check_rise(beside, 7, move, SAFE, from_anywhere=False)


def test_a_rise_at_the_start_may_begin_anywhere() -> None:
    beside = both("G17")
    (move,) = moves(beside, "G0 Z10")
    check_rise(beside, 7, move, SAFE, from_anywhere=True)
    beside = both("G53 G0 Z0")
    (move,) = moves(beside, "G0 Z10")
    with pytest.raises(ProofError, match="straight up"):
        check_rise(beside, 7, move, SAFE, from_anywhere=True)


def test_a_height_is_high_in_the_frame_of_the_cut_with_the_tool_of_the_cut() -> None:
    beside = both("T1 M6", "G43 H1", "G0 X1 Y1 Z10")
    frame = beside.source.frame()
    assert is_high(beside, frame, SAFE)
    assert not is_high(beside, frame, SAFE + 1)
    assert not is_high(beside, None, SAFE)
    assert not is_high(beside, walked("T2 M6", "G43 H1")[0].frame(), SAFE)
    assert not is_high(beside, walked("T1 M6", "G43 H2")[0].frame(), SAFE)
    assert is_high(beside, frame, SAFE, here=frame.zero[2] + at(12))
    assert not is_high(beside, frame, SAFE, here=frame.zero[2] + at(8))


def test_a_height_of_the_machine_is_high_where_the_source_stands_there_itself() -> None:
    beside = Beside("front.nc", MachineState(), MachineState(), History())
    beside.step(line("G53 G0 Z0"))
    assert is_high(beside, None, SAFE)
    beside.split().place[2] = at(-1)
    assert not is_high(beside, None, SAFE)
    beside.output.place[2] = at(0)
    beside.source.place[2] = at(-1)
    assert not is_high(beside, None, SAFE)
