"""What corresponds on two faces at a placement, and how far outlines that correspond are apart."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.register.faces.curve import Curve
from flipreg.register.faces.near import thinned
from flipreg.register.faces.placement import Placement

__all__ = ["Match", "Shared", "quick_distances", "two_way"]

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]

_QUICK = 240
"""Samples of an outline while searching (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Shared:
    """Two outlines of one edge: rows of the faces' outlines, and the edges they leave in each face's frame.

    `goes_through` says whether both together part the wood. Where they don't, they are the largest of their faces,
    which may be one edge that is to be sawn out, or two recesses of one size: that they agree shows register, that they
    don't shows nothing.
    """

    front: int
    back: int
    front_curve: Curve
    back_curve: Curve
    tools_known: bool
    goes_through: bool = True

    @property
    def is_one_shape(self) -> bool:
        """Whether both edges agree in length and area to a few per cent."""
        ours, theirs = self.front_curve, self.back_curve
        return abs(ours.length_mm - theirs.length_mm) <= 0.03 * ours.length_mm and (
            abs(ours.area_mm2 - theirs.area_mm2) <= 0.03 * ours.area_mm2
        )


@dataclass(frozen=True, slots=True, eq=False)
class Match:
    """What corresponds at a placement.

    Attributes
    ----------
    placement : Placement
        Where the back was put.
    front_hole, back_hole : int arrays, shape (n,)
        Rows of the holes that are the same.
    outlines : tuple of Shared
        The outlines that are the same.
    front_mark, back_mark : int arrays, shape (m,)
        Rows of all features that coincide, of those in `Faces.comparable`.
    """

    placement: Placement
    front_hole: Rows
    back_hole: Rows
    outlines: tuple[Shared, ...]
    front_mark: Rows
    back_mark: Rows

    @property
    def fixes_place(self) -> bool:
        """Whether shared holes and outlines alone say where the back lies and how it is turned."""
        return len(self.front_hole) >= 2 or bool(self.outlines)

    @property
    def is_empty(self) -> bool:
        """Whether nothing corresponds."""
        return len(self.front_hole) == 0 and not self.outlines and len(self.front_mark) == 0


def quick_distances(pair: Shared, placement: Placement) -> Floats:
    """Return distances of some samples of both outlines to the other one, in millimetres, where known."""
    theirs = thinned(pair.back_curve.samples_mm, _QUICK)
    ours = thinned(pair.front_curve.samples_mm, _QUICK)
    off = np.concatenate(two_way(pair, placement, ours, theirs))
    return np.asarray(off[~np.isnan(off)])


def two_way(pair: Shared, placement: Placement, ours: Floats, theirs: Floats) -> tuple[Floats, Floats]:
    """Return distances of the front's and of the back's points to the other outline.

    Parameters
    ----------
    pair : Shared
        The outlines.
    placement : Placement
        Where the back lies.
    ours, theirs : array, shape (n, 2) and (m, 2)
        Points of the front's and of the back's outline, each in its own frame.

    Returns
    -------
    two arrays, shapes (n,) and (m,)
        Millimetres; NaN where the nearest place of the other outline is not known because it lies in a gap.
    """
    away: list[Floats] = []
    for curve, points in ((pair.back_curve, placement.undo(ours)), (pair.front_curve, placement.apply(theirs))):
        if len(points) == 0:
            away.append(np.empty(0))
            continue
        foot, _, known = curve.nearest(points)
        away.append(np.where(known, np.hypot(*(foot - points).T), np.nan))
    return away[0], away[1]
