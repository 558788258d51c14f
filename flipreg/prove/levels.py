"""The proof of a floor at another depth: XY as it was, levels as asked, nothing deeper than asked.

The output is read again like any program. Nothing here knows how passes were found: what is cut at which height
is taken from the motions, point by point.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path
from flipreg.prove.bites import BothGrounds
from flipreg.prove.dropped import check_left_out, check_modes_after
from flipreg.prove.ground import goes_across, goes_straight_up, is_fed
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
    ground = BothGrounds(source, output, asked.top_mm)
    running = [claim for claim in claims if claim.runs]
    for number, claim in enumerate(running):
        following = running[number + 1] if number + 1 < len(running) else None
        is_copy = following is not None and following.first == claim.first
        check_words(source, output, claim, is_copy=is_copy, free="" if claim.level_mm is None else "Z")
        pair = _Pair(source, output, claim)
        largest = max(largest, pair.deviation())
        pair.check_ways_across(asked.top_mm)
        if claim.level_mm is None:
            ground.check(pair.rows, pair.out_rows, step_down_mm=asked.step_down_mm, at_level=False, drills=False)
            continue
        if claim.level_mm < asked.floor_mm - PROOF_TOLERANCE_MM:
            raise fault(source, claim.first, "something would be cut deeper than asked")
        at_floor = abs(claim.level_mm - asked.floor_mm) <= PROOF_TOLERANCE_MM
        if at_floor == is_copy:
            raise fault(source, claim.first, "the floor would not be cut last, or not at all")
        reached |= at_floor
        largest = max(largest, pair.check_levels(claim.level_mm, asked))
        ground.check(
            pair.rows, pair.out_rows, step_down_mm=asked.step_down_mm, at_level=True, drills=pair.drills
        )
    if not reached:
        raise fault(source, 1, "the floor would not be where it was asked for")
    check_modes_after(source, output, claims)
    for claim in claims:
        if claim.dropped:
            check_left_out(source, output, claim, asked.floor_mm)
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
        cut = is_fed(mine)
        # A way home that begins with a stop where the tool stands, which is where the pass before it ended.
        stays = ~cut & _goes_nowhere(mine) & _goes_nowhere(made)
        # The way out of the pass before leads straight up from wherever that pass ended.
        out = ~cut & goes_straight_up(mine) & goes_straight_up(made) & ~stays
        # A plunge may begin where the pass before leaves the tool; a ramp would be another one.
        across = goes_across(mine)
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

    def check_ways_across(self, top_mm: float) -> None:
        """Check that a traverse across that starts from another place than it did does so above the surface."""
        mine, made = self._mine, self._made
        if self.drills:
            return
        # Where nobody knows where the source stands, any place that is known is another one.
        before, after = mine.start[:, :2], made.start[:, :2]
        same = (np.abs(before - after) <= _SAME) | (np.isnan(before) & np.isnan(after))
        # From or at what nobody knows is across, and not above the surface.
        across = ~(np.abs(made.end[:, :2] - after) <= _SAME).all(axis=1)
        elsewhere = ~is_fed(made) & across & ~same.all(axis=1)
        low = ~(np.minimum(made.start[:, 2], made.end[:, 2]) >= top_mm - _SAME)
        if (elsewhere & low).any():
            line = int(mine.line[int(np.argmax(elsewhere & low))])
            raise fault(self._source, line, "a traverse across would start from another place in the wood")

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
        cut = is_fed(made)
        lowest = float(made.end[cut, 2].min(initial=np.inf))
        if not abs(lowest - level_mm) <= PROOF_TOLERANCE_MM or lowest < asked.floor_mm - PROOF_TOLERANCE_MM:
            raise fault(self._source, first, f"the lowest cut would be at Z{lowest:g}, expected Z{level_mm:g}")
        worst = abs(lowest - level_mm)
        if self.drills:
            return worst
        across = cut & goes_across(mine)
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

        They are the source's own, or moved as far as the level: what is below the surface, or where a ramp starts. What
        goes across above the surface may move up with a ramp, and not down. What would go below the level is at it.
        """
        mine, made = self._mine, self._made
        own, new = mine.end[:, 2], made.end[:, 2]
        moved = own + (level_mm - asked.was_mm)
        ramps = across & is_fed(mine) & (np.abs(own - mine.start[:, 2]) > _SAME)
        free = _goes_straight(mine) | (level_mm >= asked.was_mm)
        may_move = (own <= asked.top_mm + _SAME) | _leads_to(ramps, free)
        off = np.abs(new - own)
        off[may_move] = np.minimum(off, np.abs(new - moved))[may_move]
        raised = own <= level_mm + _SAME
        off[raised] = np.minimum(off, np.abs(new - level_mm))[raised]
        off[across & is_fed(mine)] = 0.0
        # A traverse that goes nowhere is at the height that the one before it ends at.
        stays = ~is_fed(mine) & _goes_nowhere(mine) & _goes_nowhere(made)
        off[(np.isnan(own) & np.isnan(new)) | stays] = 0.0
        self._differ("height", ~(off <= PROOF_TOLERANCE_MM))
        return float(off.max(initial=0.0))


def _leads_to(ramps: Flags, free: Flags) -> Flags:
    """Return the free motions at whose end a ramp starts, other free motions between them left out."""
    leads = np.zeros(len(ramps), np.bool_)
    for row in range(len(ramps) - 2, -1, -1):
        leads[row] = free[row] and (ramps[row + 1] or leads[row + 1])
    return leads


def _goes_straight(path: Path) -> Flags:
    """Return which motions go straight up or down from a place that is known."""
    straight: Flags = (np.abs(path.end[:, :2] - path.start[:, :2]) <= _SAME).all(axis=1) & ~path.is_arc
    return straight


def _goes_nowhere(path: Path) -> Flags:
    nowhere: Flags = (path.end == path.start).all(axis=1)
    return nowhere
