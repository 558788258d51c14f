"""The floors of a program, and the one that is meant."""

from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path
from flipreg.rewrite.floor.passes import (
    SAME_LEVEL_MM,
    Hole,
    Pass,
    Pocket,
    exact_mm,
    find_holes,
    find_passes,
    find_pockets,
)
from flipreg.rewrite.text.heights import told_height
from flipreg.rewrite.text.refuse import refusal_at
from flipreg.rs274.interpret.whole import Whole

__all__ = ["FloorChange", "Floors", "carving_rows", "floors_of", "meant_floor", "named_floor"]

_SAME = Decimal(str(SAME_LEVEL_MM))
_MOST_LISTED = 6
"""Floors that a message names (chosen)."""
_RISES, _HEIGHTS = 0.2, 6
"""A cut from one traverse to the next carves a surface if it rises over more than this share of its way across, to so
many heights or more (chosen): over tabs it rises to one or two, or over less of its way, and an entry never rises."""


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


@dataclass(frozen=True, slots=True)
class Floors:
    """The floors of a program.

    Attributes
    ----------
    lines : dict of Decimal to int
        Each floor with the first line that reaches it, deepest first.
    carved : dict of Decimal to int
        Levels that are no floor, for they are part of a carved surface, each with its line.
    """

    lines: dict[Decimal, int]
    carved: dict[Decimal, int]


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


def floors_of(whole: Whole, pockets: list[Pocket], holes: list[Hole]) -> Floors:
    """Return the floors of pockets and holes."""
    lines: dict[Decimal, int] = {}
    carved: dict[Decimal, int] = {}
    carves = carving_rows(whole.path)
    for pocket in pockets:
        first = next(each for each in pocket.passes if each.level_mm - pocket.floor_mm <= SAME_LEVEL_MM)
        found = carved if carves[first.cut] else lines
        found.setdefault(exact_mm(pocket.floor_mm), _line_that_reaches(whole, first))
    for hole in holes:
        lines.setdefault(exact_mm(hole.bottom_mm), hole.line)
    return Floors(dict(sorted(lines.items())), carved)


def carving_rows(path: Path) -> NDArray[np.bool_]:
    """Return the rows of cuts that carve a surface, shape (n,): they go up and down as they go across."""
    cuts = path.is_cut & (path.cycle == 0)
    cut = np.cumsum(~cuts)
    step = path.end - path.start
    across = np.where(cuts, np.nan_to_num(np.hypot(step[:, 0], step[:, 1])), 0.0)
    rises = (across > 0.0) & (step[:, 2] > SAME_LEVEL_MM)
    way, rising = (np.bincount(cut, weights=np.where(rows, across, 0.0)) for rows in (cuts, rises))
    places = np.unique(np.column_stack([cut[rises], np.round(path.end[rises, 2] / SAME_LEVEL_MM)]), axis=0)
    heights = np.bincount(places[:, 0].astype(np.intp), minlength=len(way))
    return np.asarray(cuts & ((rising > _RISES * way) & (heights >= _HEIGHTS))[cut])


def _line_that_reaches(whole: Whole, each: Pass) -> int:
    """Return the line that leads down to a pass's level."""
    row = each.cut
    while row > each.first and abs(whole.path.start[row, 2] - each.level_mm) <= SAME_LEVEL_MM:
        row -= 1
    return int(whole.path.line[row])


def meant_floor(whole: Whole, floors: Floors, change: FloorChange) -> Decimal:
    """Return the floor that is meant.

    Raises
    ------
    RefusedError
        If there is none, or several and none is named.
    """
    lines, carved = floors.lines, floors.carved
    shown = [f"{told_height(whole, floor)} (line {line})" for floor, line in lines.items()]
    more = f" and {len(shown) - _MOST_LISTED} more" if shown[_MOST_LISTED:] else ""
    listed = ", ".join(shown[:_MOST_LISTED]) + more
    if not lines and carved:
        message = (
            "this program carves a surface, which goes up and down and has no floor to move; flipreg shift --by 0,0,Z "
            "moves all of it up or down"
        )
        raise refusal_at(whole, next(iter(carved.values())), message)
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
    line = next(iter(lines.values()))
    for level, its_line in carved.items():
        if abs(level - change.level_mm) <= _SAME:
            line = its_line
            message = (
                f"{told_height(whole, level)} is no floor but a height of a carved surface, which goes up and down; "
                f"the floors of this program are {listed}"
            )
    raise refusal_at(whole, line, message)
