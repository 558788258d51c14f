"""Closed contours in what a program cuts: where the tool comes back to where it was, without leaving the wood.

A contour lies at one level, with rises over tabs in between; lead-ins, links and ramps lie outside of it. Mirrored, it
runs the other way round, so that climb milling becomes conventional.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path

__all__ = ["Contour", "are_laps", "comes_back", "contour_rows", "find_contours"]

Floats = NDArray[np.float64]
Index = NDArray[np.int64]

_POINT_MM = 1e-3
"""Places closer than this are one (chosen): the last decimal of most programs."""
_LEVEL_MM = 1e-6
_LEAST_AREA_MM2 = 0.02
"""Smaller loops are noise of ramps (chosen): a circle of 0.16 mm."""
_XY = 2
_PRIME = 1_000_003

_LEFT_OVER = 0.25
"""A way back that encloses less than this share beside the loops on its way is no contour, they are (chosen)."""

_FEW_WAYS = 4
"""Ways back to a place that are looked at for all places at once (chosen)."""
_LATER = -1

_NOWHERE_MM = -1e9
"""Stands for a coordinate that is not known (chosen), farther than any machine goes."""


@dataclass(frozen=True, slots=True)
class Contour:
    """A closed contour.

    Attributes
    ----------
    first, last : int
        Rows of its first and its last motion.
    first_line, last_line : int
        Their lines.
    area_mm2 : float
        Enclosed area, positive where it runs counter-clockwise.
    """

    first: int
    last: int
    first_line: int
    last_line: int
    area_mm2: float


def find_contours(path: Path) -> list[Contour]:
    """Return the closed contours of a path, in the order they are cut.

    The first way back to where it starts closes a contour: laps without leaving it are a contour each, and so are rings
    that begin in one corner.
    """
    first, last, area = _loops(path)
    lines = path.line[first].tolist(), path.line[last].tolist()
    columns = (first.tolist(), last.tolist(), *lines, area.tolist())
    return [Contour(*each) for each in zip(*columns, strict=True)]


def contour_rows(path: Path) -> tuple[Index, Index]:
    """Return the first and the last rows of what `find_contours` returns, as columns, for they may be many."""
    first, last, _ = _loops(path)
    return first, last


def _cells(point_mm: Floats) -> Index:
    """Return places in whole steps of what counts as one place; what is not known, or off every machine, is nowhere."""
    near = np.minimum(np.fmax(point_mm, _NOWHERE_MM), -_NOWHERE_MM)
    near /= _POINT_MM
    return np.rint(near, out=near).astype(np.int64)


def comes_back(path: Path) -> bool:
    """Return whether the cuts of a path come back to any place, seen from above.

    Where they don't there is no contour of any kind; most chunks of a surface are known by it at a tenth of the time.
    """
    rows = np.flatnonzero(path.is_cut & (path.cycle == 0) & (_goes_across(path) | path.is_arc))
    start, end = ([points[:, axis].take(rows) for axis in (0, 1)] for points in (path.start, path.end))
    is_elsewhere = np.ones(len(rows), np.bool_)
    is_elsewhere[1:] = (start[0][1:] != end[0][:-1]) | (start[1][1:] != end[1][:-1])
    x, y = (np.concatenate((s[is_elsewhere], e)) for s, e in zip(start, end, strict=True))
    key = np.sort(_cells(x) * _PRIME + _cells(y))
    return bool((key[1:] == key[:-1]).any())


def _goes_across(path: Path) -> NDArray[np.bool_]:
    across: NDArray[np.bool_] = (path.start[:, 0] != path.end[:, 0]) | (path.start[:, 1] != path.end[:, 1])
    return across


def are_laps(path: Path, contours: Sequence[Contour]) -> bool:
    """Return whether contours are one after the other, and each goes exactly the way of the first."""
    first = contours[0]
    size = first.last - first.first
    for before, each in pairwise(contours):
        if each.first != before.last + 1 or each.last - each.first != size:
            return False
    laps = [path.take(slice(each.first, each.last + 1)) for each in contours]
    return all(
        np.allclose(getattr(laps[0], name), getattr(lap, name), rtol=0.0, atol=_POINT_MM, equal_nan=True)
        for lap in laps[1:]
        for name in ("kind", "start", "end", "centre", "sweep_deg")
    )


def _loops(path: Path) -> tuple[Index, Index, Floats]:
    """Return the first row, the last row and the area of each contour."""
    rows = _rows_that_may_close(path)
    visits = _Visits.of(path, rows) if rows.size else None
    if visits is None or not visits.place.size:
        nothing = np.empty(0, np.int64)
        return nothing, nothing, np.empty(0)
    area = np.concatenate(([0.0], np.cumsum(_area_terms(path, rows))))
    # Rows are counted among those that may close, and mapped back at the end.
    first, last = _chosen(visits, area)
    good = _closes(path, rows[first], rows[last]) & _stays_up(path, rows, first, last)
    first, last = first[good], last[good]
    return rows[first], rows[last], area[last + 1] - area[first]


def _rows_that_may_close(path: Path) -> Index:
    """Return the fed rows of stretches that turn back in X and in Y: most rows of a surface do not."""
    fed = path.is_cut & (path.cycle == 0)
    if len(path) and np.isnan(path.start[0]).any():
        fed &= ~np.isnan(path.start).any(axis=1)
    is_arc = path.is_arc
    if not is_arc.any() and not all(_turns_back(path, fed, axis) for axis in (0, 1)):
        # Rows of a surface, to and fro along one axis: a whole chunk at once.
        return np.empty(0, np.int64)
    begins = fed.copy()
    begins[1:] &= ~fed[:-1]
    first = np.flatnonzero(begins)
    if not first.size:
        return first
    turns_back = np.zeros(len(first), np.bool_)
    stretch = np.cumsum(begins) - 1
    rows = np.flatnonzero(fed)
    owner = stretch[rows]
    for axis in (0, 1):
        step = path.end[:, axis].take(rows) - path.start[:, axis].take(rows)
        there = np.bincount(owner, np.maximum(step, 0.0), len(first))
        back = np.bincount(owner, np.minimum(step, 0.0), len(first))
        both = (there > 0) & (back < 0)
        turns_back = both if axis == 0 else turns_back & both
    arcs = is_arc[rows]
    if arcs.any():
        turns_back |= np.bincount(owner, arcs, len(first)) > 0
    return rows if turns_back.all() else rows[turns_back[owner]]


def _turns_back(path: Path, fed: NDArray[np.bool_], axis: int) -> bool:
    """Return whether anything is fed to and fro along an axis."""
    there, here = path.end[:, axis], path.start[:, axis]
    return bool((fed & (there > here)).any() and (fed & (there < here)).any())


@dataclass(frozen=True, eq=False, slots=True)
class _Visits:
    """Places that are visited more than once in a stretch.

    Attributes
    ----------
    place : int64, shape (k,)
        The row that starts there, ascending.
    after : int64, shape (k,)
        The row after the next one that ends there.
    row : int64, shape (n,)
        All visits, those of one place together and ascending.
    at, last : int64, shape (k,)
        Where in `row` the place's visit is, and where the last one of the same place.
    """

    place: Index
    after: Index
    row: Index
    at: Index
    last: Index

    @classmethod
    def of(cls, path: Path, rows: Index) -> "_Visits":
        """Return the visits of rows, which are consecutive within each stretch."""
        begins = np.concatenate(([True], rows[1:] != rows[:-1] + 1))
        stretch = np.cumsum(begins)
        first = np.flatnonzero(begins)
        # A stretch has one place more than motions: the start of its first one.
        point = np.concatenate((path.start.T.take(rows[first], axis=1), path.end.T.take(rows, axis=1)), axis=1)
        visit = np.concatenate((first, np.arange(1, len(rows) + 1)))
        owner = np.concatenate((stretch[first], stretch))
        # A height that only the probe knows: no such place is compared further down.
        x, y, z = _cells(point)
        key = ((owner * _PRIME + x) * _PRIME + y) * _PRIME + z
        # The end of one stretch and the start of the next have one number as visits, and two owners.
        sort = np.lexsort((visit, key))
        key, visit = key[sort], visit[sort]
        same = np.flatnonzero(key[1:] == key[:-1])
        if not same.size:
            return cls(same, same, same, same, same)
        group_end = np.concatenate((np.flatnonzero(key[1:] != key[:-1]), [len(key) - 1]))
        end_of = group_end[np.searchsorted(group_end, same)]
        place = visit[same]
        order = np.argsort(place, kind="stable")
        same, end_of = same[order], end_of[order]
        return cls(place[order], visit[same + 1], visit, same, end_of)


def _chosen(visits: _Visits, area: Floats) -> tuple[Index, Index]:
    """Return first and last rows of loops that enclose something and do not overlap, the earliest first."""
    back = _ways_back(visits, area)
    worth = np.flatnonzero(back)
    longer, several = _Longer(visits, area), _Several(visits, area)
    places, ends = visits.place[worth], back[worth]
    # Loops that nothing lies in and that end before the next one begins follow one another without a choice.
    is_plain = (ends != _LATER) & ~several.may_make_up(places, ends)
    is_plain[:-1] &= ends[:-1] <= places[1:]
    others = np.append(np.flatnonzero(~is_plain), len(worth)).tolist()
    place, after, visit = (column.tolist() for column in (places, ends, worth))
    first: list[int] = []
    last: list[int] = []
    stop = begin = 0
    for other in others:
        begin = bisect_left(place, stop, begin, other)
        if begin < other:
            first += place[begin:other]
            last += after[begin:other]
            stop = after[other - 1]
        begin = other + 1
        if other < len(place) and place[other] >= stop:
            end = after[other] if after[other] != _LATER else longer.end(visit[other])
            # Out to rings and back to where they were left for: the rings are the contours.
            if end > place[other] and not several.make_up(place[other], end):
                first.append(place[other])
                last.append(end)
                stop = end
    return np.array(first, np.int64), np.array(last, np.int64) - 1


def _ways_back(visits: _Visits, area: Floats) -> Index:
    """Return for each visit the row after the first way back to its place that encloses something; 0 where none does.

    Out and back by the same way encloses nothing, but a later way back may. After a few that enclose nothing it is
    `_LATER`.
    """
    back = np.zeros(len(visits.place), np.int64)
    waiting = np.arange(len(back))
    for ahead in range(1, _FEW_WAYS + 1):
        waiting = waiting[visits.at[waiting] + ahead <= visits.last[waiting]]
        if not waiting.size:
            return back
        row = visits.row[visits.at[waiting] + ahead]
        encloses = np.abs(area[row] - area[visits.place[waiting]]) >= _LEAST_AREA_MM2
        back[waiting[encloses]] = row[encloses]
        waiting = waiting[~encloses]
    back[waiting[visits.at[waiting] + _FEW_WAYS < visits.last[waiting]]] = _LATER
    return back


class _Several:
    """Tells whether a way back goes round loops that enclose what it encloses, so that they are the contours."""

    def __init__(self, visits: _Visits, area: Floats) -> None:
        worth = np.abs(area[visits.after] - area[visits.place]) >= _LEAST_AREA_MM2
        self._begins: Index = visits.place[worth]
        self._begin: list[int] = self._begins.tolist()
        self._end: list[int] = visits.after[worth].tolist()
        self._area = area

    def may_make_up(self, row: Index, end: Index) -> NDArray[np.bool_]:
        """Return whether two loops or more begin between rows, for many ways back at once."""
        inside: NDArray[np.bool_] = np.searchsorted(self._begins, end) - np.searchsorted(self._begins, row + 1) > 1
        return inside

    def make_up(self, row: int, end: int) -> bool:
        """Return whether two loops or more between two rows enclose most of what the whole encloses."""
        count, inside, begin = 0, 0.0, row + 1
        at = bisect_left(self._begin, begin)
        while at < len(self._begin) and self._begin[at] < end:
            if self._end[at] <= end:
                count += 1
                begin = self._end[at]
                inside += float(self._area[begin] - self._area[self._begin[at]])
                at = bisect_left(self._begin, begin, at + 1)
            else:
                at += 1
        whole = float(self._area[end] - self._area[row])
        return count > 1 and abs(whole - inside) < _LEFT_OVER * abs(whole)


class _Longer:
    """Finds the first way back to a place that encloses something, where the next way back does not.

    All visits of a place are looked at once, the last one first. The visits with a greater area than all between, and
    those with a lesser one, are kept in two stacks, in which the first far enough from one's own area is found by
    halving, however often the tool comes by.
    """

    def __init__(self, visits: _Visits, area: Floats) -> None:
        self._visits = visits
        self._area = area
        self._ends: dict[int, list[int]] = {}

    def end(self, each: int) -> int:
        """Return the row after the last one of the loop that starts with a visit; 0 where there is none."""
        at, last = int(self._visits.at[each]), int(self._visits.last[each])
        if last not in self._ends:
            # Visits are asked for in their order: this is the first of its place that anybody asks for.
            self._ends[last] = self._looked_up(self._visits.row[at : last + 1])
        ends = self._ends[last]
        return ends[at - last - 1]

    def _looked_up(self, rows: Index) -> list[int]:
        """Return for each visit of one place the row after the first loop from there; 0 where there is none."""
        ends = [0] * len(rows)
        areas = self._area[rows].tolist()
        # Of each stack: areas that grow towards its start, with the sign that makes bisection go, and their rows.
        stacks: list[tuple[float, list[float], list[int]]] = [(1.0, [], []), (-1.0, [], [])]
        for at in range(len(areas) - 1, -1, -1):
            found = []
            for sign, heights, places in stacks:
                own = -sign * areas[at]
                reach = bisect_right(heights, own - _LEAST_AREA_MM2)
                if reach:
                    found.append(places[reach - 1])
                while heights and heights[-1] >= own:
                    heights.pop()
                    places.pop()
                heights.append(own)
                places.append(int(rows[at]))
            ends[at] = min(found, default=0)
        return ends


def _area_terms(path: Path, rows: Index) -> Floats:
    """Return what each motion adds to the area enclosed, by the triangles and circular segments under it."""
    (x0, y0), (x1, y1) = ([points[:, axis].take(rows) for axis in (0, 1)] for points in (path.start, path.end))
    term: Floats = (x0 * y1 - x1 * y0) / 2
    at = np.flatnonzero(path.is_arc.take(rows) & (path.normal.take(rows) == _XY))
    if at.size:
        arcs = rows[at]
        x, y = (start[at] - path.centre[:, axis].take(arcs) for axis, start in enumerate((x0, y0)))
        sweep = np.radians(path.sweep_deg.take(arcs))
        term[at] += (x * x + y * y) * (sweep - np.sin(sweep)) / 2
    return term


def _closes(path: Path, first: Index, last: Index) -> NDArray[np.bool_]:
    """Return whether rows meet: places were compared by a number that two places may share."""
    off = path.start.T.take(first, axis=1) - path.end.T.take(last, axis=1)
    return np.asarray(np.abs(off).max(axis=0, initial=0.0) <= _POINT_MM)


def _stays_up(path: Path, rows: Index, first: Index, last: Index) -> NDArray[np.bool_]:
    """Return whether nothing between goes deeper than where a contour starts, and something is cut there."""
    if not first.size:
        return np.zeros(0, np.bool_)
    z0, z1 = path.start[:, 2].take(rows), path.end[:, 2].take(rows)
    across = (_goes_across(path) | path.is_arc).take(rows)
    flat = np.where(across & (z0 == z1), z1, np.inf)
    bounds = np.ravel(np.column_stack((first, last + 1)))
    bounds = bounds[:-1] if bounds[-1] == len(rows) else bounds
    lowest, lowest_flat = (np.minimum.reduceat(z, bounds)[::2] for z in (z1, flat))
    level = z0[first]
    stays: NDArray[np.bool_] = (lowest >= level - _LEVEL_MM) & (lowest_flat <= level + _LEVEL_MM)
    return stays
