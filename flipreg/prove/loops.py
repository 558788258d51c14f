"""Closed loops in what a program cuts, found by walking it place after place.

The rewriter finds its contours with code of its own; what is a closed loop is decided here a second time, from geometry
alone: one step of a walk for each place that has another one near it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from math import floor, inf

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path
from flipreg.prove.ground import goes_across, is_fed

__all__ = ["LoopRows", "closed_loops", "enclosed_areas_mm2", "lifted_loops", "loops_at_no_known_height"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Index = NDArray[np.int64]
Point = tuple[float, float, float]

_NEAR_MM = (1e-3, 1e-3, 1e-6)
"""Places are one if they are as near as this in X, Y and Z (chosen): the last decimal of most programs; noise."""
_CELL_MM = 0.01
"""Places are looked up by cells of this size (chosen), some times as large as what is one place."""
_SAME_MM = 1e-6
_LARGEST_AIR = 0.25
"""Ways through the air, as a part of what is cut, up to which pieces are surely one contour with tabs (chosen)."""
_XY = 2
_PRIME = 1_000_003


@dataclass(frozen=True, slots=True)
class LoopRows:
    """A closed loop: the rows of its first and its last motion, and its area, counter-clockwise positive."""

    first: int
    last: int
    area_mm2: float


def closed_loops(
    path: Path, rows: Flags, *, least_mm2: float, begins: Sequence[int] = ()
) -> list[LoopRows]:
    """Return the loops of consecutive cuts that come back to where they were, and were never lower in between.

    Parameters
    ----------
    path : Path
        Motions of a program.
    rows : bool array, shape (n,)
        Which of them to walk; a loop holds no others.
    least_mm2 : float
        Smaller loops are left out.
    begins : sequence of int
        Rows that no loop goes across the start of.

    Returns
    -------
    list of LoopRows
        None of them touches itself: a way that closes several times is as many loops.
    """
    known = ~(np.isnan(path.start) | np.isnan(path.end)).any(axis=1)
    return _consecutive(path, np.flatnonzero(rows & is_fed(path) & (path.cycle == 0) & known), least_mm2, begins)


def loops_at_no_known_height(path: Path, rows: Flags, *, least_mm2: float) -> list[LoopRows]:
    """Return the loops of consecutive cuts whose height is not known, from start to end; see `closed_loops`."""
    unknown = np.isnan(path.start[:, 2]) & np.isnan(path.end[:, 2])
    known = ~(np.isnan(path.start[:, :2]) | np.isnan(path.end[:, :2])).any(axis=1)
    return _consecutive(path, np.flatnonzero(rows & is_fed(path) & (path.cycle == 0) & unknown & known), least_mm2)


def lifted_loops(path: Path, rows: Flags, *, least_mm2: float) -> list[LoopRows]:
    """Return the loops of level cuts at one height that are closed but for short ways through the air.

    Parameters are those of `closed_loops`.
    """
    known = ~(np.isnan(path.start) | np.isnan(path.end)).any(axis=1)
    level = np.abs(path.end[:, 2] - path.start[:, 2]) <= _SAME_MM
    cut = np.flatnonzero(rows & is_fed(path) & (path.cycle == 0) & known & level & goes_across(path))
    if len(cut) < 2:
        return []
    one, other = cut[:-1], cut[1:]
    lifts, others = (np.concatenate(([0], np.cumsum(flags))) for flags in (~is_fed(path), ~rows & is_fed(path)))
    goes_on = np.abs(path.start[other] - path.end[one]).max(axis=1) <= _SAME_MM
    same = (np.abs(path.start[other, 2] - path.end[one, 2]) <= _SAME_MM) & (lifts[other] > lifts[one])
    linked = (goes_on | same) & (others[other] == others[one])
    found = _walked(path, cut, np.concatenate(([True], ~linked)), least_mm2)
    return [loop for loop, air, cut_mm in found if 0 < air <= _LARGEST_AIR * cut_mm]


def enclosed_areas_mm2(path: Path, firsts: Index, lasts: Index) -> Floats:
    """Return the area that stretches of motions enclose, each closed by a straight line, counter-clockwise positive.

    Parameters
    ----------
    path : Path
        Motions; those of the stretches start and end at known places.
    firsts, lasts : int arrays, shape (k,)
        Their first and last rows.
    """
    swept = np.concatenate(([0.0], np.cumsum(np.nan_to_num(_areas(path)))))
    (x0, y0), (x1, y1) = path.end[lasts, :2].T, path.start[firsts, :2].T
    return np.asarray(swept[lasts + 1] - swept[firsts] + (x0 * y1 - x1 * y0) / 2)


def _consecutive(path: Path, cut: Index, least_mm2: float, begin: Sequence[int] = ()) -> list[LoopRows]:
    if not len(cut):
        return []
    off = np.abs(np.nan_to_num(path.start[cut[1:]]) - np.nan_to_num(path.end[cut[:-1]])).max(axis=1)
    begins = np.concatenate(([True], (cut[1:] != cut[:-1] + 1) | (off > _SAME_MM))) | np.isin(cut, begin)
    return [loop for loop, _, _ in _walked(path, cut, begins, least_mm2)]


def _areas(path: Path) -> Floats:
    """Return the area that each motion sweeps seen from zero: a triangle, and the segment over the chord of an arc."""
    (x0, y0), (x1, y1) = path.start[:, :2].T, path.end[:, :2].T
    radius = np.hypot(x0 - path.centre[:, 0], y0 - path.centre[:, 1])
    turn = np.radians(path.sweep_deg)
    segment = radius**2 * (turn - np.sin(turn)) / 2
    return np.asarray((x0 * y1 - x1 * y0) / 2 + np.where(path.is_arc & (path.normal == _XY), segment, 0.0))


def _walked(path: Path, cut: Index, begins: Flags, least_mm2: float) -> Iterator[tuple[LoopRows, float, float]]:
    """Yield the loops of a walk over cuts, each with its lengths through the air and through the wood.

    The walk starts anew where a cut begins one; elsewhere it goes straight to the cut's start.
    """
    cut, begins = _that_turn_back(path, cut, begins)
    if not len(cut):
        return
    places, is_start = _places(path.take(cut), cut, begins)
    walk = _Walk()
    for place, starts in zip(places, is_start, strict=True):
        if starts:
            walk = _Walk()
            walk.begin(place)
            continue
        closed = walk.go(place)
        if closed is not None and abs(closed[0].area_mm2) >= least_mm2:
            yield closed


def _places(way: Path, cut: Index, begins: Flags) -> tuple[Iterator["_Place"], list[bool]]:
    """Return the places of walks that have another one near them, and which of them a walk starts at.

    What lies between two of them is told of the second one.
    """
    start, end = np.nan_to_num(way.start), np.nan_to_num(way.end)
    before = np.roll(end, 1, axis=0)
    through_air = ~begins & (np.hypot.reduce(start - before, axis=1) > _SAME_MM)
    two = begins | through_air
    there = np.cumsum(1 + two) - 1
    here = there - 1
    count = int(there[-1]) + 1
    point, row = np.empty((count, 3)), np.empty(count, np.intp)
    point[there], row[there] = end, cut
    point[here[two]], row[here[two]] = start[two], cut[two]
    area, air, cut_mm, low, flat = (np.full(count, value) for value in (0.0, 0.0, 0.0, inf, inf))
    at = here[through_air]
    (x0, y0), (x1, y1) = before[through_air, :2].T, start[through_air, :2].T
    area[at], air[at] = (x0 * y1 - x1 * y0) / 2, np.hypot.reduce((start - before)[through_air], axis=1)
    # The chord of an arc is shorter than the arc, which only makes a way through the air look longer.
    area[there], cut_mm[there], low[there] = _areas(way), np.hypot.reduce(end - start, axis=1), end[:, 2]
    level = goes_across(way) & ~(np.abs(way.end[:, 2] - way.start[:, 2]) > _SAME_MM)
    flat[there] = np.where(level, end[:, 2], inf)
    is_start = np.zeros(count, np.bool_)
    is_start[here[begins]] = True
    kept = np.flatnonzero(is_start | _has_another_near(point, np.cumsum(is_start)))
    group = np.concatenate(([0], kept[:-1] + 1))
    sums = (np.add.reduceat(column, group).tolist() for column in (area, air, cut_mm))
    least = (np.minimum.reduceat(column, group).tolist() for column in (low, flat))
    points = zip(*point[kept].T.tolist(), strict=True)
    return map(_Place, points, row[group].tolist(), row[kept].tolist(), *sums, *least), is_start[kept].tolist()


def _has_another_near(point: Floats, owner: Index) -> Flags:
    """Return which places may be one with another one of the same walk: it lies in a cell that they reach."""
    cells = [np.floor((point + sign * np.array(_NEAR_MM)) / _CELL_MM).astype(np.int64) for sign in (0, -1, 1)]

    def key(along: tuple[int, ...]) -> Index:
        # Two cells may share a number by chance; a place is looked up more often then, and no more.
        x, y, z = (cells[which][:, axis] for axis, which in enumerate(along))
        return np.asarray(((owner * _PRIME + x) * _PRIME + y) * _PRIME + z)

    own = key((0, 0, 0))
    filled, at, count = np.unique(own, return_inverse=True, return_counts=True)
    near: Flags = count[at] > 1
    for along in product((1, 2), repeat=3):
        other = key(along)
        found = np.minimum(np.searchsorted(filled, other), len(filled) - 1)
        near |= (other != own) & (filled[found] == other)
    return near


def _that_turn_back(path: Path, cut: Index, begins: Flags) -> tuple[Index, Flags]:
    """Leave out the ways that cannot close: without an arc they have to go to and fro in X and in Y."""
    if not len(cut):
        return cut, begins
    owner = np.cumsum(begins) - 1
    before = np.where(begins[:, None], path.start[cut, :2], np.roll(path.end[cut, :2], 1, axis=0))
    steps = np.stack((path.start[cut, :2] - before, path.end[cut, :2] - path.start[cut, :2]))
    closes = np.bincount(owner, path.is_arc[cut]) > 0
    there, back = (
        [np.bincount(owner, (sign * steps[:, :, axis] > 0).any(axis=0)) > 0 for axis in (0, 1)] for sign in (1, -1)
    )
    closes |= there[0] & there[1] & back[0] & back[1]
    return cut[closes[owner]], begins[closes[owner]]


@dataclass(slots=True)
class _Place:
    """A place of a walk, and the way to it: its first and last row, area, lengths, lowest height, lowest level cut."""

    point: Point
    first: int
    last: int
    area_mm2: float
    air_mm: float
    cut_mm: float
    low: float
    flat: float


class _Walk:
    """A way without the loops that it has closed already."""

    def __init__(self) -> None:
        self.places: list[_Place] = []
        self._at: dict[tuple[int, ...], list[_Place]] = {}

    def begin(self, place: _Place) -> None:
        """Stand at a place where nobody was before."""
        self.places.append(place)
        self._at.setdefault(tuple(floor(v / _CELL_MM) for v in place.point), []).append(place)

    def go(self, place: _Place) -> tuple[LoopRows, float, float] | None:
        """Go on to a place; return the loop that this closes, with its lengths, if it is one."""
        corner = self._here_before(place.point)
        if corner is None:
            self.begin(place)
            return None
        way = [place]
        while self.places[-1] is not corner:
            gone = self.places.pop()
            self._at[tuple(floor(v / _CELL_MM) for v in gone.point)].remove(gone)
            way.append(gone)
        low, level = min(each.low for each in way), corner.point[2]
        # A larger loop that comes through this corner was as low as the smaller one.
        corner.low = min(corner.low, low)
        if low < level - _SAME_MM or min(each.flat for each in way) > level + _SAME_MM:
            return None
        loop = LoopRows(way[-1].first, place.last, sum(each.area_mm2 for each in way))
        return loop, sum(each.air_mm for each in way), sum(each.cut_mm for each in way)

    def _here_before(self, point: Point) -> _Place | None:
        spans = [
            range(floor((v - near) / _CELL_MM), floor((v + near) / _CELL_MM) + 1)
            for v, near in zip(point, _NEAR_MM, strict=True)
        ]
        for cell in product(*spans):
            for place in self._at.get(cell, ()):
                if all(abs(a - b) <= near for a, b, near in zip(place.point, point, _NEAR_MM, strict=True)):
                    return place
        return None
