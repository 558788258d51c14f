"""Closed contours in what a program cuts: where the tool comes back to where it was, without leaving the wood.

A contour lies at one level, with rises over tabs in between; lead-ins, links and ramps lie outside of it. Mirrored, it
runs the other way round, so that climb milling becomes conventional.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path

__all__ = ["Contour", "ContourCount", "find_contours"]

Floats = NDArray[np.float64]
Index = NDArray[np.int64]

_POINT_MM = 1e-3
"""Places closer than this are one; ours: the last decimal of most programs."""
_LEVEL_MM = 1e-6
_LEAST_AREA_MM2 = 0.02
"""Smaller loops are noise of ramps; ours: a circle of 0.16 mm."""
_MOST_ROWS = 200_000
"""Motions of one stretch without a traverse that are looked at together; ours, against programs that are one."""
_XY = 2


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


@dataclass(slots=True)
class ContourCount:
    """Counts the contours of a program, chunk after chunk, in bounded memory.

    Attributes
    ----------
    lines : list of pair of int
        First and last line of each contour.
    """

    lines: list[tuple[int, int]] = field(default_factory=list)
    _waiting: list[Path] = field(default_factory=list)

    def add(self, path: Path) -> None:
        """Look at the next motions."""
        if not len(path):
            return
        # What has been fed since the last traverse may go on in the next chunk.
        rapid = np.flatnonzero(~path.is_cut)
        if not rapid.size:
            self._waiting.append(path)
            if sum(map(len, self._waiting)) > _MOST_ROWS:
                self.finish()
            return
        last = int(rapid[-1]) + 1
        self._waiting.append(path.take(slice(0, last)))
        self.finish()
        if last < len(path):
            self._waiting.append(path.take(slice(last, len(path))))

    def finish(self) -> None:
        """Look at what waits for more."""
        if self._waiting:
            found = find_contours(Path.concatenate(self._waiting))
            self.lines += [(each.first_line, each.last_line) for each in found]
            self._waiting.clear()


def find_contours(path: Path) -> list[Contour]:
    """Return the closed contours of a path, in the order they are cut.

    Where a contour is run several times without leaving it, or contours touch, the longest stretch that closes is
    one.
    """
    fed = path.is_cut & (path.cycle == 0)
    fed &= ~np.isnan(path.start).any(axis=1)
    if fed.sum() < 1:
        return []
    behind, order = _next_visits(path, fed)
    candidates = np.flatnonzero(behind > np.arange(len(behind)))
    if not candidates.size:
        return []
    area = np.concatenate(([0.0], np.cumsum(_area_terms(path, fed))))
    found: list[Contour] = []
    stop = 0
    for row in candidates.tolist():
        last = int(behind[row]) - 1
        if row < stop or last < row:
            continue
        enclosed = float(area[last + 1] - area[row])
        if abs(enclosed) < _LEAST_AREA_MM2:
            last, enclosed = _shorter(order, area, row)
            if last < row:
                continue
        if _closes(path, row, last) and _stays_up(path, row, last):
            found.append(Contour(row, last, int(path.line[row]), int(path.line[last]), enclosed))
            stop = last + 1
    return found


def _next_visits(path: Path, fed: NDArray[np.bool_]) -> tuple[Index, dict[int, list[int]]]:
    """Return for each row the row behind the last one of its stretch that ends where the row starts; else 0.

    Besides, the other visits of the same place, for rows with several.
    """
    count = len(path)
    starts_stretch = fed & ~np.r_[False, fed[:-1]]
    stretch = np.cumsum(starts_stretch)
    rows = np.flatnonzero(fed)
    # A stretch has one place more than motions: the start of its first one.
    first = np.flatnonzero(starts_stretch)
    place = np.concatenate((path.start[first], path.end[rows]))
    visit = np.concatenate((first, rows + 1))
    owner = np.concatenate((stretch[first], stretch[rows]))
    grid = np.rint(place / _POINT_MM).astype(np.int64)
    key = ((owner * 1_000_003 + grid[:, 0]) * 1_000_003 + grid[:, 1]) * 1_000_003 + grid[:, 2]
    sort = np.lexsort((visit, key))
    key, visit = key[sort], visit[sort]
    behind = np.zeros(count + 1, np.int64)
    same = np.flatnonzero(key[1:] == key[:-1])
    others: dict[int, list[int]] = {}
    if same.size:
        group_end = np.r_[np.flatnonzero(key[1:] != key[:-1]), len(key) - 1]
        end_of = group_end[np.searchsorted(group_end, same)]
        behind[visit[same]] = visit[end_of]
        for at, end in zip(same.tolist(), end_of.tolist(), strict=True):
            if end > at + 1:
                others[int(visit[at])] = visit[at + 1 : end].tolist()
    return behind, others


def _shorter(order: dict[int, list[int]], area: Floats, row: int) -> tuple[int, float]:
    """Return the longest stretch back to a place that encloses something, of those that are shorter."""
    for stop in reversed(order.get(row, [])):
        enclosed = float(area[stop] - area[row])
        if abs(enclosed) >= _LEAST_AREA_MM2:
            return stop - 1, enclosed
    return -1, 0.0


def _area_terms(path: Path, fed: NDArray[np.bool_]) -> Floats:
    """Return what each motion adds to the area enclosed, by the trapezoids and circular segments under it."""
    (x0, y0), (x1, y1) = path.start[:, :2].T, path.end[:, :2].T
    term = (x0 * y1 - x1 * y0) / 2
    arcs = np.flatnonzero(path.is_arc & (path.normal == _XY))
    if arcs.size:
        spoke = path.start[arcs, :2] - path.centre[arcs, :2]
        radius = np.hypot(spoke[:, 0], spoke[:, 1])
        sweep = np.radians(path.sweep_deg[arcs])
        term[arcs] += radius**2 * (sweep - np.sin(sweep)) / 2
    return np.where(fed, np.nan_to_num(term), 0.0)


def _closes(path: Path, first: int, last: int) -> bool:
    """Return whether two rows meet: places were compared by a number that two places may share."""
    return bool((np.abs(path.start[first] - path.end[last]) <= _POINT_MM).all())


def _stays_up(path: Path, first: int, last: int) -> bool:
    """Return whether nothing between goes deeper than where a contour starts, and something is cut there."""
    level = path.start[first, 2]
    z0, z1 = path.start[first : last + 1, 2], path.end[first : last + 1, 2]
    across = (path.end[first : last + 1, :2] != path.start[first : last + 1, :2]).any(axis=1)
    flat = (across | path.is_arc[first : last + 1]) & (z0 == z1) & (np.abs(z1 - level) <= _LEVEL_MM)
    return bool(z1.min() >= level - _LEVEL_MM and flat.any())
