"""Closed contours as features: which edge they leave in the wood, and which pass leaves it."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from flipreg.register.faces.chords import Cut
from flipreg.register.faces.clearing import is_cleared
from flipreg.register.faces.loop import Loop

__all__ = ["Outline", "Side", "alike", "final_passes", "of_one_size"]

Floats = NDArray[np.float64]

_LEAST_SIZE_MM = 3.0
"""Contours smaller than this are no outlines, in millimetres (chosen)."""
_MOST_OUTLINES = 40
"""Contours kept a face, largest first (chosen): register needs the large ones."""
_LIKE = 1.35
"""Outlines whose areas or lengths differ by more than this factor are not compared (chosen)."""
_ONE_SIZE = 0.03
"""Outlines of one size may differ by this share in length and in area (chosen)."""
_NEXT_PASS_MM = 3.5
"""Contours nested closer than this, or than the tool's diameter, are passes round one edge (chosen)."""

_AS_DEEP_MM = 0.5
"""Passes whose floors differ by no more reach equally deep, in millimetres (chosen)."""


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


def final_passes(outlines: list[Outline], cuts: Sequence[Cut] = ()) -> list[Outline]:
    """Return one contour for each edge: the pass that leaves it, with the side the edge is on.

    Roughing and finishing go round an edge at different distances; a pocket is cleared by contours from its middle to
    its wall. Contours nested closely one in the other are one family. A family that reaches far into its middle as deep
    as it is at its largest contour is a pocket, and its edge lies outside that contour, and so is one along whose
    inside other `cuts` of the face are as deep; what is shallower in the middle is cleared round a foot that stands
    there. Otherwise the largest family of a face is the profile, and its edge lies inside the smallest contour that
    reaches full depth.
    """
    ordered = sorted(outlines, key=lambda outline: -outline.loop.area_mm2)
    ordered = [o for o in ordered if o.loop.size_mm >= _LEAST_SIZE_MM][: 4 * _MOST_OUTLINES]
    families: list[list[Outline]] = []
    for outline in ordered:
        home = next((family for family in families if _is_next_pass(family[-1], outline)), None)
        if home is None:
            families.append([outline])
        else:
            home.append(outline)
    chosen: list[Outline] = []
    for family in families[:_MOST_OUTLINES]:
        largest = family[0].loop
        # Rings of a hollow are passes of another cut, though they may be as deep farther in.
        higher = (row for row, one in enumerate(family) if one.loop.floor_mm > largest.floor_mm + _AS_DEEP_MM)
        passes = family[: next(higher, None)]
        inner = any(_encloses(other[0].loop, largest) for other in families if other is not family)
        is_pocket = inner or passes[-1].loop.area_mm2 < 0.5 * largest.area_mm2
        deepest = min(member.loop.floor_mm for member in passes)
        full = [member for member in passes if member.loop.floor_mm <= deepest + _AS_DEEP_MM]
        if is_pocket:
            # A rebate and the opening in it are two edges.
            chosen += [_sided(wall, Side.OUTSIDE) for wall in dict.fromkeys((family[0], full[0]))]
        elif is_cleared(full[-1].loop, cuts, _AS_DEEP_MM, _next_pass_mm(full[-1])):
            chosen.append(_sided(family[0], Side.OUTSIDE))
        else:
            chosen.append(_sided(full[-1], Side.INSIDE))
    return chosen


def _sided(outline: Outline, side: Side) -> Outline:
    return Outline(outline.loop, outline.program, outline.line, outline.tool_radius_mm, outline.is_compensated, side)


def _next_pass_mm(outline: Outline) -> float:
    """Return how far apart passes round one edge may be."""
    return max(_NEXT_PASS_MM, 2.0 * (outline.tool_radius_mm or 0.0))


def _is_next_pass(outer: Outline, inner: Outline) -> bool:
    """Whether `inner` runs inside `outer` at an even, small distance."""
    a, b = outer.loop, inner.loop
    left, low, right, high = (a.box_mm - b.box_mm).tolist()
    gaps = (-left, -low, right, high)
    if min(gaps) < -0.05 or max(gaps) > max(_next_pass_mm(outer), _next_pass_mm(inner)):
        return False
    gap = sum(gaps) / 4.0
    lost = a.area_mm2 - b.area_mm2
    expected = gap * (a.length_mm + b.length_mm) / 2
    return bool(abs(lost - expected) <= 0.3 * expected + 0.02 * a.length_mm)


def _encloses(outer: Loop, inner: Loop) -> bool:
    """Whether the inner loop lies in the outer one, which is no mere facing of the blank.

    With Z zero on the spoilboard floors are heights, and a facing is far higher than what goes through.
    """
    most_mm = min(0.25 * inner.floor_mm, inner.floor_mm + 20.0)
    if inner.floor_mm > 0.0:
        most_mm = 1.25 * inner.floor_mm + 1.0
    return bool(
        outer.area_mm2 > inner.area_mm2
        and outer.floor_mm <= most_mm
        and (outer.box_mm[:2] <= inner.box_mm[:2]).all()
        and (outer.box_mm[2:] >= inner.box_mm[2:]).all()
    )
