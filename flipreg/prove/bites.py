"""How deep cuts bite at once, and whether traverses stay out of the wood: source and output, held side by side."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path
from flipreg.prove.ground import GroundCells, goes_across, goes_straight_up, is_fed, places_along, stroke_ranges
from flipreg.prove.read import PROOF_TOLERANCE_MM
from flipreg.prove.stretches import fault
from flipreg.rs274.interpret.whole import Whole

__all__ = ["BothGrounds"]

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]

_SAME_MM = 1e-6


@dataclass(frozen=True, eq=False, slots=True)
class _Stroke:
    """Motions that meet one ground, and what the source does in them.

    Attributes
    ----------
    rows : range
        The motions, counted from the first of the stretch.
    points_mm, row : arrays, shapes (n, 3) and (n,)
        Places where a bite is measured, and the motion each is of, counted alike.
    bites_mm : array, shape (n,)
        How much deeper the source ever leaves each place than it finds it.
    into_wood_mm : array, shape (len(rows),)
        How deep the source's traverses go into wood.
    ramp_starts_mm : array, shape (len(rows),)
        How deep in wood the source's ramps start; 0 for all else.
    """

    rows: range
    points_mm: Floats
    row: Rows
    bites_mm: Floats
    into_wood_mm: Floats
    ramp_starts_mm: Floats


class BothGrounds:
    """The ground of the source and of the output, cut as far as the stretches that were looked at.

    Parameters
    ----------
    source, output : Whole
        The two programs.
    top_mm : float
        Height of the wood's surface.
    """

    def __init__(self, source: Whole, output: Whole, top_mm: float) -> None:
        self._source = source
        self._mine, self._made = _Carved(source.path, top_mm), _Carved(output.path, top_mm)
        self._largest = _largest_bites(_Carved(source.path, top_mm))
        self._seen, self._strokes = slice(0, 0), list[_Stroke]()

    def check(
        self, rows: slice, out_rows: slice, *, step_down_mm: float | None, at_level: bool, drills: bool
    ) -> None:
        """Check how much deeper a stretch leaves each place than it finds it, and that no traverse goes into wood.

        Motions of one stroke are taken together: they find what was there before the first of them. Where the source's
        own traverse goes into wood, so may the output's. Where the source plunges into wood to the start of a ramp, the
        output may as deep as it does, or as was asked for.

        Parameters
        ----------
        rows, out_rows : slice
            The motions of the source, and those of the output that stand for them.
        step_down_mm : float or None
            The largest step-down that was asked for.
        at_level : bool
            The stretch is moved: it has to keep to what was asked for, whatever the source does there.
        drills : bool
            The stretch is a canned cycle, whose bites are its own affair.

        Raises
        ------
        ProofError
            With the line of the source.
        """
        line = self._source.path.line[rows]
        if rows != self._seen:
            # A stretch that is repeated stands for the same motions each time.
            self._seen, self._strokes = rows, [
                self._of_source(rows.start, each) for each in stroke_ranges(self._mine.path.take(rows))
            ]
        for stroke in self._strokes:
            first, stop = out_rows.start + stroke.rows.start, out_rows.start + stroke.rows.stop
            self._made.cut_until(first)
            if not drills and len(stroke.row):
                z = self._made.path.end[out_rows][stroke.row, 2]
                # A pass that stays may step down as far as it did.
                allowed = stroke.bites_mm
                if step_down_mm is not None:
                    allowed = np.fmax(step_down_mm, 0.0 if at_level else allowed)
                self._check_steps(self._made.ground.found_at(stroke.points_mm) - z, allowed, int(line[0]))
            deep = self._made.into_wood(first, stop)
            if not drills:
                self._check_ramps(self._made.ramp_starts(first, stop), stroke, step_down_mm or 0.0, line)
            worse = (deep > PROOF_TOLERANCE_MM) & (stroke.into_wood_mm <= PROOF_TOLERANCE_MM)
            if worse.any():
                at = int(line[stroke.rows.start + int(np.argmax(worse))])
                raise fault(self._source, at, "a traverse would go into the wood")

    def _of_source(self, start: int, rows: range) -> _Stroke:
        first, stop = start + rows.start, start + rows.stop
        self._mine.cut_until(first)
        points, row = self._mine.measured(first, stop)
        along, across = self._mine.ground.cells(points)
        deep = self._mine.into_wood(first, stop)
        starts = self._mine.ramp_starts(first, stop)
        return _Stroke(rows, points, row - start, self._largest[along, across], deep, starts)

    def _check_ramps(self, starts: Floats, stroke: _Stroke, step_down_mm: float, lines: Rows) -> None:
        own = stroke.ramp_starts_mm
        over = starts - np.where(own > PROOF_TOLERANCE_MM, np.fmax(own, step_down_mm), 0.0)
        if over.max() > PROOF_TOLERANCE_MM:
            line = int(lines[stroke.rows.start + int(np.argmax(over))])
            raise fault(self._source, line, "a ramp would start deeper in wood")

    def _check_steps(self, steps: Floats, allowed: Floats | float, line: int) -> None:
        over = steps - allowed
        if over.max() > PROOF_TOLERANCE_MM:
            worst = int(np.argmax(over))
            limit = float(np.broadcast_to(allowed, over.shape)[worst])
            message = f"a step-down would be {round(float(steps[worst]), 6):g} mm, over {round(limit, 6):g} mm"
            raise fault(self._source, line, message)


class _Carved:
    """The ground of one program, cut motion by motion."""

    def __init__(self, path: Path, top_mm: float) -> None:
        self.path, self._places = path, places_along(path)
        self.ground = GroundCells(path, self._places, top_mm)
        self._fed = is_fed(path)
        across, rise = self._fed & goes_across(path), path.end[:, 2] - path.start[:, 2]
        self._flat = across & (np.abs(rise) <= _SAME_MM)
        self._begins_ramp = across & (rise < -_SAME_MM)
        self._begins_ramp[1:] &= ~across[:-1]
        self._may_be_low = self._fed | goes_straight_up(path)
        self._next = 0

    def cut_until(self, row: int) -> None:
        """Cut all motions before one, if they are not cut yet."""
        if row > self._next:
            inside = self._places.of(self._next, row)
            self.ground.cut(self._places.points_mm[inside][self._fed[self._places.row[inside]]])
            self._next = row

    def measured(self, first: int, stop: int) -> tuple[Floats, Rows]:
        """Return where motions cut at one height, or are deepest if they only go down; and which each place is of."""
        inside = self._places.of(first, stop)
        points, row = self._places.points_mm[inside], self._places.row[inside]
        wanted = self._flat[row]
        if not wanted.any():
            cut = self._fed[row]
            wanted = cut & (points[:, 2] <= points[cut, 2].min(initial=np.inf))
        return points[wanted], row[wanted]

    def into_wood(self, first: int, stop: int) -> Floats:
        """Return how deep each motion from `first` on goes into wood where it is a traverse, but not straight up."""
        inside = self._places.of(first, stop)
        points, row = self._places.points_mm[inside], self._places.row[inside]
        low = ~self._may_be_low[row]
        deep = np.zeros(stop - first)
        np.maximum.at(deep, row[low] - first, self.ground.found_at(points[low]) - points[low, 2])
        return deep


    def ramp_starts(self, first: int, stop: int) -> Floats:
        """Return how deep in wood each motion from `first` on starts where it is the first of a ramp down; 0 else."""
        rows = np.arange(first, stop)[self._begins_ramp[first:stop]]
        deep = np.zeros(stop - first)
        start = self.path.start[rows]
        deep[rows - first] = np.fmax(self.ground.found_at(start) - start[:, 2], 0.0)
        return deep


def _largest_bites(carved: _Carved) -> Floats:
    """Return for each cell the largest bite that a program takes there."""
    largest = carved.ground.nothing()
    for rows in stroke_ranges(carved.path):
        carved.cut_until(rows.start)
        points, _ = carved.measured(rows.start, rows.stop)
        np.maximum.at(largest, carved.ground.cells(points), carved.ground.found_at(points) - points[:, 2])
    return largest
