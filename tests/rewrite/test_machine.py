"""Machine positions: nothing in the proof knows where they lie, so that what is refused has to be refused here."""

import re
from decimal import Decimal

import numpy as np
import pytest

from flipreg.geometry.isometry import Isometry
from flipreg.rewrite.isometry.machine import Parked, kept_machine_blocks
from flipreg.rs274.interpret.interpret import interpret_blocks
from flipreg.rs274.interpret.state import State
from flipreg.rs274.read.location import RefusedError
from tests.every import every
from tests.prove.reads import read
from tests.rs274.reading import chunks_of

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

COUPLED = ("a quarter turn", "any turn")
"""Isometries after which the place of X says something of Y."""

ACROSS = {
    "G53 G1 X1": "G53 feeds to a machine position in X, which does not move with the program",
    "G53 G1 Y1": "G53 feeds to a machine position in Y, which does not move with the program",
    "G53 G1 Z5 Y1 X1": "G53 feeds to a machine position in X and Y, which does not move with the program",
    "G10 L2 P1 X1": "G10 sets a zero in machine coordinates, and where that of the new program lies is not in the",
    "G10 L2 P1 Y1": "G10 sets a zero in machine coordinates, and where that of the new program lies is not in the",
}
ALONE = {
    "G53 G0 X1": "G53 goes to a machine position in X only, and a turn couples X and Y",
    "G28 Y1": "G28 goes to a machine position in Y only, and a turn couples X and Y",
    "G30 X1 Z1": "G30 goes to a machine position in X only, and a turn couples X and Y",
}
PARKS = ("G53 G0 X1 Y1", "G53 G0 Z5 Y1 X1", "G28", "G30", "G28 X1 Y1", "G91 G28 X0 Y0", "G91 G30 X0 Y0 Z0")
UP = ("G53 G0 Z0", "G28 Z5", "G30 Z5", "G53 G1 Z0")

BEFORE = "G21 G90\nG0 X1 Y1 Z1\nG92 Z1\nN53 "
"""An axis offset, which is no machine position, and a line number that looks like the code."""


def kept(block: str, isometry: Isometry) -> list[int]:
    chunk = read(f"{BEFORE}{block}\n")
    return kept_machine_blocks(chunk.blocks, chunk.modes, isometry)


def moves(isometry: Isometry, axis: str) -> bool:
    """Return whether a point of the program gets another X or Y."""
    at = "XY".index(axis)
    point = np.array([[7.0, 8.0, 1.0]])
    return bool(isometry.apply(point)[0, at] != point[0, at])


@every("block", ACROSS)
@every("moved", MOVED_ACROSS)
def test_a_feed_or_a_zero_across_is_refused_where_the_program_moves_along_it(block: str, moved: str) -> None:
    axes = [axis for axis in "XY" if axis in block.replace("G53 ", "")]
    hit = [axis for axis in axes if moves(MOVED_ACROSS[moved], axis)]
    if not hit:
        assert kept(block, MOVED_ACROSS[moved]) == [3]
        return
    message = ACROSS[block].replace("X and Y", " and ".join(hit))
    with pytest.raises(RefusedError, match=f"^{re.escape(f'front.ngc:4:5: {message}')}"):
        kept(block, MOVED_ACROSS[moved])


@pytest.mark.parametrize("block", ALONE)
@pytest.mark.parametrize("moved", MOVED_ACROSS)
def test_one_axis_alone_may_be_parked_unless_a_turn_couples_it_with_the_other(block: str, moved: str) -> None:
    if moved not in COUPLED:
        assert kept(block, MOVED_ACROSS[moved]) == [3]
        return
    with pytest.raises(RefusedError, match=f"^{re.escape(f'front.ngc:4:5: {ALONE[block]}')}"):
        kept(block, MOVED_ACROSS[moved])


@every("block", [*PARKS, *UP])
@every("moved", MOVED_ACROSS)
def test_a_place_to_park_stays_however_the_program_moves_across(block: str, moved: str) -> None:
    assert kept(block, MOVED_ACROSS[moved]) == [3]


@pytest.mark.parametrize("block", [*ACROSS, *ALONE, *PARKS, *UP])
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
    with pytest.raises(RefusedError, match=r"write the cut in program coordinates, or G0 if it parks"):
        kept("G53 G1 X1", MOVED_ACROSS["along X"])
    with pytest.raises(RefusedError, match=r"name both \(G28 X0 Y0 where both may go\), or take it out"):
        kept("G28 X1", MOVED_ACROSS["any turn"])
    with pytest.raises(RefusedError, match=r"set the work offset at the machine and take the block out"):
        kept("G10 L2 P1 X1", MOVED_ACROSS["along X"])


def test_all_of_a_chunk_are_found_in_order() -> None:
    chunk = read("G21 G90\nG53 G0 Z0\nG0 X1 Y1 Z1\nG28 Z5\nG92 X5\nG53 G0 Z0\n")
    assert kept_machine_blocks(chunk.blocks, chunk.modes, Isometry.rotation(3)) == [1, 3, 5]


def test_the_second_of_a_kind_is_named_where_the_first_may_stay() -> None:
    chunk = read("G21 G90\nG53 G0 Z0\nG53 G1 X1\n")
    with pytest.raises(RefusedError, match=r"^front\.ngc:3:1: G53 feeds to a machine position in X"):
        kept_machine_blocks(chunk.blocks, chunk.modes, MOVED_ACROSS["along X"])


def refused_line(text: str, isometry: Isometry, *, cut_at: int = 10_000) -> int:
    """Return the line at which a cut is refused, 0 where none is; the program in chunks of so many lines."""
    parked, state = Parked([isometry]), State()
    for blocks in chunks_of(text, lines=cut_at):
        modes, path, state = interpret_blocks(blocks, state)
        try:
            parked.check(blocks, modes, path)
        except RefusedError as error:
            return error.location.line
    return 0


HEAD = "G21 G90 F100\nG0 X1 Y1 Z1\n"


@pytest.mark.parametrize(
    ("after", "line"),
    [
        ("G28 G91 X0 Y0\nG90 G0 X5 Y5\nG1 Z-1\n", 0),
        ("G28 G91 X0 Y0\nG90 G1 X5 Y5\n", 4),
        ("G53 G0 X0\nG1 Y5\n", 4),
        ("G53 G0 X0\nG0 Y5\nX5\nG1 Y6\n", 0),
        ("G53 G0 X0\nG0 Y5\nG1 Z-1\n", 5),
        ("G53 G0 X0\nG0 X3\nG53 G0 Y0\nG1 Z-1\n", 6),
        ("G53 G0 Z0\nG1 X5\n", 0),
        ("G28\nM5\n(a)\nG91 G1 X5\n", 6),
        ("G30 X1\nG55\nG1 X5 Y5\n", 5),
    ],
)
def test_what_is_cut_from_where_the_machine_was_parked_is_refused(after: str, line: int) -> None:
    for isometry in (MOVED_ACROSS["mirrored in X"], MOVED_ACROSS["any turn"]):
        wanted = 6 if line == 0 and "Y0\nG1 Z-1" in after else line
        if "G53 G0 Y0" in after and isometry is MOVED_ACROSS["mirrored in X"]:
            wanted = 0
        for cut_at in (10_000, 1, 2):
            assert refused_line(HEAD + after, isometry, cut_at=cut_at) == wanted
    assert refused_line(HEAD + after, MOVED_UP) == 0


def test_what_to_do_about_such_a_cut_is_said() -> None:
    (blocks,) = chunks_of(HEAD + "G28\nG1 X5\n")
    modes, path, _ = interpret_blocks(blocks, State())
    with pytest.raises(RefusedError, match=r"a cut from where line 3 left X.*; go to a place named in G90 with G0"):
        Parked([MOVED_ACROSS["along X"]]).check(blocks, modes, path)


def test_a_shift_along_one_axis_leaves_cuts_from_a_place_parked_along_the_other() -> None:
    text = HEAD + "G53 G0 Y0\nG1 X5\n"
    assert refused_line(text, MOVED_ACROSS["along X"]) == 0
    assert refused_line(text, MOVED_ACROSS["along Y"]) == 4
