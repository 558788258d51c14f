"""Machine positions: nothing in the proof knows where they lie, so that what is refused has to be refused here."""

import re
from decimal import Decimal

import pytest

from flipreg.geometry.isometry import Isometry
from flipreg.rewrite.machine import kept_machine_blocks
from flipreg.rs274.read.location import RefusedError
from tests.prove.reads import read

ZERO = Decimal(0)

MOVED_ACROSS = {
    "along X": Isometry.translation(Decimal("0.5"), ZERO),
    "along Y": Isometry.translation(ZERO, Decimal("0.5")),
    "along both": Isometry.translation(Decimal(1), Decimal(2)),
    "mirrored in X": Isometry.mirror_x(datum_mm=(ZERO, ZERO)),
    "mirrored in Y": Isometry.mirror_y(datum_mm=(ZERO, ZERO)),
    "a half turn": Isometry.rotation(180),
    "a quarter turn": Isometry.rotation(90),
    "any turn": Isometry.rotation(3),
}
MOVED_UP = Isometry.translation(ZERO, ZERO, Decimal(2))

ACROSS = {
    "G53 G0 X1": "G53 goes to a machine position in X, which does not move with the program",
    "G53 G0 Y1": "G53 goes to a machine position in Y, which does not move with the program",
    "G53 G0 Z5 Y1 X1": "G53 goes to a machine position in X and Y, which does not move with the program",
    "G28": "G28 goes to a machine position along all axes, which does not move with the program",
    "G30": "G30 goes to a machine position along all axes, which does not move with the program",
    "G28 X1": "G28 goes to a machine position in X, which does not move with the program",
    "G30 Y1": "G30 goes to a machine position in Y, which does not move with the program",
    "G10 L2 P1 X1": "G10 sets a zero in machine coordinates, and where that of the new program lies is not in the",
    "G10 L2 P1 Y1": "G10 sets a zero in machine coordinates, and where that of the new program lies is not in the",
}
UP = ("G53 G0 Z0", "G28 Z5", "G30 Z5")

BEFORE = "G21 G90\nG0 X1 Y1 Z1\nG92 Z1\nN53 "
"""A label, which is no machine position, and a line number that looks like the code."""


def kept(block: str, isometry: Isometry) -> list[int]:
    chunk = read(f"{BEFORE}{block}\n")
    return kept_machine_blocks(chunk.blocks, chunk.modes, isometry)


@pytest.mark.parametrize("block", ACROSS)
@pytest.mark.parametrize("moved", MOVED_ACROSS)
def test_a_position_across_is_refused_whenever_the_program_moves_across(block: str, moved: str) -> None:
    message = f"front.ngc:4:5: {ACROSS[block]}"
    with pytest.raises(RefusedError, match=f"^{re.escape(message)}"):
        kept(block, MOVED_ACROSS[moved])


@pytest.mark.parametrize("block", UP)
@pytest.mark.parametrize("moved", MOVED_ACROSS)
def test_a_retract_along_z_stays_however_the_program_moves_across(block: str, moved: str) -> None:
    assert kept(block, MOVED_ACROSS[moved]) == [3]


@pytest.mark.parametrize("block", [*ACROSS, *UP])
def test_every_position_stays_where_the_program_moves_up_only(block: str) -> None:
    assert kept(block, MOVED_UP) == [3]
    assert kept(block, Isometry()) == [3]


def test_a_zero_along_z_stays_unless_the_program_moves_along_z() -> None:
    for isometry in MOVED_ACROSS.values():
        assert kept("G10 L2 P1 Z1", isometry) == [3]
    message = "front.ngc:4:5: G10 sets the zero along Z, which would take the shift along Z back; leave Z out of it"
    with pytest.raises(RefusedError, match=f"^{re.escape(message)}"):
        kept("G10 L2 P1 Z1", MOVED_UP)


def test_what_to_do_is_said() -> None:
    with pytest.raises(RefusedError, match=r"name Z only, or take it out"):
        kept("G53 G0 X1", MOVED_ACROSS["along X"])
    with pytest.raises(RefusedError, match=r"set the work offset at the machine and take the block out"):
        kept("G10 L2 P1 X1", MOVED_ACROSS["along X"])


def test_all_of_a_chunk_are_found_in_order() -> None:
    chunk = read("G21 G90\nG53 G0 Z0\nG0 X1 Y1 Z1\nG28 Z5\nG92 X5\nG53 G0 Z0\n")
    assert kept_machine_blocks(chunk.blocks, chunk.modes, Isometry.rotation(3)) == [1, 3, 5]


def test_the_second_of_a_kind_is_named_where_the_first_may_stay() -> None:
    chunk = read("G21 G90\nG53 G0 Z0\nG53 G0 X1\n")
    with pytest.raises(RefusedError, match=r"^front\.ngc:3:1: G53 goes to a machine position in X"):
        kept_machine_blocks(chunk.blocks, chunk.modes, MOVED_ACROSS["along X"])
