"""Closed loops in what a program cuts, found by walking it place after place.

The rewriter finds its contours with code of its own; what is a closed loop is decided here a second time, from geometry
alone, plain rather than fast: one step of a walk for each motion.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from math import dist, floor, inf

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path
from flipreg.prove.ground import goes_across, is_fed

__all__ = ["Loop", "closed_loops", "enclosed_area_mm2", "lifted_loops", "loops_at_no_known_height"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Point = tuple[float, float, float]

_NEAR_MM = (1e-3, 1e-3, 1e-6)
"""Places are one if they are as near as this in X, Y and Z (chosen): the last decimal of most programs; noise."""
_CELL_MM = 0.01
"""Places are looked up by cells of this size (chosen), some times as large as what is one place."""
_SAME_MM = 1e-6
_LARGEST_AIR = 0.25
"""Ways through the air, as a part of what is cut, up to which pieces are surely one contour with tabs (chosen)."""
_XY = 2


@dataclass(frozen=True, slots=True)
class Loop:
    """A closed loop: the rows of its first and its last motion, and its area, counter-clockwise positive."""

    first: int
    last: int
    area_mm2: float


def closed_loops(path: Path, rows: Flags, *, least_mm2: float) -> list[Loop]:
    """Return the loops of consecutive cuts that come back to where they were, and were never lower in between.

    Parameters
    ----------
    path : Path
        Motions of a program.
    rows : bool array, shape (n,)
        Which of them to walk; a loop holds no others.
    least_mm2 : float
        Smaller loops are left out.

    Returns
    -------
    list of Loop
        None of them touches itself: a way that closes several times is as many loops.
    """
    known = ~(np.isnan(path.start) | np.isnan(path.end)).any(axis=1)
    return _consecutive(path, np.flatnonzero(rows & is_fed(path) & (path.cycle == 0) & known), least_mm2)


def loops_at_no_known_height(path: Path, rows: Flags, *, least_mm2: float) -> list[Loop]:
    """Return the loops of consecutive cuts whose height is not known, from start to end; see `closed_loops`."""
    unknown = np.isnan(path.start[:, 2]) & np.isnan(path.end[:, 2])
    known = ~(np.isnan(path.start[:, :2]) | np.isnan(path.end[:, :2])).any(axis=1)
    return _consecutive(path, np.flatnonzero(rows & is_fed(path) & (path.cycle == 0) & unknown & known), least_mm2)


def lifted_loops(path: Path, rows: Flags, *, least_mm2: float) -> list[Loop]:
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


def enclosed_area_mm2(path: Path) -> float:
    """Return the area that motions enclose, closed by a straight line, counter-clockwise positive."""
    (x0, y0), (x1, y1) = path.end[-1, :2], path.start[0, :2]
    return float(_areas(path).sum() + (x0 * y1 - x1 * y0) / 2)


def _consecutive(path: Path, cut: NDArray[np.intp], least_mm2: float) -> list[Loop]:
    if not len(cut):
        return []
    off = np.abs(np.nan_to_num(path.start[cut[1:]]) - np.nan_to_num(path.end[cut[:-1]])).max(axis=1)
    begins = np.concatenate(([True], (cut[1:] != cut[:-1] + 1) | (off > _SAME_MM)))
    return [loop for loop, _, _ in _walked(path, cut, begins, least_mm2)]


def _areas(path: Path) -> Floats:
    """Return the area that each motion sweeps seen from zero: a triangle, and the segment over the chord of an arc."""
    (x0, y0), (x1, y1) = path.start[:, :2].T, path.end[:, :2].T
    radius = np.hypot(x0 - path.centre[:, 0], y0 - path.centre[:, 1])
    turn = np.radians(path.sweep_deg)
    segment = radius**2 * (turn - np.sin(turn)) / 2
    return np.asarray((x0 * y1 - x1 * y0) / 2 + np.where(path.is_arc & (path.normal == _XY), segment, 0.0))


def _walked(
    path: Path, cut: NDArray[np.intp], begins: Flags, least_mm2: float
) -> Iterator[tuple[Loop, float, float]]:
    """Yield the loops of a walk over cuts, each with its lengths through the air and through the wood.

    The walk starts anew where a cut begins one; elsewhere it goes straight to the cut's start.
    """
    cut, begins = _that_turn_back(path, cut, begins)
    way = path.take(cut)
    start, end = ([(x, y, z) for x, y, z in np.nan_to_num(points).tolist()] for points in (way.start, way.end))
    level = goes_across(way) & ~(np.abs(way.end[:, 2] - way.start[:, 2]) > _SAME_MM)
    walk = _Walk()
    columns = zip(cut.tolist(), start, end, _areas(way).tolist(), level.tolist(), begins.tolist(), strict=True)
    for row, here, there, area, is_level, begins_one in columns:
        if begins_one:
            walk = _Walk()
            walk.begin(_Place(here, row))
        elif dist(here, walk.places[-1].point) > _SAME_MM:
            (x0, y0, _), (x1, y1, _) = walk.places[-1].point, here
            walk.go(_Place(here, row, (x0 * y1 - x1 * y0) / 2, air_mm=dist(walk.places[-1].point, here)))
        flat = there[2] if is_level else inf
        # The chord of an arc is shorter than the arc, which only makes a way through the air look longer.
        closed = walk.go(_Place(there, row, area, cut_mm=dist(here, there), low=there[2], flat=flat))
        if closed is not None and abs(closed[0].area_mm2) >= least_mm2:
            yield closed


def _that_turn_back(path: Path, cut: NDArray[np.intp], begins: Flags) -> tuple[NDArray[np.intp], Flags]:
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
    """A place of a walk, and the way to it: its row, area, lengths, lowest height and lowest level cut."""

    point: Point
    row: int
    area_mm2: float = 0.0
    air_mm: float = 0.0
    cut_mm: float = 0.0
    low: float = inf
    flat: float = inf


class _Walk:
    """A way without the loops that it has closed already."""

    def __init__(self) -> None:
        self.places: list[_Place] = []
        self._at: dict[tuple[int, ...], list[_Place]] = {}

    def begin(self, place: _Place) -> None:
        """Stand at a place where nobody was before."""
        self.places.append(place)
        self._at.setdefault(tuple(floor(v / _CELL_MM) for v in place.point), []).append(place)

    def go(self, place: _Place) -> tuple[Loop, float, float] | None:
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
        loop = Loop(way[-1].row, place.row, sum(each.area_mm2 for each in way))
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
