"""What a program does next, looked at before it is done: where a part of it begins, what depends on the part before."""

from collections.abc import Sequence
from decimal import Decimal

from flipreg.prove.machine.beside import Beside
from flipreg.prove.machine.coordinate import NOISE_MM
from flipreg.prove.machine.line import Lines
from flipreg.prove.machine.machine import MachineState
from flipreg.prove.machine.ours import is_across, is_straight_along_z
from flipreg.prove.machine.step import step

__all__ = ["check_clear_from_anywhere", "says_length"]

_LENGTH, _AXIS_OFFSET = {430, 490}, 920
_Z = 2


def says_length(machine: MachineState, lines: Lines, blocks: Sequence[int]) -> bool:
    """Return whether blocks say a length offset before anything depends on the one that is in force.

    Up to there they may only go across by traverse, or to positions of the machine.
    """
    ahead = machine.copy()
    for block in blocks:
        line = lines.line(block)
        if set(line.g) & _LENGTH:
            return True
        deed = step(ahead, line)
        fine = all(not move.is_fed and (move.is_of_machine or is_across(move)) for move in deed.moves)
        named = "Z" in line.words and not all(move.is_of_machine for move in deed.moves)
        if named or not fine or _AXIS_OFFSET in line.g:
            return False
    return False


def check_clear_from_anywhere(
    beside: Beside, lines: Lines, blocks: Sequence[int], open_axes: set[int], safe_mm: Decimal
) -> None:
    """Check that the next motions are clear wherever they begin along some axes, until the program names these.

    They are traverses: straight to the safe height or to a height of the machine, or across.

    Parameters
    ----------
    beside : Beside
        Both machines; neither moves.
    lines, blocks
        The program's lines, and those of them that come next.
    open_axes : set of int
        The axes along which nobody knows where they begin.
    safe_mm : Decimal
        The safe height, in the numbers in force.

    Raises
    ------
    ProofError
        At the first motion that is not.
    """
    ahead = beside.source.copy()
    for block in blocks:
        if not open_axes:
            return
        line = lines.line(block)
        deed = step(ahead, line)
        for move in deed.moves:
            over = move.end[_Z].over(ahead.zero(_Z))
            is_up = move.end[_Z].is_of_machine or (over is not None and over >= safe_mm - NOISE_MM)
            is_along_z = is_straight_along_z(move) and (is_up or is_across(move))
            fine = is_along_z or (is_across(move) and _Z not in open_axes)
            if move.is_fed or deed.depended_on_start or not fine:
                raise beside.error(line.number, "this motion would begin at a place that nobody knows")
        if deed.moves:
            open_axes = {axis for axis in open_axes if ahead.place[axis].depends_on_start}
