"""A line that an edit has added: carried out by the output's machine alone, and held to what such a line may do."""

from decimal import Decimal

from flipreg.prove.machine.beside import Beside
from flipreg.prove.machine.coordinate import NOISE_MM, Coordinate
from flipreg.prove.machine.line import Line
from flipreg.prove.machine.machine import CoordinateSystem
from flipreg.prove.machine.step import Move, step

__all__ = ["ROUNDING_MM", "added_moves", "check_rise", "is_across", "is_high", "is_straight_along_z"]

ROUNDING_MM = Decimal("0.003")
"""A height in inches is rounded up at the fourth decimal, by less than this."""


def added_moves(beside: Beside, line: Line, letters: str, *, acts: tuple[str, ...] = ()) -> list[Move]:
    """Carry out an added line, and return its motions.

    Parameters
    ----------
    beside : Beside
        Both machines; only the output's moves.
    line : Line
        The line.
    letters : str
        The letters it may hold besides `G` and `M`.
    acts : tuple of str
        What it may do besides moving and setting.

    Raises
    ------
    ProofError
        If it may be skipped, holds something else, or cuts.
    """
    if line.may_be_skipped:
        raise beside.error(line.number, "an added line would be left out under block delete")
    if not set(line.words) <= set(letters):
        raise beside.error(line.number, f"an added line would hold {sorted(set(line.words) - set(letters))[0]}")
    deed = step(beside.split(), line)
    if any(act not in acts for act in deed.acts):
        raise beside.error(line.number, "an added line would do more than it may")
    if any(move.is_fed for move in deed.moves):
        raise beside.error(line.number, "an added line would cut")
    return deed.moves


def is_straight_along_z(move: Move) -> bool:
    """Return whether a motion leads along Z and nowhere else."""
    return not (move.goes(0) or move.goes(1))


def is_across(move: Move) -> bool:
    """Return whether a motion stays at its height."""
    return move.start[2] == move.end[2]


def check_rise(beside: Beside, line: int, move: Move, safe_mm: Decimal, *, from_anywhere: bool) -> None:
    """Check that a motion leads straight up to the safe height, as it is said.

    Parameters
    ----------
    beside : Beside
        Both machines, after it.
    line : int
        Its line.
    move : Move
        The motion.
    safe_mm : Decimal
        The safe height, in the numbers in force.
    from_anywhere : bool
        Whether it may begin where the machine stood before the program, above or below.
    """
    up = move.end[2].over(move.start[2])
    is_rise = (up is not None and up >= 0) or (from_anywhere and move.start[2].depends_on_start)
    reached = move.end[2].over(beside.output.zero(2))
    is_there = reached is not None and -NOISE_MM <= reached - safe_mm <= ROUNDING_MM
    if not (is_straight_along_z(move) and is_rise and is_there):
        raise beside.error(line, "an added line would not lead straight up to the safe height")


def is_high(
    beside: Beside, frame: CoordinateSystem | None, safe_mm: Decimal, *, here: Coordinate | None = None
) -> bool:
    """Return whether the output stands high for every value of the unknowns, or a height is.

    That is at or above the safe height in the frame that the source works in, with the same tool; or at a height of the
    machine where the source itself stands.
    """
    here = here or beside.output.place[2]
    if here in beside.history.machine_heights and here == beside.source.place[2]:
        return True
    if frame is None or frame.tool != beside.output.tool:
        return False
    over = here.over(frame.zero[2])
    return over is not None and over >= safe_mm - NOISE_MM
