"""How deep the middle of the cutter has been at each place: the proof's own ground, laid out in square cells.

The rewriter plans its levels on a ground with code of its own. Both have to mean the same by one place, so the size of
a cell is the same; what is cut, and what a motion finds, is worked out here a second time.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Kind, Path

__all__ = ["GroundCells", "MotionPlaces", "goes_across", "goes_straight_up", "is_fed", "places_along", "stroke_ranges"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]

_CELL_MM = 0.25
_MOST_CELLS, _MOST_PLACES = 2000, 3_000_000
"""Cells, along each axis, and places: a program that is larger or longer gets larger cells (chosen), for memory."""
_SAME_MM = 1e-6


@dataclass(frozen=True, eq=False, slots=True)
class MotionPlaces:
    """Places along motions: both ends of each, and between them no farther apart in X and Y than a cell.

    Attributes
    ----------
    points_mm : array, shape (n, 3)
    row : int array, shape (n,)
        The motion each place belongs to, ascending. Motions from, to or round an unknown place have none.
    """

    points_mm: Floats
    row: Rows

    def of(self, first: int, stop: int) -> slice:
        """Return which places belong to motions from `first` on, up to but without `stop`."""
        low, high = np.searchsorted(self.row, [first, stop]).tolist()
        return slice(low, high)


class GroundCells:
    """The ground under a program: wood up to its surface, until a cut comes by.

    Parameters
    ----------
    path : Path
        All motions; nothing is cut yet.
    places : MotionPlaces
        Their places.
    top_mm : float
        Height of the surface.
    """

    def __init__(self, path: Path, places: MotionPlaces, top_mm: float) -> None:
        ends = np.concatenate((path.start[:, :2], path.end[:, :2], places.points_mm[:, :2]))
        ends = ends[~np.isnan(ends).any(axis=1)]
        self._cell_mm = _cell_mm(path)
        self._low = ends.min(axis=0) if len(ends) else np.zeros(2)
        high = ends.max(axis=0) if len(ends) else np.zeros(2)
        # An edge of two cells all round: from the inner one a place outside sees nothing that is cut.
        self._count = np.floor((high - self._low) / self._cell_mm).astype(np.intp) + 1
        self._height = np.full(self._count + 4, top_mm)

    def cut(self, points_mm: Floats) -> None:
        """Lower the ground to places, shape (n, 3)."""
        np.minimum.at(self._height, self.cells(points_mm), points_mm[:, 2])

    def found_at(self, points_mm: Floats) -> Floats:
        """Return the ground at places, shape (n,): the lowest of the nine cells around each."""
        along, across = self.cells(points_mm)
        nine = [self._height[along + i, across + j] for i in (-1, 0, 1) for j in (-1, 0, 1)]
        return np.asarray(np.min(nine, axis=0))

    def cells(self, points_mm: Floats) -> tuple[Rows, Rows]:
        """Return the cell of each place, along X and along Y."""
        cells = np.floor((points_mm[:, :2] - self._low) / self._cell_mm)
        inside = np.clip(cells, -1, self._count).astype(np.intp) + 2
        return inside[:, 0], inside[:, 1]

    def nothing(self) -> Floats:
        """Return a zero for each cell."""
        return np.zeros(self._height.shape)


def places_along(path: Path) -> MotionPlaces:
    """Return places along all motions of a program."""
    unknown = (np.isnan(path.start) | np.isnan(path.end)).any(axis=1)
    unknown |= path.is_arc & np.isnan(path.centre).any(axis=1)
    rows = np.flatnonzero(~unknown)
    own = path.take(rows)
    lengths = np.hypot(*(own.end - own.start)[:, :2].T)
    radius = np.hypot.reduce(np.nan_to_num(own.start - own.centre), axis=1)
    lengths = np.where(own.is_arc, radius * np.radians(np.abs(own.sweep_deg)), lengths)
    count = np.maximum(np.ceil(lengths / _cell_mm(path)), 1).astype(np.intp) + 1
    motion = np.repeat(np.arange(len(own)), count)
    number = np.arange(len(motion)) - np.repeat(np.cumsum(count) - count, count)
    share = (number / (count[motion] - 1))[:, None]
    points = own.start[motion] + share * (own.end - own.start)[motion]
    for normal in (0, 1, 2):
        on = np.flatnonzero((own.is_arc & (own.normal == normal))[motion])
        points[on] = _on_arcs(own.take(motion[on]), share[on], normal)
    # An end is the end as given, not one that was worked out.
    points = np.where(share == 1.0, own.end[motion], points)
    return MotionPlaces(points, rows[motion])


def _on_arcs(arcs: Path, share: Floats, normal: int) -> Floats:
    """Return the place on each arc after a share of its sweep; its radius and height go evenly from start to end."""
    plane = [(normal + 1) % 3, (normal + 2) % 3]
    spoke, other = (points[:, plane] - arcs.centre[:, plane] for points in (arcs.start, arcs.end))
    radius, end_radius = (np.hypot(*offset.T)[:, None] for offset in (spoke, other))
    turn = np.radians(arcs.sweep_deg)[:, None] * share + np.arctan2(spoke[:, 1], spoke[:, 0])[:, None]
    points = arcs.start + share * (arcs.end - arcs.start)
    points[:, plane] = arcs.centre[:, plane] + (radius + share * (end_radius - radius)) * np.hstack(
        (np.cos(turn), np.sin(turn))
    )
    return points


def _cell_mm(path: Path) -> float:
    ends = np.concatenate((path.start[:, :2], path.end[:, :2]))
    ends = ends[~np.isnan(ends).any(axis=1)]
    extent = float(np.ptp(ends, axis=0).max()) if len(ends) else 0.0
    length = float(np.nansum(np.hypot(*(path.end - path.start)[:, :2].T)))
    return max(_CELL_MM, extent / _MOST_CELLS, length / _MOST_PLACES)


def is_fed(path: Path) -> Flags:
    """Return which motions are fed, so that they cut where there is wood."""
    return np.not_equal(path.kind, Kind.RAPID)


def goes_across(path: Path) -> Flags:
    """Return which motions are not straight up or down."""
    across: Flags = (np.abs(path.end[:, :2] - path.start[:, :2]) > _SAME_MM).any(axis=1) | path.is_arc
    return across


def goes_straight_up(path: Path) -> Flags:
    """Return which motions go straight up, or stay where they are."""
    start, end = path.start[:, :2], path.end[:, :2]
    # From where nobody knows to a place that is known is a way across.
    across = (np.abs(np.nan_to_num(end - start)) > _SAME_MM) | (np.isnan(start) & ~np.isnan(end))
    up: Flags = ~across.any(axis=1) & ~(path.end[:, 2] < path.start[:, 2])
    return up


def stroke_ranges(path: Path) -> list[range]:
    """Return the motions in strokes: those of one stroke meet the ground that was there before the first of them.

    A stroke ends with a cut that a traverse follows. It also ends where the tool goes down to cut at one height, lower
    than it did in the stroke so far: there it comes back to what the stroke left.
    """
    rise = path.end[:, 2] - path.start[:, 2]
    level = goes_across(path) & (np.abs(rise) <= _SAME_MM)
    goes_down = (is_fed(path) & ~level & (rise < 0)).tolist()
    begins = [0] if len(path) else []
    lowest = np.inf
    columns = zip(is_fed(path).tolist(), level.tolist(), path.end[:, 2].tolist(), strict=True)
    was_cut = False
    for row, (is_cut, is_level, height) in enumerate(columns):
        if was_cut and not is_cut:
            begins.append(row)
            lowest = np.inf
        elif is_cut and is_level and height < lowest - _SAME_MM:
            if lowest < np.inf:
                first = row
                while goes_down[first - 1]:
                    first -= 1
                begins.append(first)
            lowest = height
        was_cut = is_cut
    return [range(first, stop) for first, stop in pairwise([*begins, len(path)])]
