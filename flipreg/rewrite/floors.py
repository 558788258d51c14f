"""The floors of a program, and the one that is meant."""

from dataclasses import dataclass
from decimal import Decimal

from flipreg.rewrite.heights import told_height
from flipreg.rewrite.passes import SAME_LEVEL_MM, Hole, Pass, Pocket, exact_mm, find_holes, find_passes, find_pockets
from flipreg.rewrite.refuse import refusal_at
from flipreg.rs274.interpret.whole import Whole

__all__ = ["FloorChange", "floors_of", "meant_floor", "named_floor"]

_SAME = Decimal(str(SAME_LEVEL_MM))
_MOST_LISTED = 6
"""Floors that a message names (chosen)."""


@dataclass(frozen=True, slots=True)
class FloorChange:
    """What the person asks for, in millimetres, in the program's numbers.

    Attributes
    ----------
    floor_mm : Decimal
        Where the floor shall be.
    level_mm : Decimal or None
        Which floor of the program is meant; None where it has but one.
    step_down_mm : Decimal or None
        The largest step-down of a pass that is new or moved; None for what the program takes itself at the place.
    top_mm : Decimal
        The surface of the wood.
    """

    floor_mm: Decimal
    level_mm: Decimal | None = None
    step_down_mm: Decimal | None = None
    top_mm: Decimal = Decimal(0)


def named_floor(whole: Whole, level_mm: Decimal | None, top_mm: Decimal) -> Decimal:
    """Return the floor that is meant: the only one, or the one at a level.

    Raises
    ------
    RefusedError
        If there is none, or several and none is named.
    """
    pockets = find_pockets(find_passes(whole.path, float(top_mm)))
    floors = floors_of(whole, pockets, find_holes(whole.path))
    return meant_floor(whole, floors, FloorChange(top_mm, level_mm, None, top_mm))


def floors_of(whole: Whole, pockets: list[Pocket], holes: list[Hole]) -> dict[Decimal, int]:
    """Return each floor with the first line that reaches it, deepest first."""
    lines: dict[Decimal, int] = {}
    for pocket in pockets:
        first = next(each for each in pocket.passes if each.level_mm - pocket.floor_mm <= SAME_LEVEL_MM)
        lines.setdefault(exact_mm(pocket.floor_mm), _line_that_reaches(whole, first))
    for hole in holes:
        lines.setdefault(exact_mm(hole.bottom_mm), hole.line)
    return dict(sorted(lines.items()))


def _line_that_reaches(whole: Whole, each: Pass) -> int:
    """Return the line that leads down to a pass's level."""
    row = each.cut
    while row > each.first and abs(whole.path.start[row, 2] - each.level_mm) <= SAME_LEVEL_MM:
        row -= 1
    return int(whole.path.line[row])


def meant_floor(whole: Whole, lines: dict[Decimal, int], change: FloorChange) -> Decimal:
    """Return the floor that is meant, of those with the first line that reaches each.

    Raises
    ------
    RefusedError
        If there is none, or several and none is named.
    """
    shown = [f"{told_height(whole, floor)} (line {line})" for floor, line in lines.items()]
    more = f" and {len(shown) - _MOST_LISTED} more" if shown[_MOST_LISTED:] else ""
    listed = ", ".join(shown[:_MOST_LISTED]) + more
    if not lines:
        message = (
            f"nothing is cut at a constant level below {told_height(whole, change.top_mm)}, so that there is no floor "
            "to move; say where the surface is with --top if Z zero is elsewhere"
        )
        raise refusal_at(whole, 1, message)
    if change.level_mm is None:
        if len(lines) > 1:
            message = f"several floors: {listed}; say which one is meant with --level"
            raise refusal_at(whole, next(iter(lines.values())), message)
        return next(iter(lines))
    for floor in lines:
        if abs(floor - change.level_mm) <= _SAME:
            return floor
    message = f"{told_height(whole, change.level_mm)} is no floor of this program; its floors are {listed}"
    raise refusal_at(whole, next(iter(lines.values())), message)
