"""Closed contours as features, and the side of each on which it leaves an edge in the wood."""

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from flipreg.register.faces.loop import Loop

__all__ = ["Outline", "Side", "alike", "of_one_size"]

Floats = NDArray[np.float64]

_LIKE = 1.35
"""Outlines whose areas or lengths differ by more than this factor are not compared (chosen)."""
_ONE_SIZE = 0.03
"""Outlines of one size may differ by this share in length and in area (chosen)."""
_NEXT_PASS_MM = 3.5
"""Contours nested closer than this, or than the tool's diameter, are passes round one edge (chosen)."""


class Side(Enum):
    """Where the edge lies that a contour leaves, seen from the tool's centre."""

    INSIDE = -1
    """A profile: the part is inside the contour."""
    OUTSIDE = 1
    """A pocket or an opening: the wall is outside the contour."""


@dataclass(frozen=True, slots=True, eq=False)
class Outline:
    """A closed contour that a face cuts.

    Attributes
    ----------
    loop : Loop
        The way of the tool's centre.
    program : int
        Index of the program in its face.
    line : int
        Line where the contour begins.
    tool_radius_mm : float or None
        None where the tool was not told.
    is_compensated : bool
        Cutter radius compensation is on: the programmed contour is the edge itself.
    side : Side
        Where the edge lies.
    is_silhouette : bool
        The edge of all that is swept, where no closed contour is driven.
    """

    loop: Loop
    program: int
    line: int
    tool_radius_mm: float | None
    is_compensated: bool
    side: Side = Side.INSIDE
    is_silhouette: bool = False

    @property
    def edge_radius_mm(self) -> float | None:
        """Distance from the contour to the edge; None if the tool is not known."""
        return 0.0 if self.is_compensated else self.tool_radius_mm

    @property
    def leaves_nothing(self) -> bool:
        """Whether the contour is so narrow that its tool cuts away all that it encloses."""
        return self.loop.area_mm2 <= (self.edge_radius_mm or 0.0) * self.loop.length_mm

    @property
    def next_pass_mm(self) -> float:
        """How far apart passes round one edge may be."""
        return max(_NEXT_PASS_MM, 2.0 * (self.tool_radius_mm or 0.0))


def alike(front: Outline, back: Outline) -> bool:
    """Whether two contours could be one edge, with room for tools of different sizes."""
    ours, theirs = front.loop, back.loop
    tools = abs((front.edge_radius_mm or 0.0) - (back.edge_radius_mm or 0.0))
    longer, shorter = max(ours.length_mm, theirs.length_mm), min(ours.length_mm, theirs.length_mm)
    larger, smaller = max(ours.area_mm2, theirs.area_mm2), min(ours.area_mm2, theirs.area_mm2)
    return longer <= _LIKE * shorter + 8.0 * tools and larger <= _LIKE * smaller + 1.5 * longer * tools


def of_one_size(front: Outline, back: Outline) -> bool:
    """Whether ways round two outlines are as long, and what they enclose as large, but for what tools differ."""
    ours, theirs = front.loop, back.loop
    tools_mm = abs((front.edge_radius_mm or 0.0) - (back.edge_radius_mm or 0.0))
    longer_mm, larger_mm2 = abs(ours.length_mm - theirs.length_mm), abs(ours.area_mm2 - theirs.area_mm2)
    is_as_long = longer_mm <= _ONE_SIZE * ours.length_mm + 8.0 * tools_mm
    return is_as_long and larger_mm2 <= _ONE_SIZE * ours.area_mm2 + ours.length_mm * tools_mm
