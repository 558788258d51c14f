"""The proof of a floor at another depth: XY as it was, levels as asked, nothing deeper than asked.

The output is read again like any program. Nothing here knows how passes were found: what is cut at which height
is taken from the motions, point by point.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.ground import Bites, Ground, sample, strokes
from flipreg.path import Path
from flipreg.prove.read import PROOF_TOLERANCE_MM
from flipreg.prove.stretches import Claimed, check_cover, check_words, fault, rows_between
from flipreg.prove.way import check_way
from flipreg.rs274.interpret.whole import Whole

__all__ = ["AskedFloor", "prove_floor"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_KEPT = ("kind", "normal", "tool", "compensation", "work_offset", "cycle")
_NUMBERS = ("feed_mm_per_min", "spindle_rpm", "sweep_deg")
_SAME = 1e-6
"""Millimetres; the text of X and Y is not touched, so that only noise may differ."""
_POINT_DECIMALS = 4


@dataclass(frozen=True, slots=True)
class AskedFloor:
    """What was asked for, in millimetres: the floor, where it was, the surface, the largest step-down.

    Attributes
    ----------
    floor_mm, was_mm, top_mm : float
    step_down_mm : float or None
        No step of a new or moved pass may be larger. Where none was asked for, no cut may bite deeper at once than the
        source itself does at the same place.
    """

    floor_mm: float
    was_mm: float
    top_mm: float
    step_down_mm: float | None = None


def prove_floor(source: Whole, output: Whole, claims: Sequence[Claimed], asked: AskedFloor) -> float:
    """Check that a program is its source with one floor moved.

    Parameters
    ----------
    source, output : Whole
        The two programs; the output as it was read again.
    claims : sequence of Claimed
        Which lines stand for which; checked, not believed.
    asked : AskedFloor
        What was asked for.

    Returns
    -------
    float
        The largest deviation in millimetres.

    Raises
    ------
    ProofError
        If anything differs that should not, or does not that should.
    """
    check_cover(source, output, claims)
    largest = 0.0
    reached = False
    ground = _BothGrounds(source, output, asked.top_mm)
    running = [claim for claim in claims if claim.runs]
    for number, claim in enumerate(running):
        following = running[number + 1] if number + 1 < len(running) else None
        is_copy = following is not None and following.first == claim.first
        check_words(source, output, claim, is_copy=is_copy, free="" if claim.level_mm is None else "Z")
        pair = _Pair(source, output, claim)
        largest = max(largest, pair.deviation())
        if claim.level_mm is None:
            ground.check(pair, asked, at_level=False)
            continue
        if claim.level_mm < asked.floor_mm - PROOF_TOLERANCE_MM:
            raise fault(source, claim.first, "something would be cut deeper than asked")
        at_floor = abs(claim.level_mm - asked.floor_mm) <= PROOF_TOLERANCE_MM
        if at_floor == is_copy:
            raise fault(source, claim.first, "the floor would not be cut last, or not at all")
        reached |= at_floor
        largest = max(largest, pair.check_levels(claim.level_mm, asked))
        ground.check(pair, asked, at_level=True)
    if not reached:
        raise fault(source, 1, "the floor would not be where it was asked for")
    for claim in claims:
        if claim.dropped:
            _check_dropped(source, output, claim, asked)
        elif not claim.runs:
            check_way(source, output, claim, asked.top_mm)
    return largest


class _Pair:
    """The motions of a stretch, and those of the lines it stands for."""

    def __init__(self, source: Whole, output: Whole, claim: Claimed) -> None:
        self._source, self._output, self._claim = source, output, claim
        self.rows = rows_between(source, claim.first, claim.last)
        self.out_rows = rows_between(output, claim.out_first, claim.out_last)
        self._mine, self._made = source.path.take(self.rows), output.path.take(self.out_rows)
        self.drills = claim.level_mm is not None and bool((self._mine.cycle > 0).any())

    @property
    def first(self) -> int:
        """The first line of the source."""
        return self._claim.first

    @property
    def flat(self) -> Flags:
        """Which motions of the source cut at one height."""
        mine = self._mine
        across = (np.abs(mine.end[:, :2] - mine.start[:, :2]) > _SAME).any(axis=1) | mine.is_arc
        flat: Flags = mine.is_cut & across & (np.abs(mine.end[:, 2] - mine.start[:, 2]) <= _SAME)
        return flat

    def deviation(self) -> float:
        """Check all that a change of depth leaves as it is; return the largest deviation in XY, and in Z if Z stays."""
        mine, made, source = self._mine, self._made, self._source
        if self.drills:
            return self._drilled_deviation()
        if len(mine) != len(made):
            message = f"{len(made)} motions would be made where the source makes {len(mine)}"
            raise fault(source, self._claim.first, message)
        for name in _KEPT:
            self._differ(name, getattr(mine, name) != getattr(made, name))
        for name in _NUMBERS:
            ours, theirs = getattr(mine, name), getattr(made, name)
            self._differ(name, ~(np.isclose(ours, theirs, rtol=1e-9, atol=1e-9, equal_nan=True)))
        cut = mine.is_cut
        # A way home that begins with a stop where the tool stands, which is where the pass before it ended.
        stays = ~cut & _goes_nowhere(mine) & _goes_nowhere(made)
        # The way out of the pass before leads straight up from wherever that pass ended.
        out = ~cut & _goes_straight_up(mine) & _goes_straight_up(made) & ~stays
        # A plunge may begin where the pass before leaves the tool; a ramp would be another one.
        across = (np.abs(mine.end[:, :2] - mine.start[:, :2]) > _SAME).any(axis=1) | mine.is_arc
        leans = cut & (across | (np.arange(len(mine)) > 0))
        axes = slice(0, 3 if self._claim.level_mm is None else 2)
        # Outside of the passes a traverse across at one height starts at the height that it did, too.
        flat = ~cut & across & (np.abs(mine.end[:, 2] - mine.start[:, 2]) <= _SAME)
        return max(
            self._off(mine.end[~out & ~stays, axes], made.end[~out & ~stays, axes]),
            self._off(mine.end[out, 2 : axes.stop], made.end[out, 2 : axes.stop]),
            self._off(mine.centre[:, axes], made.centre[:, axes]),
            self._off(mine.start[cut, :2], made.start[cut, :2]),
            self._off(mine.start[leans, axes], made.start[leans, axes]),
            self._off(mine.start[flat, 2 : axes.stop], made.start[flat, 2 : axes.stop]),
        )

    def _differ(self, name: str, different: Flags) -> None:
        if different.any():
            line = int(self._mine.line[int(np.argmax(different))])
            raise fault(self._source, line, f"the {name.split('_mm')[0].replace('_', ' ')} of this motion would change")

    def _off(self, ours: Floats, theirs: Floats) -> float:
        if not np.array_equal(np.isnan(ours), np.isnan(theirs)):
            raise fault(self._source, self._claim.first, "a coordinate would be known that was not, or not any more")
        off = np.abs(np.nan_to_num(ours - theirs))
        if off.size and off.max() > _SAME:
            raise fault(self._source, self._claim.first, f"a motion would be {off.max():.6f} mm off")
        return float(off.max(initial=0.0))

    def _drilled_deviation(self) -> float:
        """Check the holes of a canned cycle: over the same points, from and to the same heights."""
        mine, made = self._mine, self._made
        if not len(mine) or not len(made):
            raise fault(self._source, self._claim.first, "a hole would be lost")
        for name in (*_KEPT, *_NUMBERS):
            if name == "kind":
                continue
            values = np.unique(np.concatenate([np.nan_to_num(getattr(path, name)) for path in (mine, made)]))
            if len(values) > len(np.unique(np.nan_to_num(getattr(mine, name)))):
                raise fault(self._source, self._claim.first, f"the {name} of a hole would change")
        points, new_points = (np.unique(path.end[:, :2].round(6), axis=0) for path in (mine, made))
        if not np.array_equal(points, new_points):
            raise fault(self._source, self._claim.first, "a hole would be somewhere else")
        ends = [path.end[-1] for path in (mine, made)]
        tops = [path.end[path.kind == 0][0] for path in (mine, made)]
        return max(self._off(ends[0][None], ends[1][None]), self._off(tops[0][None], tops[1][None]))

    def check_levels(self, level_mm: float, asked: AskedFloor) -> float:
        """Check what is cut at which height; return the largest deviation from the level."""
        mine, made, first = self._mine, self._made, self._claim.first
        cut = made.is_cut
        lowest = float(made.end[cut, 2].min(initial=np.inf))
        if not abs(lowest - level_mm) <= PROOF_TOLERANCE_MM or lowest < asked.floor_mm - PROOF_TOLERANCE_MM:
            raise fault(self._source, first, f"the lowest cut would be at Z{lowest:g}, expected Z{level_mm:g}")
        worst = abs(lowest - level_mm)
        if self.drills:
            return worst
        across = cut & ((np.abs(mine.end[:, :2] - mine.start[:, :2]) > _SAME).any(axis=1) | mine.is_arc)
        rise, new_rise = (path.end[:, 2] - path.start[:, 2] for path in (mine, made))
        ramps = across & (np.abs(rise) > _SAME)
        self._differ("slope", ramps & (np.abs(rise - new_rise) > PROOF_TOLERANCE_MM))
        flat = across & ~ramps
        self._differ("slope", flat & (np.abs(new_rise) > _SAME))
        # Above the top of a tab there is no tab: nothing is cut below the level.
        at_floor = np.abs(mine.end[:, 2] - asked.was_mm) <= PROOF_TOLERANCE_MM
        expected = np.where(at_floor, level_mm, np.fmax(mine.end[:, 2], level_mm))
        off = np.where(flat, np.abs(made.end[:, 2] - expected), 0.0)
        if not flat.any():
            off[int(np.argmin(np.where(cut, made.end[:, 2], np.inf)))] = worst
        self._differ("level", off > PROOF_TOLERANCE_MM)
        return max(worst, float(off.max(initial=0.0)), self._check_heights(level_mm, asked, across))

    def _check_heights(self, level_mm: float, asked: AskedFloor, across: Flags) -> float:
        """Check the ends of traverses and of straight ways down and up; return how far they are off.

        They are the source's own, or moved as far as the level: what is below the surface, or where a ramp starts.
        What would go below the level is at it.
        """
        mine, made = self._mine, self._made
        own, new = mine.end[:, 2], made.end[:, 2]
        moved = own + (level_mm - asked.was_mm)
        may_move = (own <= asked.top_mm + _SAME) | _leads_to_a_ramp(mine, across)
        off = np.abs(new - own)
        off[may_move] = np.minimum(off, np.abs(new - moved))[may_move]
        raised = own <= level_mm + _SAME
        off[raised] = np.minimum(off, np.abs(new - level_mm))[raised]
        off[across & mine.is_cut] = 0.0
        unknown = np.isnan(own) & np.isnan(new)
        self._differ("height", ~(off <= PROOF_TOLERANCE_MM) & ~unknown)
        return float(np.nan_to_num(off).max(initial=0.0))


def _leads_to_a_ramp(path: Path, across: Flags) -> Flags:
    """Return the motions at whose end a ramp starts, straight ways down and up between them left out."""
    ramps = across & path.is_cut & (np.abs(path.end[:, 2] - path.start[:, 2]) > _SAME)
    straight = ~across
    leads = np.zeros(len(path), np.bool_)
    for row in range(len(path) - 2, -1, -1):
        leads[row] = ramps[row + 1] or (straight[row + 1] and leads[row + 1])
    return leads


@dataclass(frozen=True, eq=False, slots=True)
class _Stroke:
    """Motions that meet one ground, and what the source does in them.

    Attributes
    ----------
    first, stop : int
        The motions, counted from the first of the stretch.
    points_mm, row : arrays, shapes (n, 3) and (n,)
        Places that the source cuts at one height, and the motion each is of, counted alike.
    bites_mm : array, shape (n,)
        How much deeper the source ever leaves each place than it finds it.
    into_wood_mm : array, shape (stop - first,)
        How deep the source's traverses go into wood.
    """

    first: int
    stop: int
    points_mm: Floats
    row: NDArray[np.intp]
    bites_mm: Floats
    into_wood_mm: Floats


class _BothGrounds:
    """The ground of the source and of the output, cut as far as the stretches that were looked at."""

    def __init__(self, source: Whole, output: Whole, top_mm: float) -> None:
        self._source = source
        self._mine, self._made = _Carved(source.path, top_mm), _Carved(output.path, top_mm)
        self._bites = Bites(source.path, top_mm)
        self._first, self._strokes = 0, list[_Stroke]()

    def check(self, pair: "_Pair", asked: AskedFloor, *, at_level: bool) -> None:
        """Check how much deeper a stretch leaves each place than it finds it, and that no traverse goes into wood.

        Motions of one stroke are taken together: they find what was there before the first of them. Where the source's
        own traverse goes into wood, so may the output's.
        """
        if pair.first != self._first:
            # A stretch that is repeated stands for the same lines each time.
            self._first, self._strokes = pair.first, list(self._source_strokes(pair))
        for stroke in self._strokes:
            at = pair.out_rows.start + stroke.first
            self._made.cut_until(at)
            if not pair.drills:
                self._check_steps(pair, stroke, asked.step_down_mm, at_level=at_level)
            deep = self._made.into_wood(at, pair.out_rows.start + stroke.stop)
            worse = (deep > PROOF_TOLERANCE_MM) & (stroke.into_wood_mm <= PROOF_TOLERANCE_MM)
            if worse.any():
                line = int(self._mine.path.line[pair.rows.start + stroke.first + int(np.argmax(worse))])
                raise fault(self._source, line, "a traverse would go into the wood")

    def _source_strokes(self, pair: "_Pair") -> Iterator[_Stroke]:
        start, flat = pair.rows.start, pair.flat
        for first, stop in strokes(self._mine.path.take(pair.rows)):
            self._mine.cut_until(start + first)
            points, row = self._mine.samples_between(start + first, start + stop)
            row = row - start
            cut = self._mine.path.is_cut[pair.rows][row]
            # A pass that is nothing but plunges is measured where it is deepest.
            wanted = flat[row] if flat.any() else cut & (points[:, 2] <= points[:, 2].min(initial=np.inf))
            bites = self._bites.largest_mm(points[wanted])
            deep = self._mine.into_wood(start + first, start + stop)
            yield _Stroke(first, stop, points[wanted], row[wanted], bites, deep)

    def _check_steps(self, pair: "_Pair", stroke: _Stroke, step_down_mm: float | None, *, at_level: bool) -> None:
        z = self._made.path.end[pair.out_rows][stroke.row, 2]
        steps = self._made.ground.heights(stroke.points_mm) - z
        if step_down_mm is None:
            allowed = stroke.bites_mm
        else:
            # A pass that stays may step down as far as it did.
            allowed = np.fmax(step_down_mm, 0.0 if at_level else stroke.bites_mm)
        over = steps - allowed
        if len(over) and over.max() > PROOF_TOLERANCE_MM:
            worst = int(np.argmax(over))
            limit = float(np.broadcast_to(allowed, over.shape)[worst])
            message = f"a step-down would be {round(float(steps[worst]), 6):g} mm, over {round(limit, 6):g} mm"
            raise fault(self._source, pair.first, message)


class _Carved:
    """The ground of one program, cut motion by motion."""

    def __init__(self, path: Path, top_mm: float) -> None:
        self.path, self.ground = path, Ground(path, top_mm)
        self._samples = sample(path)
        self._cut = path.is_cut[self._samples.row]
        self._is_way_up = _goes_straight_up(path)
        self._behind = 0

    def samples_between(self, first: int, stop: int) -> tuple[Floats, NDArray[np.intp]]:
        """Return the places of motions, and which of them each is of."""
        inside = self._samples.between(first, stop)
        return self._samples.points_mm[inside], self._samples.row[inside]

    def cut_until(self, row: int) -> None:
        """Cut all motions before one, if they are not cut yet."""
        if row > self._behind:
            inside = self._samples.between(self._behind, row)
            self.ground.cut(self._samples.points_mm[inside][self._cut[inside]])
            self._behind = row

    def into_wood(self, first: int, stop: int) -> Floats:
        """Return how deep each motion from `first` on goes into wood where it is a traverse, but not straight up."""
        points, row = self.samples_between(first, stop)
        rapid = ~self.path.is_cut[row] & ~self._is_way_up[row]
        deep = np.zeros(stop - first)
        np.maximum.at(deep, row[rapid] - first, self.ground.heights(points[rapid]) - points[rapid, 2])
        return deep


def _goes_nowhere(path: Path) -> Flags:
    nowhere: Flags = (path.end == path.start).all(axis=1)
    return nowhere


def _goes_straight_up(path: Path) -> Flags:
    start, end = path.start[:, :2], path.end[:, :2]
    # From where nobody knows to a place that is known is a way across.
    across = (np.abs(np.nan_to_num(end - start)) > _SAME) | (np.isnan(start) & ~np.isnan(end))
    up: Flags = ~across.any(axis=1) & ~(path.end[:, 2] < path.start[:, 2])
    return up


def _points(ends: Floats) -> list[tuple[float, float]]:
    return [(x, y) for x, y, _ in ends.round(_POINT_DECIMALS).tolist()]


def _lowest_before(path: Path) -> dict[tuple[float, float], float]:
    """Return how deep was cut at each point where a feed ended."""
    lowest: dict[tuple[float, float], float] = {}
    ends = path.end[path.is_cut & ~np.isnan(path.end).any(axis=1)]
    for x, y, z in ends.round(_POINT_DECIMALS).tolist():
        lowest[x, y] = min(z, lowest.get((x, y), z))
    return lowest


def _check_dropped(source: Whole, output: Whole, claim: Claimed, asked: AskedFloor) -> None:
    """Check that a pass that is left out is below the floor, and that all of its place is cut to the floor."""
    path = source.path.take(rows_between(source, claim.first, claim.last))
    flat = path.is_cut & (np.abs(path.end[:, 2] - path.start[:, 2]) <= _SAME)
    if not len(path) or path.end[path.is_cut, 2].min(initial=np.inf) > asked.floor_mm + PROOF_TOLERANCE_MM + _SAME:
        raise fault(source, claim.first, "a pass above the floor would be lost")
    reached = _lowest_before(output.path)
    for (x, y), line in zip(_points(path.end[flat]), path.line[flat].tolist(), strict=True):
        if reached.get((x, y), np.inf) > asked.floor_mm + PROOF_TOLERANCE_MM:
            raise fault(source, line, f"nothing would be cut at X{x:g} Y{y:g} any more")
