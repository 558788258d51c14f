"""How deep a program bites: the largest depth of wood that the cutter meets at once.

While a program cuts a surface, the heights before and after are compared, in portions that begin where the program goes
down to a new level: what a portion takes from a cell is then what one motion takes. Where it takes more than was found
so far, the cell is looked at closely: the motions that come over it, in their order, each against what those before it
left. So nothing is cut twice but where one portion holds several levels.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.surface import Surface, is_known
from flipreg.path import Path
from flipreg.stock.sections.below import plan_box
from flipreg.stock.sections.section import SectionCut
from flipreg.stock.sections.ways import Ways

__all__ = ["Bite", "BiteMeter", "Bitten"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Bools = NDArray[np.bool_]

_FINER_MM = 0.05
"""Bites that differ by less are as deep; millimetres (chosen)."""
_TAKES_MM = 0.02
"""A motion that lowers a cell by less takes nothing there; millimetres (chosen)."""
_LEVEL_MM = 0.5
"""A portion ends where the program goes deeper by this; millimetres (chosen)."""
_MOTIONS = 65_536
"""Motions that are looked at at a time (chosen)."""
_PORTIONS = 200_000
"""So many motions, shared out, are the most portions of one look; at least 4, at most 64 (chosen)."""
_EFFORT = 6_000_000
"""Cells times motions that are looked at closely in a program, at most (chosen): a fraction of a second."""
_FEWEST = 1_000
"""Motions that a look at a cell costs at least (chosen), for the calls."""
_SHARE = 8
"""A portion may spend this part of what is left of that (chosen)."""
_LATTICE = 3.0
"""Cells are compared this many to a cutter's radius (chosen)."""


@dataclass(frozen=True, slots=True)
class Bite:
    """The deepest bite of a program with one tool.

    Attributes
    ----------
    depth_mm : float
        From the highest wood that the cutter meets down to its tip, or to the other face's cut if that is higher.
    line : int
        Line of the motion.
    at_mm : (x, y)
        Where, in the frame of the section.
    """

    depth_mm: float
    line: int
    at_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Bitten:
    """What one stretch of a program with one cutter takes.

    Attributes
    ----------
    cut : SectionCut
        The stretch.
    bite : Bite or None
        Its deepest bite; None where it takes nothing.
    taken_mm3 : float
        How much wood it takes, as far as the maps go.
    """

    cut: SectionCut
    bite: Bite | None
    taken_mm3: float


class BiteMeter:
    """Cuts a surface with a program, and measures how deep it bites and how much it takes.

    Parameters
    ----------
    surface : Surface
        The face as all programs before left it; it is cut.
    cut : SectionCut
        The program.
    other : Surface
        The other face, in its own Z, on the same grid: the wood ends there.
    thickness_mm : float
        Of the blank.
    """

    def __init__(self, surface: Surface, cut: SectionCut, other: Surface, thickness_mm: float) -> None:
        self._surface, self._cut = surface, cut
        self._other, self._thickness = other, np.float32(thickness_mm)
        self._every = max(1, int(cut.cutter.radius_mm / (_LATTICE * surface.grid.step_mm)))
        self._lowest = 0.0
        self._effort = _EFFORT
        self.bite: Bite | None = None
        self.taken_mm3 = 0.0

    def cut(self, first: int, end: int) -> None:
        """Cut with the motions from one row up to another, in order; all before are cut."""
        for begin in range(first, end, _MOTIONS):
            path = self._cut.path.take(slice(begin, min(end, begin + _MOTIONS)))
            ends = [*self._levels(path), len(path)]
            for start, stop in zip([0, *ends[:-1]], ends, strict=True):
                self._portion(path.take(slice(start, stop)))

    @property
    def _depth_mm(self) -> float:
        return 0.0 if self.bite is None else self.bite.depth_mm

    def _levels(self, path: Path) -> list[int]:
        """Return the rows at which a program goes down to a new level."""
        z = np.where(is_known(path) & path.is_cut, np.minimum(path.start[:, 2], path.end[:, 2]), np.inf)
        above = path.end[:, 2] >= 0.0
        most = max(4, min(64, _PORTIONS // max(1, len(path))))
        # After every retract levels begin anew, unless that makes too many.
        fresh = np.concatenate([[False], above[:-1]])
        found, lowest = _drops(z, fresh, self._lowest, _LEVEL_MM)
        step_mm = _LEVEL_MM
        if len(found) > most:
            found, lowest = _drops(z, np.zeros_like(fresh), self._lowest, step_mm)
        while len(found) > most:
            step_mm *= 2.0
            found, lowest = _drops(z, np.zeros_like(fresh), self._lowest, step_mm)
        self._lowest = lowest
        return [row for row in found if row]

    def _portion(self, path: Path) -> None:
        """Cut with some motions, and look closely where they take more than any before."""
        surface = self._surface
        window = _window(path, surface.grid, self._cut.cutter.radius_mm, self._every)
        if window is None:
            surface.cut(path, self._cut.cutter)
            return
        before = surface.heights_mm[window].copy()
        surface.cut(path, self._cut.cutter)
        under = -self._thickness - self._other.heights_mm[window]
        taken = np.maximum(before, under) - np.maximum(surface.heights_mm[window], under)
        if not taken.size:
            return
        self.taken_mm3 += float(taken.sum(dtype=np.float64)) * surface.grid.cell_mm2 * self._every**2
        most = float(taken.max())
        if most <= self._depth_mm + _FINER_MM:
            return
        ways = Ways.of(path)
        effort = max(len(ways.line), _FEWEST)
        cells = _in_turn(taken, self._depth_mm + _FINER_MM, 1 + self._effort // _SHARE // effort)
        for row, column in zip(*np.unravel_index(cells, taken.shape), strict=True):
            at = window[0].start + int(row) * self._every, window[1].start + int(column) * self._every
            x_mm = surface.grid.x_mm + at[1] * surface.grid.step_mm
            y_mm = surface.grid.y_mm + at[0] * surface.grid.step_mm
            self._effort -= effort
            self._at(ways, (x_mm, y_mm), float(before[row, column]), float(under[row, column]))
            if self._depth_mm >= most - _FINER_MM:
                return

    def _at(self, ways: Ways, at_mm: tuple[float, float], before_mm: float, under_mm: float) -> None:
        """Take down the deepest bite at a point, if it is the deepest so far."""
        away, tip = ways.over(at_mm)
        near = np.flatnonzero(away <= self._cut.cutter.radius_mm)
        if not near.size:
            return
        tip = tip[near]
        height = tip + self._cut.cutter.profile(away[near])
        met = np.minimum.accumulate(np.concatenate([[before_mm], height[:-1]]))
        bite = np.where(ways.is_cut[near] & (height < met - _TAKES_MM), met - np.maximum(tip, under_mm), 0.0)
        deepest = int(bite.argmax())
        if bite[deepest] > self._depth_mm:
            self.bite = Bite(float(bite[deepest]), int(ways.line[near[deepest]]), at_mm)


def _drops(z: Floats, fresh: Bools, lowest: float, step_mm: float) -> tuple[list[int], float]:
    """Return the rows that go deeper by a step than the last such row, and the lowest Z at the end.

    `lowest` is that of what came before; where `fresh` is set, all before is forgotten.
    """
    found = []
    group = np.cumsum(fresh)
    span = 1.0 + 2.0 * float(np.abs(z[np.isfinite(z)]).max(initial=abs(lowest)))
    # A running minimum that starts again with each group, by an offset that falls.
    offset = -span * group
    first = np.where(group == 0, lowest, 0.0)
    level = np.minimum.accumulate(np.where(np.isfinite(z), np.minimum(z, first), first) + offset) - offset
    level = np.minimum(level, first)
    lower = np.flatnonzero(level < np.concatenate([[lowest], np.where(fresh[1:], 0.0, level[:-1])]))
    last, begun = 0, lowest
    for row, mine, height in zip(lower.tolist(), group[lower].tolist(), level[lower].tolist(), strict=True):
        if mine != last:
            last, begun = mine, 0.0
        if height < begun - step_mm:
            found.append(row)
            begun = height
    return found, float(level[-1]) if len(level) else lowest


def _window(path: Path, grid: Grid, radius_mm: float, every: int) -> tuple[slice, slice] | None:
    """Return rows and columns of the lattice of cells that motions may come over; None where they come over none."""
    box = plan_box(path)
    if box is None:
        return None
    low, high = box[0] - radius_mm, box[1] + radius_mm
    first = np.array([grid.x_mm, grid.y_mm])
    begin = np.maximum(np.ceil((low - first) / grid.step_mm), 0.0)
    stop = np.minimum(np.floor((high - first) / grid.step_mm) + 1.0, [grid.shape[1], grid.shape[0]])
    if bool((stop <= begin).any()):
        return None
    # The same cells in every portion, wherever its window begins.
    start = (np.ceil(begin / every) * every).astype(np.intp).tolist()
    end = stop.astype(np.intp).tolist()
    return slice(start[1], max(start[1], end[1]), every), slice(start[0], max(start[0], end[0]), every)


def _in_turn(taken: Singles, over_mm: float, most: int) -> NDArray[np.intp]:
    """Return the cells to look at: the one of which most is taken, then others, spread over all that may be deeper."""
    flat = taken.ravel()
    some = np.flatnonzero(flat > over_mm)
    spread = some[np.linspace(0, len(some) - 1, min(most, len(some))).astype(np.intp)]
    return np.concatenate([[int(flat.argmax())], spread[np.argsort(-flat[spread], kind="stable")]])
