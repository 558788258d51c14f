"""What a pass finds under it once the floor is moved: ground that other passes made, or wood that nobody has cut.

A pass may cut where no pass above it did. There its first level has to be held to the surface, not to the level
above.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.ground import Bites, Ground, sample
from flipreg.path import Path
from flipreg.rewrite.floor.passes import SAME_LEVEL_MM, Pass

__all__ = ["FloorMove", "LevelCuts", "Under", "ground_under"]


@dataclass(frozen=True, slots=True)
class FloorMove:
    """How a floor is moved, in millimetres: from where, to where, and how deep a cut may bite at once.

    Attributes
    ----------
    was_mm, floor_mm, top_mm : float
    asked_mm : float or None
        The step-down that was asked for. Without one a cut may bite as deep as the source itself does at the place.
    """

    was_mm: float
    floor_mm: float
    top_mm: float
    asked_mm: float | None


@dataclass(frozen=True, slots=True)
class Under:
    """What is under a pass of the floor.

    Attributes
    ----------
    first_mm : float
        The lowest that its first level may be.
    line : int
        The line that makes it so.
    entry_mm : float
        The ground where it comes down: where its ramp begins, or its cut.
    plunge_mm : float
        How far the source plunges into wood to where its ramp begins; 0 without a ramp.
    is_cut_through : bool
        The pass goes at its level over the place where it comes down.
    bare_line : int or None
        A line that would bite into wood where the source, whose step-down is to be kept, bites nothing.
    step_mm, limit_mm : float or None
        How far a pass that stays would step down there, and how far it may, if that is too far; None for one that is
        moved, and if not.
    """

    first_mm: float
    line: int
    entry_mm: float
    plunge_mm: float = 0.0
    is_cut_through: bool = True
    bare_line: int | None = None
    step_mm: float | None = None
    limit_mm: float | None = None


class LevelCuts:
    """The places that passes cut at one height, and how deep the source bites there.

    Parameters
    ----------
    path : Path
        All motions of the source.
    top_mm : float
        Height of the wood's surface.
    """

    def __init__(self, path: Path, top_mm: float) -> None:
        self.samples = sample(path)
        self.bites = Bites(path, top_mm)
        self.cut = path.is_cut[self.samples.row]
        self.across = (np.abs(path.end[:, :2] - path.start[:, :2]) > SAME_LEVEL_MM).any(axis=1) | path.is_arc
        self._flat = path.is_cut & self.across & (np.abs(path.end[:, 2] - path.start[:, 2]) <= SAME_LEVEL_MM)

    def of(self, each: Pass) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
        """Return places that a pass cuts at one height, or where it is deepest if it only plunges; and their rows."""
        inside = self.samples.between(each.cut, each.last + 1)
        points, row = self.samples.points_mm[inside], self.samples.row[inside]
        flat = self._flat[row]
        wanted = flat if flat.any() else self.cut[inside] & (points[:, 2] - each.level_mm <= SAME_LEVEL_MM)
        return points[wanted], row[wanted]

    def bite_mm(self, each: Pass) -> float:
        """Return the least of the largest bites along a pass's level; infinite if there is none.

        Where nothing is ever bitten there was room already, such as beside a roughing pass a finishing one away.
        """
        points, _ = self.of(each)
        bites = self.bites.largest_mm(points[points[:, 2] - each.level_mm <= SAME_LEVEL_MM])
        return float(bites[bites > SAME_LEVEL_MM].min(initial=np.inf))


def ground_under(
    cuts: LevelCuts, path: Path, passes: Sequence[Pass], fates: tuple[Collection[int], Collection[int]], way: FloorMove
) -> Iterator[tuple[int, Under]]:
    """Yield what is under each pass that is moved or stays, with its place in the order of the program.

    Parameters
    ----------
    cuts : LevelCuts
        What the source cuts at one height.
    path : Path
        All motions of the source.
    passes : sequence of Pass
        All passes.
    fates : pair of collections of int
        The places of those at the floor, and of those that are left out.
    way : FloorMove
        How the floor is moved.
    """
    walk = _Walk(cuts, path, way)
    moved, dropped = fates
    for index, each in enumerate(passes):
        walk.keep_until(each.first)
        if index in moved:
            yield index, walk.under(each)
            walk.move(each)
        elif index in dropped:
            walk.drop(each)
        else:
            yield index, walk.under_kept(each)


class _Walk:
    """The ground of the source and of the new program, cut motion by motion."""

    def __init__(self, cuts: LevelCuts, path: Path, way: FloorMove) -> None:
        self._cuts, self._path, self._way = cuts, path, way
        self._new, self._own = Ground(path, way.top_mm), Ground(path, way.top_mm)
        self._row = self._own_row = 0

    def keep_until(self, row: int) -> None:
        """Cut what stays as it is."""
        self._new.cut(self._points(self._row, row))
        self._row = row

    def drop(self, each: Pass) -> None:
        """Leave a pass out."""
        self._row = each.last + 1

    def move(self, each: Pass) -> None:
        """Cut a pass at the floor."""
        way = self._way
        entry, own = self._points(each.first, each.cut), self._points(each.cut, each.last + 1)
        at_floor = np.abs(own[:, 2] - way.was_mm) <= SAME_LEVEL_MM
        # The way down is moved or not, as it needs; what is cut in both cases is cut.
        for points, z in (
            (entry, np.maximum(entry[:, 2], entry[:, 2] + (way.floor_mm - way.was_mm))),
            (own, np.where(at_floor, way.floor_mm, np.maximum(own[:, 2], way.floor_mm))),
        ):
            self._new.cut(np.column_stack((points[:, :2], z)))
        self._row = each.last + 1

    def under(self, each: Pass) -> Under:
        """Return what is under a pass before it is cut."""
        way = self._way
        rows = range(each.first, each.cut + 1)
        down = next((row for row in rows if self._path.is_cut[row] and self._cuts.across[row]), each.cut)
        start = self._path.start[down : down + 1]
        entry_mm = float(self._new.heights(start)[0])
        plunge_mm = self._plunge_mm(each, start) if down < each.cut else 0.0
        points, row = self._cuts.of(each)
        at_floor = points[np.abs(points[:, 2] - way.was_mm) <= SAME_LEVEL_MM]
        is_cut_through = self._new.are_near(start, at_floor)
        ground, bites = self._new.heights(points), self._cuts.bites.largest_mm(points)
        lowest = ground - (bites if way.asked_mm is None else way.asked_mm)
        # Above the top of a tab nothing is cut deeper by a lower level.
        tab = points[:, 2] - way.was_mm > SAME_LEVEL_MM
        bare = row[~tab & (bites <= SAME_LEVEL_MM) & (ground > way.floor_mm + SAME_LEVEL_MM)]
        bare_line = int(self._path.line[bare[0]]) if bare.size and way.asked_mm is None else None
        lowest[tab & (points[:, 2] >= lowest - SAME_LEVEL_MM)] = -np.inf
        if not len(lowest):
            return Under(-np.inf, int(self._path.line[each.cut]), entry_mm, plunge_mm, is_cut_through)
        worst = int(np.argmax(lowest))
        line = int(self._path.line[row[worst]])
        return Under(float(lowest[worst]), line, entry_mm, plunge_mm, is_cut_through, bare_line)

    def under_kept(self, each: Pass) -> Under:
        """Return what is under a pass that stays, and whether it would step down too far now."""
        points, row = self._cuts.of(each)
        new = self._new.heights(points) - points[:, 2]
        limit = np.maximum(self._way.asked_mm or 0.0, self._cuts.bites.largest_mm(points))
        over = new - limit
        if not len(over) or over.max() <= SAME_LEVEL_MM:
            return Under(-np.inf, int(self._path.line[each.cut]), np.nan)
        worst = int(np.argmax(over))
        line, step_mm, limit_mm = int(self._path.line[row[worst]]), float(new[worst]), float(limit[worst])
        return Under(-np.inf, line, np.nan, step_mm=step_mm, limit_mm=limit_mm)

    def _plunge_mm(self, each: Pass, start: NDArray[np.float64]) -> float:
        """Return how deep in wood a ramp of the source starts."""
        self._own.cut(self._points(self._own_row, each.first))
        self._own_row = each.first
        return max(0.0, float(self._own.heights(start)[0] - start[0, 2]))

    def _points(self, first: int, stop: int) -> NDArray[np.float64]:
        inside = self._cuts.samples.between(first, stop)
        points: NDArray[np.float64] = self._cuts.samples.points_mm[inside][self._cuts.cut[inside]]
        return points
