"""Motions that meet wood they should not: traverses, descents too steep for the cutter, a drill fed sideways.

The programs of a setup run one after the other over one face; each motion in question is compared with the surface
that everything before it has left. The cutter is taken a hair slimmer for that, so that a traverse along the wall of
a slot that was cut before is no find.
"""

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.surface import Removed, Surface, is_known
from flipreg.job.tool import Tool, ToolShape
from flipreg.path import Path
from flipreg.stock.cutting.bite import BiteMeter
from flipreg.stock.cutting.steep import DEFAULT_RAMP_DEG, steep_descents
from flipreg.stock.sections.section import SectionCut

__all__ = ["Crash", "Misuse", "cut_watched", "first_plunge"]

Bools = NDArray[np.bool_]
Ints = NDArray[np.intp]

_SLIMMER_MM = 0.02
"""By how much the cutter is taken slimmer (chosen): above the chords' error, below what matters in wood."""
_DEEP_MM = 0.05
"""Wood that is less deep than this is no find; millimetres (chosen)."""
_LAYER_MM = 1.0
"""A slanting descent into less wood only takes off the layer that a rough left; steps smaller than this are looked at
together. Millimetres (chosen)."""
_STILL_MM = 1e-6
"""A motion that goes less far in XY is vertical; millimetres (chosen)."""


class Misuse(Enum):
    """What a motion does that it should not."""

    TRAVERSE = "traverse"
    """It goes through wood without feed."""
    PLUNGE = "plunge"
    """It goes down into wood more steeply than its cutter can."""
    SIDEWAYS = "sideways"
    """It feeds a drill sideways through wood."""


@dataclass(frozen=True, slots=True)
class Crash:
    """A motion that meets wood it should not.

    Attributes
    ----------
    misuse : Misuse
        What it is.
    line : int
        Line of the program.
    removed : Removed
        How deep it goes into wood, and where.
    """

    misuse: Misuse
    line: int
    removed: Removed


def cut_watched(surface: Surface, cut: SectionCut, meter: BiteMeter) -> list[Crash]:
    """Cut a surface with a program, and return the motions that meet wood they should not, in order.

    Parameters
    ----------
    surface : Surface
        The face as all programs before left it; it is cut.
    cut : SectionCut
        The program.
    meter : BiteMeter
        Cuts that surface, and measures how deep it bites.
    """
    first = _from_nowhere(surface, cut)
    asked = _in_question(cut.path, cut.tool)
    rows = np.flatnonzero(asked)
    if not rows.size:
        meter.cut(0, len(cut.path))
        return first
    watch = _Watch(surface, cut, meter)
    meter.cut(0, int(rows[0]))
    watch.cut(rows, len(cut.path))
    return [*first, *watch.found]


def _from_nowhere(surface: Surface, cut: SectionCut) -> list[Crash]:
    """Return the first traverse of a program if it comes from where nobody knows and its end lies in wood.

    However it came there, the cutter stands in the wood.
    """
    path = cut.path
    ends = np.isfinite(path.end).all(axis=1)
    if not bool(ends.any()):
        return []
    row = int(ends.argmax())
    begins_known = bool(np.isfinite(path.start[row]).all())
    if begins_known or path.is_cut[row] or not path.end[row, 2] < -_DEEP_MM:
        return []
    there = path.end[row : row + 1]
    removed = surface.removed_at(there, cut.cutter.slimmed(min(_SLIMMER_MM, cut.cutter.radius_mm / 4)))
    return [Crash(Misuse.TRAVERSE, int(path.line[row]), removed)] if removed.depth_mm > _DEEP_MM else []


class _Watch:
    """Cuts a surface and looks at the motions in question, many at once.

    A motion that takes nothing now takes nothing later, for surfaces only sink. So a whole group is looked at together
    before it is cut, and halved only where it would take something: traverses inside a pocket that is cleared are
    seen to be clear in one go, however many they are.
    """

    def __init__(self, surface: Surface, cut: SectionCut, meter: BiteMeter) -> None:
        self._surface = surface
        self._path = cut.path
        self._is_drill = cut.tool.shape is ToolShape.DRILL
        self._meter = meter
        slanted = cut.path.is_cut & ~_straight_down(cut.path) & (not self._is_drill)
        self._least_mm = np.where(slanted, _LAYER_MM, _DEEP_MM)
        drop = cut.path.start[:, 2] - cut.path.end[:, 2]
        self._is_small = cut.path.is_cut & (drop > 0.0) & (drop < _LAYER_MM)
        self._slim = cut.cutter.slimmed(min(_SLIMMER_MM, cut.cutter.radius_mm / 4))
        self.found: list[Crash] = []

    def _units(self, rows: Ints) -> Ints:
        """Return where in the rows another unit begins: a motion, or small steps of one way down together."""
        small = self._is_small[rows]
        goes_on = (np.diff(rows) == 1) & small[1:] & small[:-1]
        return np.flatnonzero(~goes_on) + 1

    def cut(self, rows: Ints, end: int) -> None:
        """Cut from the first of the rows in question up to a row; all before is cut."""
        first = int(rows[0])
        removed = self._surface.removed(self._path.take(rows), self._slim)
        if removed.depth_mm > self._least_mm[rows].min():
            units = self._units(rows)
            if units.size:
                middle = int(units[len(units) // 2])
                self.cut(rows[:middle], int(rows[middle]))
                self.cut(rows[middle:], end)
                return
            fed = Misuse.SIDEWAYS if self._is_drill else Misuse.PLUNGE
            misuse = fed if bool(self._path.is_cut[first]) else Misuse.TRAVERSE
            self.found.append(Crash(misuse, int(self._path.line[first]), removed))
        self._meter.cut(first, end)


def first_plunge(path: Path, tool: Tool) -> int | None:
    """Return the line of the first feed down to below the face that asks for a cutter that can plunge, or None."""
    below = is_known(path) & (path.end[:, 2] < -_DEEP_MM)
    plunges = below & steep_descents(path, diameter_mm=tool.diameter_mm, ramp_deg=_ramp_deg(tool))
    return int(path.line[int(plunges.argmax())]) if bool(plunges.any()) else None


def _ramp_deg(tool: Tool) -> float:
    return DEFAULT_RAMP_DEG if tool.ramp_deg is None else tool.ramp_deg


def _in_question(path: Path, tool: Tool) -> Bools:
    """Return the rows that may meet wood they should not, shape (n,)."""
    low = np.minimum(path.start[:, 2], path.end[:, 2])
    below = is_known(path) & (low < -_DEEP_MM)
    down = _straight_down(path)
    # Straight up the cutter takes nothing: it has been there.
    rapids = below & ~path.is_cut & (~_is_still(path) | down)
    rapids &= ~_went_there(path, rapids & down)
    if tool.shape is ToolShape.DRILL:
        return np.asarray(rapids | (below & path.is_cut & ~_is_still(path)), dtype=np.bool_)
    if tool.plunge is False:
        steep = steep_descents(path, diameter_mm=tool.diameter_mm, ramp_deg=_ramp_deg(tool))
        return np.asarray(rapids | (below & steep), dtype=np.bool_)
    return np.asarray(rapids, dtype=np.bool_)


def _is_still(path: Path) -> Bools:
    return np.logical_and((np.abs(path.end[:, :2] - path.start[:, :2]) <= _STILL_MM).all(axis=1), ~path.is_arc)


def _straight_down(path: Path) -> Bools:
    return np.logical_and(_is_still(path), path.end[:, 2] < path.start[:, 2])


def _went_there(path: Path, asked: Bools) -> Bools:
    """Return which of the rows in question go down to where this program has cut before at the same point.

    Peck drilling does, thousands of times; looking at each hole's map again would be a waste.
    """
    known = np.flatnonzero(np.isfinite(path.end).all(axis=1) & (path.is_cut | asked))
    out = np.zeros(len(path), np.bool_)
    if not bool(asked.any()):
        return out
    at = np.round(path.end[known, :2] / _STILL_MM).astype(np.int64)
    _, place = np.unique(at, axis=0, return_inverse=True)
    place = place.reshape(-1)
    order = np.lexsort((known, place))
    z = np.where(path.is_cut[known], path.end[known, 2], np.inf)[order]
    # The lowest of each place so far: a running minimum that starts again at every place, by an offset that falls.
    span = 2.0 * float(np.abs(path.end[known, 2]).max()) + 1.0
    offset = -span * place[order]
    lowest = np.minimum.accumulate(np.where(np.isfinite(z), z, span / 2) + offset) - offset
    gone = np.concatenate([[np.inf], lowest[:-1]])
    gone[np.concatenate([[True], place[order][1:] != place[order][:-1]])] = np.inf
    out[known[order]] = gone <= path.end[known[order], 2] + _STILL_MM
    return np.logical_and(out, asked)
