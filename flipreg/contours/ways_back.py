"""Ways back: the places of a path that are visited again, and which way back to a place closes a loop."""

from bisect import bisect_left, bisect_right
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path

__all__ = ["POINT_MM", "PRIME", "Visits", "cells", "chosen_loops"]

Floats = NDArray[np.float64]
Index = NDArray[np.int64]

POINT_MM = 1e-3
"""Places closer than this are one (chosen): the last decimal of most programs."""
PRIME = 1_000_003
"""Makes one number of several coordinates."""
_LEAST_AREA_MM2 = 0.02
"""Smaller loops are noise of ramps (chosen): a circle of 0.16 mm."""

_LEFT_OVER = 0.25
"""A way back that encloses less than this share beside the loops on its way is no contour, they are (chosen)."""

_FEW_WAYS = 4
"""Ways back to a place that are looked at for all places at once (chosen)."""
_LATER = -1

_NOWHERE_MM = -1e9
"""Stands for a coordinate that is not known (chosen), farther than any machine goes."""


def cells(point_mm: Floats) -> Index:
    """Return places in whole steps of what counts as one place; what is not known, or off every machine, is nowhere."""
    near = np.minimum(np.fmax(point_mm, _NOWHERE_MM), -_NOWHERE_MM)
    near /= POINT_MM
    return np.rint(near, out=near).astype(np.int64)


class Visits(NamedTuple):
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
    def of(cls, path: Path, rows: Index) -> "Visits":
        """Return the visits of rows, which are consecutive within each stretch."""
        begins = np.concatenate(([True], rows[1:] != rows[:-1] + 1))
        stretch = np.cumsum(begins)
        first = np.flatnonzero(begins)
        # A stretch has one place more than motions: the start of its first one.
        point = np.concatenate((path.start.T.take(rows[first], axis=1), path.end.T.take(rows, axis=1)), axis=1)
        visit = np.concatenate((first, np.arange(1, len(rows) + 1)))
        owner = np.concatenate((stretch[first], stretch))
        # A height that only the probe knows: no such place is compared further down.
        x, y, z = cells(point)
        key = ((owner * PRIME + x) * PRIME + y) * PRIME + z
        sort = np.argsort(key)
        key, visit = key[sort], visit[sort]
        same = np.flatnonzero(key[1:] == key[:-1])
        if not same.size:
            return cls(same, same, same, same, same)
        # To sort twice and not by two keys at once takes a third of the time.
        group = np.concatenate(([0], np.cumsum(key[1:] != key[:-1]))) * (len(rows) + 1)
        visit += group
        visit.sort()
        visit -= group
        group_end = np.concatenate((np.flatnonzero(key[1:] != key[:-1]), [len(key) - 1]))
        end_of = group_end[np.searchsorted(group_end, same)]
        place = visit[same]
        order = np.argsort(place, kind="stable")
        same, end_of = same[order], end_of[order]
        return cls(place[order], visit[same + 1], visit, same, end_of)


def chosen_loops(visits: Visits, area: Floats) -> tuple[Index, Index]:
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


def _ways_back(visits: Visits, area: Floats) -> Index:
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

    def __init__(self, visits: Visits, area: Floats) -> None:
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

    def __init__(self, visits: Visits, area: Floats) -> None:
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
