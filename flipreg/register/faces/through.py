"""Whether cuts of both faces can be one hole: only what goes through the blank can.

A recess in each face is two recesses, wherever they lie. Where the blank's thickness isn't known, the deepest cut of
either face says how thick it is at least, and so does an edge that is cut from both.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

__all__ = ["Meeting", "both_deep", "levels"]

Floats = NDArray[np.float64]

_INTO_SPOILBOARD_MM = 3.0
"""The deepest cut may go so far below the blank, in millimetres; common practice, no source."""
_SHORT = 0.1
"""Holes meant to meet may fall short of it by this share of the thickness (chosen): blanks are thicker than planned."""
_MARK_SHARE = 0.15
"""A cut of less than this share of the other one's depth is a mark and no hole (chosen): letters, spotting."""
_ROUNDING_MM = 1e-3
"""Depths that fall short of the thickness by no more than this still meet, in millimetres (chosen): programs round to a
thousandth."""


@dataclass(frozen=True, slots=True)
class Meeting:
    """When cuts of both faces go through together.

    Attributes
    ----------
    least_mm : float
        Depths that add up to less leave wood between them.
    most_mm : float
        Heights above the spoilboard, one from each side, that add up to more leave wood between them.
    thickness_mm : float or None
        Of the blank, if that is known: what falls short of it may be two holes by design.
    surely_mm : float
        Depths that add up to less leave wood between them however an edge is cut: each face may cut it right through.
    """

    least_mm: float = -np.inf
    most_mm: float = np.inf
    thickness_mm: float | None = None
    surely_mm: float = -np.inf

    @classmethod
    def of(
        cls, thickness_mm: float | None, deepest_mm: float, top_mm: float, edge_mm: float = 0.0
    ) -> "Meeting":
        """Return it for a blank.

        Parameters
        ----------
        thickness_mm : float or None
            Its thickness, if that is known.
        deepest_mm : float
            The deepest cut of either face.
        top_mm : float
            Of programs with Z zero on the spoilboard, the height that the blank is no thicker than; infinite where
            there are none.
        edge_mm : float
            What the depths add up to with which both faces cut one edge; 0 where they don't.
        """
        if thickness_mm is None:
            surely_mm = deepest_mm - _INTO_SPOILBOARD_MM
            return cls(max(surely_mm, (1.0 - _SHORT) * edge_mm), top_mm, None, surely_mm)
        least_mm = (1.0 - _SHORT) * thickness_mm
        return cls(least_mm, (1.0 + _SHORT) * thickness_mm, thickness_mm, least_mm)

    @property
    def shows_thickness(self) -> bool:
        """Whether more than a least thickness is known: it was told, or both faces cut one edge."""
        return self.thickness_mm is not None or self.least_mm > max(self.surely_mm, 0.0)

    @property
    def at_all(self) -> "Meeting":
        """The same for all that may meet, also where an edge is cut far deeper from both faces than it needs.

        That is a reason to ask, and none to take two recesses for one opening.
        """
        return replace(self, least_mm=self.surely_mm)

    def may_meet(
        self, depth_mm: Floats, height_mm: Floats, other_depth_mm: Floats, other_height_mm: Floats
    ) -> NDArray[np.bool_]:
        """Return which cuts may go through together with one of the other face, shape as the arguments broadcast.

        Each is known by its depth below the face that is up, or by its height above the spoilboard; the other is NaN.
        """
        with np.errstate(invalid="ignore"):
            may = depth_mm + other_depth_mm >= self.least_mm
            may |= (depth_mm >= other_height_mm) | (other_depth_mm >= height_mm)
            may |= height_mm + other_height_mm <= self.most_mm
        return np.asarray(may)

    def meet(
        self, depth_mm: Floats, height_mm: Floats, other_depth_mm: Floats, other_height_mm: Floats
    ) -> NDArray[np.bool_]:
        """Return which cuts go through for all that is known, as `may_meet` takes them."""
        if self.thickness_mm is None:
            return self.may_meet(depth_mm, height_mm, other_depth_mm, other_height_mm)
        least_mm, most_mm = self.thickness_mm - _ROUNDING_MM, self.thickness_mm + _ROUNDING_MM
        return Meeting(least_mm, most_mm).may_meet(depth_mm, height_mm, other_depth_mm, other_height_mm)

    def go_through_alone(self, depth_mm: Floats, height_mm: Floats) -> NDArray[np.bool_]:
        """Return which cuts are known to go through without any cut of the other face, shape (n,)."""
        thickness_mm = np.inf if self.thickness_mm is None else self.thickness_mm
        with np.errstate(invalid="ignore"):
            return np.asarray((depth_mm >= thickness_mm - _ROUNDING_MM) | (height_mm <= _ROUNDING_MM))


def levels(floor_mm: Floats, top_mm: float | Floats) -> dict[str, Floats]:
    """Return depths and heights of floors, of which one is known; the top may be one of all, or of each."""
    is_top = np.asarray(top_mm) == 0.0
    return {"depth_mm": np.where(is_top, -floor_mm, np.nan), "height_mm": np.where(is_top, np.nan, floor_mm)}


def both_deep(ours: Floats, our_height: Floats, theirs: Floats, their_height: Floats) -> NDArray[np.bool_]:
    """Return whether neither of two cuts is a mere mark beside the other; True where depths aren't known."""
    with np.errstate(invalid="ignore"):
        shallow = np.minimum(ours, theirs) < _MARK_SHARE * np.maximum(ours, theirs)
    return np.asarray(~shallow | np.isfinite(our_height) | np.isfinite(their_height))
