"""Which passes have to move when a floor moves, and to which levels; no text yet.

Passes above the new floor stay. From the deepest of them, or from the wood's surface, to the floor the passes are
spaced evenly, as few as the step-down allows. What would have to be guessed is refused.
"""

from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, Decimal
from itertools import pairwise

import numpy as np

from flipreg.path import Path
from flipreg.rewrite.floor.crossing import refuse_crossing, refuse_crossing_neighbours
from flipreg.rewrite.floor.depth_ground import FloorMove, LevelCuts, ground_under
from flipreg.rewrite.floor.floors import FloorChange, carving_rows, floors_of, meant_floor
from flipreg.rewrite.floor.left_out import left_out_with_ways
from flipreg.rewrite.floor.movable import begun_after_events
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
from flipreg.units import plain

__all__ = ["DepthPlan", "MovedPass", "plan_depth"]

_SAME = Decimal(str(SAME_LEVEL_MM))
_HAIR = Decimal("0.001")
"""A level no more than this above the new floor is that floor, written in another unit or with other decimals (chosen):
a pass that takes a thousandth of a millimetre is none."""
_SPACING = Decimal("0.0001")
"""Levels in between are rounded to this, in millimetres (chosen)."""
_MOST_PASSES = 1000
"""More passes than this for one floor are a slip of the finger (chosen)."""
_BACK_BORING = 87


@dataclass(frozen=True, slots=True)
class MovedPass:
    """A pass of the floor: it is cut at these levels now, the last of which is the new floor.

    Attributes
    ----------
    index : int
        The pass, in the order of the program.
    levels_mm : tuple of Decimal
        The levels, from the top.
    above_mm : Decimal
        The ground where it comes down to the first of them.
    limit_mm : Decimal
        The largest step between two of them.
    plunge_mm : Decimal
        How far below the ground its ramp may start, because the source plunges into wood there.
    is_cut_through : bool
        Each level is cut over the place where it comes down.
    """

    index: int
    levels_mm: tuple[Decimal, ...]
    above_mm: Decimal
    limit_mm: Decimal
    plunge_mm: Decimal = Decimal(0)
    is_cut_through: bool = True


@dataclass(frozen=True, slots=True)
class DepthPlan:
    """What becomes of a program's passes and holes.

    Attributes
    ----------
    passes : tuple of Pass
        All passes in the order they are run.
    was_mm : Decimal
        The floor as it was.
    moves : tuple of MovedPass
        The passes of the floor.
    dropped : tuple of int
        Passes that lie at or below the new floor.
    holes : tuple of Hole
        Blocks of canned cycles with the floor as bottom.
    levels_mm : tuple of Decimal
        All levels of the pocket with the most of them, as they are now.
    step_down_mm : Decimal
        The limit that was kept there.
    fresh : tuple of (int, Decimal)
        Lines that cut where no pass above them did, and the level that their passes begin at, further up.
    staying : tuple of int
        Lines that go down to the floor as it was and are in no pass and no hole, such as a helix that ends there.
    """

    passes: tuple[Pass, ...]
    was_mm: Decimal
    moves: tuple[MovedPass, ...]
    dropped: tuple[int, ...]
    holes: tuple[Hole, ...]
    levels_mm: tuple[Decimal, ...]
    step_down_mm: Decimal
    fresh: tuple[tuple[int, Decimal], ...]
    staying: tuple[int, ...]

    @property
    def changes_nothing(self) -> bool:
        """Whether the program already is what was asked for."""
        stays = all(move.levels_mm == (self.was_mm,) for move in self.moves)
        return stays and not self.dropped and self.levels_mm[-1] == self.was_mm


def plan_depth(whole: Whole, change: FloorChange) -> DepthPlan:
    """Return which passes move where.

    Raises
    ------
    RefusedError
        If the floor is not there or not named, or the change would cross another level.
    """
    passes = find_passes(whole.path, float(change.top_mm))
    pockets, holes = find_pockets(passes), find_holes(whole.path)
    floors = floors_of(whole, pockets, holes)
    was, lines = meant_floor(whole, floors, change), floors.lines
    if change.floor_mm >= change.top_mm:
        floor, top = (told_height(whole, z) for z in (change.floor_mm, change.top_mm))
        message = f"a floor at {floor} is not below the surface at {top}"
        raise refusal_at(whole, lines[was], message)
    if abs(change.floor_mm - was) <= _SAME:
        change = replace(change, floor_mm=was)
    carves = carving_rows(whole.path)
    at_level = [pocket for pocket in pockets if abs(exact_mm(pocket.floor_mm) - was) <= _SAME]
    meant = [pocket for pocket in at_level if not carves[pocket.passes[-1].cut]]
    others = [pocket for pocket in pockets if pocket not in meant]
    drilled = tuple(hole for hole in holes if abs(exact_mm(hole.bottom_mm) - was) <= _SAME)
    refuse_crossing(whole, lines, was, change)
    refuse_crossing_neighbours(whole, (meant, others), was, change)
    _refuse_holes(whole, drilled, change)
    _refuse_unknown_places(whole, passes, drilled)
    cuts = LevelCuts(whole.path, float(change.top_mm))
    index_of = {id(each): index for index, each in enumerate(passes)}
    moves: list[MovedPass] = []
    dropped: list[int] = []
    longest: tuple[tuple[Decimal, ...], Decimal] = ((change.floor_mm,), Decimal(0))
    for pocket in meant:
        kept = _kept_levels(pocket, change)
        above = kept[-1] if kept else change.top_mm
        for each in pocket.passes:
            level = exact_mm(each.level_mm)
            if abs(level - was) <= _SAME:
                # A floor that is there already is cut as the program cuts it, unless smaller steps are asked for.
                is_there = change.floor_mm == was and change.step_down_mm is None
                limit = above - was if is_there else _limit(cuts, pocket, each, change)
                new = _spaced(whole, above, change.floor_mm, limit, line=int(whole.path.line[each.cut]))
                moves.append(MovedPass(index_of[id(each)], new, above, limit))
                if len(kept) + len(new) > len(longest[0]) or not longest[1]:
                    longest = (*kept, *new), limit
            elif not any(abs(level - stays) <= _SAME for stays in kept):
                dropped.append(index_of[id(each)])
    moves.sort(key=lambda move: move.index)
    asked = None if change.step_down_mm is None else float(change.step_down_mm)
    way = FloorMove(float(was), float(change.floor_mm), float(change.top_mm), asked)
    moves, fresh = _from_fresh_ground(whole, cuts, passes, (moves, dropped), way)
    staying = _staying(whole.path, passes, float(was))
    for index in [*dropped, *(move.index for move in moves if len(move.levels_mm) > 1)]:
        passes[index] = begun_after_events(whole, passes[index], way.top_mm)
    passes = left_out_with_ways(whole, passes, dropped, way.top_mm)
    return DepthPlan(tuple(passes), was, tuple(moves), tuple(sorted(dropped)), drilled, *longest, fresh, staying)


def _staying(path: Path, passes: list[Pass], was_mm: float) -> tuple[int, ...]:
    in_pass = np.zeros(len(path), np.bool_)
    for each in passes:
        in_pass[each.first : each.last + 1] = True
    reaches = path.is_cut & (path.cycle == 0) & (np.abs(path.end[:, 2] - was_mm) <= SAME_LEVEL_MM)
    return tuple(np.unique(path.line[reaches & ~in_pass]).tolist())


def _refuse_holes(whole: Whole, holes: tuple[Hole, ...], change: FloorChange) -> None:
    path = whole.path
    for hole in holes:
        if hole.cycle == _BACK_BORING:
            raise refusal_at(whole, hole.line, "the bottom of back boring is where it enters; its depth is not moved")
        rows = path.is_cut & (path.line == hole.line)
        level = exact_mm(float(path.start[rows][0, 2]))
        if level <= change.floor_mm:
            bottom, above = (told_height(whole, z) for z in (change.floor_mm, level))
            message = f"a bottom at {bottom} would not be below the hole's R level {above}"
            raise refusal_at(whole, hole.line, message)


def _refuse_unknown_places(whole: Whole, passes: list[Pass], holes: tuple[Hole, ...]) -> None:
    """Refuse cuts that nobody knows the place of: what lies over or under them is not known either."""
    path = whole.path
    unknown_start, unknown_end = (np.isnan(points[:, :2]) for points in (path.start, path.end))
    drilled = np.isin(path.line, [hole.line for hole in holes])
    spans = [(np.arange(each.first, each.last + 1), each.cut) for each in passes]
    for rows, cut in [*spans, (np.flatnonzero(drilled), len(path))]:
        # The way to the first cut may come from anywhere.
        unknown = (unknown_end[rows] | (unknown_start[rows] & (rows >= cut)[:, None])) & path.is_cut[rows, None]
        if unknown.any():
            at, axis = np.argwhere(unknown)[0].tolist()
            letter = "XY"[axis]
            message = f"{letter} is not known where this line cuts; name X and Y in a line before it"
            raise refusal_at(whole, int(path.line[rows[at]]), message)


def _limit(cuts: LevelCuts, pocket: Pocket, each: Pass, change: FloorChange) -> Decimal:
    """Return how large a step of a pass may be: as asked, or what the program takes itself for this floor there.

    That is the largest distance of two levels of the pocket, but no more than the program bites at once at any place
    of the pass: a finishing contour at full depth, or a level that others have cut before, says nothing of the rest.
    """
    if change.step_down_mm is not None:
        return change.step_down_mm
    levels = [change.top_mm, *map(exact_mm, pocket.levels_mm)]
    largest = max(above - below for above, below in pairwise(levels))
    bite = cuts.bite_mm(each)
    return largest if bite >= float(largest) - SAME_LEVEL_MM else exact_mm(bite)


def _kept_levels(pocket: Pocket, change: FloorChange) -> tuple[Decimal, ...]:
    """Return the levels that stay: those above the new floor, by more than a hair."""
    levels = tuple(map(exact_mm, pocket.levels_mm))
    return tuple(level for level in levels[:-1] if level > change.floor_mm + _HAIR)


def _spaced(whole: Whole, above: Decimal, floor: Decimal, limit: Decimal, *, line: int) -> tuple[Decimal, ...]:
    """Return the levels below one, evenly spaced and as few as the limit allows; the floor is the last of them."""
    depth = above - floor
    count = int((depth / limit).to_integral_value(ROUND_CEILING))
    if count > _MOST_PASSES:
        raise refusal_at(whole, line, f"a step-down of {plain(limit)} mm would make {count} passes here: is it meant?")
    new = [above - depth * step / count for step in range(1, count)]
    rounded = [level.quantize(_SPACING, ROUND_CEILING).normalize() for level in new]
    steps = [above, *rounded, floor]
    if any(high - low > limit for high, low in pairwise(steps)):
        # Rounding up leaves a little more for the last one: the limit itself is a step that always fits.
        rounded = [(above - limit * step).normalize() for step in range(1, count)]
    return (*rounded, floor)


def _from_fresh_ground(
    whole: Whole, cuts: LevelCuts, passes: list[Pass], fates: tuple[list[MovedPass], list[int]], way: FloorMove
) -> tuple[list[MovedPass], tuple[tuple[int, Decimal], ...]]:
    """Return the moves with more levels above, where a pass would step down too far into wood that is left."""
    moves, dropped = fates
    at = {move.index: move for move in moves}
    moved, fresh = [], []
    for index, under in ground_under(cuts, whole.path, passes, (at, set(dropped)), way):
        if under.step_mm is not None and under.limit_mm is not None:
            message = (
                f"this pass stays, and would step down {plain(exact_mm(under.step_mm))} mm with the floor at "
                f"{told_height(whole, exact_mm(way.floor_mm))}, over {plain(exact_mm(under.limit_mm))} mm"
            )
            raise refusal_at(whole, under.line, message)
        if index not in at:
            continue
        if under.bare_line is not None:
            message = "the program takes no step-down here; say how large one may be with --step-down"
            raise refusal_at(whole, under.bare_line, message)
        move = at[index]
        levels = move.levels_mm
        if float(levels[0]) < under.first_mm - SAME_LEVEL_MM:
            start = min(exact_mm(under.first_mm) + move.limit_mm, exact_mm(way.top_mm))
            levels = (*_spaced(whole, start, levels[0], move.limit_mm, line=under.line), *levels[1:])
            fresh.append((under.line, levels[0]))
        plunge = exact_mm(under.plunge_mm)
        if plunge > _SAME and way.asked_mm is not None:
            plunge = max(plunge, move.limit_mm)
        above = exact_mm(under.entry_mm)
        through = under.is_cut_through
        moved.append(replace(move, levels_mm=levels, above_mm=above, plunge_mm=plunge, is_cut_through=through))
    return moved, tuple(fresh)
