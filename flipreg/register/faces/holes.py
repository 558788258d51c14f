"""Holes of a face, in columns."""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from flipreg.register.faces.near import clusters
from flipreg.register.faces.through import Meeting

__all__ = ["Holes", "all_of", "as_wide", "one_each"]

Floats = NDArray[np.float64]

_SAME_HOLE_MM = 0.02
"""Spotting, drilling and boring within this distance make one hole, in millimetres (chosen)."""
_AS_DEEP_MM = 0.5
"""Drills that go down as far as this reach one floor, in millimetres (chosen): their points differ."""


@dataclass(frozen=True, slots=True, eq=False)
class Holes:
    """Holes of a face, one row each.

    Attributes
    ----------
    centre_mm : float64, shape (n, 2)
        Centres in the program frame.
    diameter_mm : float64, shape (n,)
        Widest diameter as far as it is known, NaN where the tool was not told.
    bore_mm : float64, shape (n,)
        Diameter at its floor, which a counterbore leaves as it is; NaN where the tool was not told.
    floor_mm : float64, shape (n,)
        Lowest Z.
    depth_mm : float64, shape (n,)
        How deep it is below the face that is up; NaN where Z zero seems to be on the spoilboard.
    height_mm : float64, shape (n,)
        How high its floor is above the spoilboard; NaN where Z zero is on top.
    program : int64, shape (n,)
        Index of the stretch that makes it, as in `Features.cuts`.
    line : int64, shape (n,)
        Line of that program.
    """

    centre_mm: Floats
    diameter_mm: Floats
    bore_mm: Floats
    floor_mm: Floats
    depth_mm: Floats
    height_mm: Floats
    program: NDArray[np.int64]
    line: NDArray[np.int64]

    def __len__(self) -> int:
        return len(self.line)

    def take(self, rows: NDArray[np.bool_] | NDArray[np.intp]) -> "Holes":
        """Return some of the holes."""
        return Holes(*(getattr(self, field.name)[rows] for field in fields(self)))

    def that_may_meet(self, other: "Holes", meeting: Meeting) -> NDArray[np.bool_]:
        """Return which holes may go through together with any hole of the other face, shape (n,)."""
        deepest = np.nanmax(other.depth_mm, initial=-np.inf)
        lowest = np.nanmin(other.height_mm, initial=np.inf)
        return meeting.may_meet(self.depth_mm, self.height_mm, np.array([deepest]), np.array([lowest]))

    def that_meet(self, other: "Holes", meeting: Meeting) -> NDArray[np.bool_]:
        """Return which holes go through, for all that is known, together with the deepest of the other face."""
        deepest = np.nanmax(other.depth_mm, initial=-np.inf)
        lowest = np.nanmin(other.height_mm, initial=np.inf)
        return meeting.meet(self.depth_mm, self.height_mm, np.array([deepest]), np.array([lowest]))

    def reach_mm(self) -> Floats:
        """Return a radius for telling holes apart, shape (n,); 1 mm where the diameter is not known."""
        return np.clip(np.nan_to_num(self.diameter_mm / 2, nan=1.0), 0.25, 10.0)


def as_wide(some_mm: Floats, others_mm: Floats) -> NDArray[np.bool_]:
    """Return which bores may be as wide as which others, as far as that is known; arrays broadcast."""
    with np.errstate(invalid="ignore"):
        return np.asarray(~(np.abs(some_mm - others_mm) > np.maximum(0.3, 0.15 * others_mm)))


def all_of(parts: Sequence[Holes]) -> Holes:
    """Return holes one after the other, at least one set of them."""
    return Holes(*(np.concatenate([getattr(part, field.name) for part in parts]) for field in fields(Holes)))


def one_each(parts: Sequence[Holes]) -> Holes:
    """Return holes with those at one place made one: the widest and the deepest that was made there."""
    if not parts:
        nothing, none = np.empty(0), np.empty(0, np.int64)
        return Holes(np.empty((0, 2)), nothing, nothing, nothing, nothing, nothing, none, none)
    together = all_of(parts)
    group = clusters(together.centre_mm, _SAME_HOLE_MM)
    count = int(group.max(initial=-1)) + 1
    order = np.lexsort((together.floor_mm, group))
    deepest = order[np.unique(group[order], return_index=True)[1]]
    diameter = np.nan_to_num(together.diameter_mm, nan=-1.0)
    widest, bore = np.full(count, -1.0), np.full(count, -1.0)
    np.maximum.at(widest, group, diameter)
    # A hole that is drilled first with a thin drill and then with its own is as wide as its own at its floor.
    to_floor = together.floor_mm <= together.floor_mm[deepest][group] + _AS_DEEP_MM
    np.maximum.at(bore, group[to_floor], diameter[to_floor])
    first = np.unique(group, return_index=True)[1]
    return replace(
        together.take(deepest),
        centre_mm=together.centre_mm[first],
        diameter_mm=np.where(widest < 0, np.nan, widest),
        bore_mm=np.where(bore < 0, np.nan, bore),
        program=together.program[first],
        line=together.line[first],
    )
