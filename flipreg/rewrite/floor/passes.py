"""The passes of a program: stretches between two descents, each with the level it is cut at.

A pass begins with the traverses that lead to it, goes on with the entry (a plunge, a ramp, a helix), and is cut at
one level; it may rise over tabs in between. A pass that is nothing but plunges has the level of its bottom.
Passes over the same place belong to one pocket (or slot, or profile); the deepest of them is its floor.
"""

from dataclasses import dataclass, field
from decimal import Decimal
from math import inf

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path

__all__ = ["SAME_LEVEL_MM", "Hole", "Pass", "Pocket", "exact_mm", "find_holes", "find_passes", "find_pockets"]

SAME_LEVEL_MM = 1e-6
"""Levels closer than this are one; far below any program's decimals."""

_EXACT = Decimal("1e-9")
_PADDING_MM = 0.1
"""Added around a pass, so that a single line and a single point have an area (chosen)."""
_SAME_PLACE = 0.5
"""Two passes whose boxes share this much of what they cover together are over the same place (chosen)."""
_XY = 2

Floats = NDArray[np.float64]
Box = tuple[float, float, float, float]
"""xmin, ymin, xmax, ymax in millimetres."""


@dataclass(frozen=True, slots=True)
class Pass:
    """One pass, as rows of the program's motions.

    Attributes
    ----------
    first, cut, last : int
        The first row (a traverse, or the descent), the first row at the level, and the last row.
    level_mm : float
        Where it is cut.
    inner_mm : tuple of float
        Other levels it is cut at in between: the tops of tabs.
    box_mm : tuple of four floats
        What is cut at the level and in between.
    """

    first: int
    cut: int
    last: int
    level_mm: float
    inner_mm: tuple[float, ...]
    box_mm: Box


@dataclass(frozen=True, slots=True)
class Pocket:
    """Passes over one place, in the order they are run."""

    passes: tuple[Pass, ...]

    @property
    def levels_mm(self) -> tuple[float, ...]:
        """The levels, from the top to the floor."""
        levels: list[float] = []
        for level in sorted((each.level_mm for each in self.passes), reverse=True):
            if not levels or levels[-1] - level > SAME_LEVEL_MM:
                levels.append(level)
        return tuple(levels)

    @property
    def floor_mm(self) -> float:
        """The deepest level."""
        return min(each.level_mm for each in self.passes)


@dataclass(frozen=True, slots=True)
class Hole:
    """One block of a canned cycle along Z: its line and the bottom of its hole."""

    line: int
    bottom_mm: float
    cycle: int


@dataclass(slots=True)
class _Walk:
    """The motions as lists, and the pass under way."""

    path: Path
    top_mm: float
    reach_mm: tuple[Floats, Floats]
    start_z: list[float]
    end_z: list[float]
    across: list[bool]
    fed: list[bool]
    found: list[Pass] = field(default_factory=list)

    def stroke(self, first: int, last: int) -> None:
        """Split the rows from one retract to the next into passes."""
        level, cut, inner = inf, -1, set[float]()
        # Where the way down began that is under way, and where the first did since the last cut at a level.
        descent = first_descent = -1
        for row in range(first, last + 1):
            if not self.fed[row]:
                continue
            here, there = self.start_z[row], self.end_z[row]
            if self.across[row] and abs(there - here) <= SAME_LEVEL_MM:
                if there >= self.top_mm:
                    continue
                if level - there > SAME_LEVEL_MM:
                    if cut >= 0:
                        begin = descent if descent >= 0 else first_descent
                        self._add(first, cut, begin - 1, (level, inner))
                        first, inner = begin, set()
                    level, cut = there, row
                elif there - level > SAME_LEVEL_MM:
                    inner.add(there)
                descent = first_descent = -1
            elif there > here:
                descent = -1
            elif descent < 0:
                descent = row
                first_descent = row if first_descent < 0 else first_descent
        if cut >= 0:
            self._add(first, cut, last, (level, inner))
        elif not any(self.across[row] for row in range(first, last + 1) if self.fed[row]):
            self._plunge(first, last)

    def _plunge(self, first: int, last: int) -> None:
        rows = [row for row in range(first, last + 1) if self.fed[row]]
        lowest = min(rows, key=lambda row: self.end_z[row])
        if self.end_z[lowest] < self.top_mm:
            self._add(first, lowest, last, (self.end_z[lowest], set()))

    def _add(self, first: int, cut: int, last: int, level: tuple[float, set[float]]) -> None:
        rows = np.flatnonzero(self.path.is_cut[cut : last + 1]) + cut
        # Unlike nanmin, this says nothing of a place that nobody knows.
        low = np.fmin.reduce(self.reach_mm[0][rows, :2], axis=0)
        high = np.fmax.reduce(self.reach_mm[1][rows, :2], axis=0)
        box = (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
        self.found.append(Pass(first, cut, last, level[0], tuple(sorted(level[1])), box))


def exact_mm(level_mm: float) -> Decimal:
    """Return a level as the decimal it was written as."""
    return Decimal(repr(level_mm)).quantize(_EXACT).normalize()


def find_passes(path: Path, top_mm: float) -> list[Pass]:
    """Return the passes of a program in the order they are run, canned cycles left out.

    Parameters
    ----------
    path : Path
        All motions of a program.
    top_mm : float
        Height of the wood's surface; what is fed at or above it is no pass.
    """
    z0, z1 = path.start[:, 2], path.end[:, 2]
    moved = np.hypot(*(path.end[:, :2] - path.start[:, :2]).T) > SAME_LEVEL_MM
    fed = path.is_cut & (path.cycle == 0)
    walk = _Walk(
        path,
        top_mm,
        path.bounds_mm(),
        z0.tolist(),
        z1.tolist(),
        (moved | path.is_arc).tolist(),
        fed.tolist(),
    )
    # A stroke begins at a traverse after a feed; canned cycles stand between strokes.
    in_stroke = fed | _crosses_a_tab(path, top_mm, moved, fed)
    rapid_after_feed = np.zeros(len(path) + 1, np.bool_)
    rapid_after_feed[1:-1] = ~in_stroke[1:] & in_stroke[:-1]
    in_cycle = path.cycle > 0
    begins = np.flatnonzero(rapid_after_feed[:-1] | np.r_[True, in_cycle[1:] != in_cycle[:-1]][: len(path)])
    ends = [*begins.tolist(), len(path)][1:]
    for first, after in zip(begins.tolist(), ends, strict=True):
        if not in_cycle[first] and any(walk.fed[first:after]):
            walk.stroke(first, after - 1)
    return walk.found


def _crosses_a_tab(path: Path, top_mm: float, moved: NDArray[np.bool_], fed: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the traverses straight up or down that do not leave the wood, between feeds: a tab is crossed there."""
    low = np.fmax(path.start[:, 2], path.end[:, 2]) < top_mm
    known = ~(np.isnan(path.start).any(axis=1) | np.isnan(path.end).any(axis=1))
    upright: NDArray[np.bool_] = ~path.is_cut & (path.cycle == 0) & known & ~moved & low
    rows = np.flatnonzero(upright)
    if not rows.size:
        return upright
    # A stretch of such traverses counts where it is fed before and after. The first motion of all starts anywhere.
    begins = np.flatnonzero(np.r_[True, np.diff(rows) > 1])
    for first, last in zip(rows[begins].tolist(), rows[np.r_[begins[1:] - 1, len(rows) - 1]].tolist(), strict=True):
        upright[first : last + 1] = last + 1 < len(path) and bool(fed[first - 1] and fed[last + 1])
    return upright


def find_pockets(passes: list[Pass]) -> list[Pocket]:
    """Return the passes by the place they are over, in the order of their first pass."""
    groups: list[list[Pass]] = []
    # The box of each group's last pass; a raster has as many groups as it has lines.
    boxes = np.empty((max(len(passes), 1), 4))
    for each in passes:
        shares = _shared(boxes[: len(groups)], np.array(each.box_mm))
        best = int(np.argmax(shares)) if groups else -1
        if best >= 0 and shares[best] >= _SAME_PLACE:
            groups[best].append(each)
        else:
            best = len(groups)
            groups.append([each])
        boxes[best] = each.box_mm
    return [Pocket(tuple(group)) for group in groups]


def _shared(boxes: Floats, box: Floats) -> Floats:
    """Return the area that boxes share with another one, by the area that they cover together."""
    low, high = boxes[:, :2], boxes[:, 2:] + _PADDING_MM
    own_low, own_high = box[:2], box[2:] + _PADDING_MM
    both = np.prod(np.maximum(0.0, np.minimum(high, own_high) - np.maximum(low, own_low)), axis=1)
    together = np.prod(high - low, axis=1) + np.prod(own_high - own_low) - both
    return np.asarray(np.nan_to_num(both / together))


def find_holes(path: Path) -> list[Hole]:
    """Return the blocks of canned cycles along Z with the bottoms of their holes."""
    rows = np.flatnonzero((path.cycle > 0) & (path.normal == _XY))
    if not rows.size:
        return []
    line, z = path.line[rows], path.end[rows, 2]
    first = np.flatnonzero(np.r_[True, line[1:] != line[:-1]])
    # Under G98 a cycle may return to a height that nobody knows.
    bottoms = np.fmin.reduceat(z, first)
    cycles = path.cycle[rows[first]]
    return [Hole(*each) for each in zip(line[first].tolist(), bottoms.tolist(), cycles.tolist(), strict=True)]
