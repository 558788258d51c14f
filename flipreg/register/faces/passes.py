"""Passes round one edge: of contours nested closely one in the other a single one leaves the edge."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from flipreg.register.faces.chords import Cut
from flipreg.register.faces.clearing import is_cleared
from flipreg.register.faces.loop import Loop
from flipreg.register.faces.near import near_pairs, thinned
from flipreg.register.faces.outline import Outline, Side

__all__ = ["final_passes", "leave_edges"]

Rows = NDArray[np.intp]

_LEAST_SIZE_MM = 3.0
"""Contours smaller than this are no outlines, in millimetres (chosen)."""
_MOST_OUTLINES = 40
"""Contours kept a face, largest first (chosen): register needs the large ones."""
_AS_DEEP_MM = 0.4
"""Passes whose floors differ by no more reach equally deep, in millimetres (chosen)."""
_SAME_MM = 0.01
"""Contours that differ by no more are one that is driven again, in millimetres (chosen): ten last decimals."""
_OVER_MM = 0.05
"""A pass may reach over the one around it by this, in millimetres (chosen): rounded corners, last decimals."""
_EVENLY, _MOSTLY, _LOOKED_AT = 0.1, 0.8, 50
"""Distances of two passes differ by this share, over so large a share of places, of which about so many are looked at
(chosen): at corners they differ more."""
_CLEARED = 0.5
"""Passes that leave less than this share of the area in their middle clear a pocket (chosen)."""


def final_passes(outlines: list[Outline], cuts: Sequence[Cut] = ()) -> list[Outline]:
    """Return one contour for each edge: the pass that leaves it, with the side the edge is on.

    Roughing and finishing go round an edge at different distances; a pocket is cleared by contours from its middle to
    its wall. Contours nested closely one in the other are one family. A family that reaches far into its middle as deep
    as it is at its largest contour is a pocket, and its edge lies outside that contour. So is one that one tool drives
    from the inside outwards, for the last pass leaves the edge, and one along whose inside other `cuts` of the face are
    as deep; what is shallower in the middle is cleared round a foot that stands there. Otherwise the largest family of
    a face is the profile, and its edge lies inside the smallest contour that reaches full depth.
    """
    ordered = sorted(outlines, key=lambda outline: -outline.loop.area_mm2)
    ordered = _deepest([o for o in ordered if o.loop.size_mm >= _LEAST_SIZE_MM][: 4 * _MOST_OUTLINES])
    families: list[list[Outline]] = []
    home: list[int] = []
    for outline, around in zip(ordered, _next_outside(ordered).tolist(), strict=True):
        # What is driven between two passes of a clearing, an opening in a rebate, is no reason to begin another one.
        home.append(len(families) if around < 0 else home[around])
        if around < 0:
            families.append([])
        families[home[-1]].append(outline)
    chosen: list[Outline] = []
    for family in families[:_MOST_OUTLINES]:
        largest = family[0].loop
        # Rings of a hollow are passes of another cut, though they may be as deep farther in.
        higher = (row for row, one in enumerate(family) if one.loop.floor_mm > largest.floor_mm + _AS_DEEP_MM)
        passes = family[: next(higher, None)]
        inner = any(_encloses(other[0].loop, largest) for other in families if other is not family)
        is_pocket = inner or passes[-1].loop.area_mm2 < _CLEARED * largest.area_mm2
        deepest = min(member.loop.floor_mm for member in passes)
        full = [member for member in passes if member.loop.floor_mm <= deepest + _AS_DEEP_MM]
        if is_pocket:
            # A rebate and the opening in it are two edges.
            chosen += [_sided(wall, Side.OUTSIDE) for wall in dict.fromkeys((family[0], full[0]))]
        elif _is_later(full[0], full[-1]) or (
            not _is_later(full[-1], full[0]) and is_cleared(full[-1].loop, cuts, _AS_DEEP_MM, full[-1].next_pass_mm)
        ):
            chosen.append(_sided(family[0], Side.OUTSIDE))
        else:
            chosen.append(_sided(full[-1], Side.INSIDE))
        deeper = [one for one in family[len(passes) :] if one.loop.floor_mm < deepest - _AS_DEEP_MM]
        if deeper:
            # An edge is rounded over in steps, of which the lowest is farther out than the way that cuts it through.
            chosen.append(_sided(min(deeper, key=lambda one: one.loop.floor_mm), chosen[-1].side))
    return chosen


def _deepest(outlines: Sequence[Outline]) -> list[Outline]:
    """Return contours without those that are driven again at the same place, as deep or deeper."""
    kept: list[Outline] = []
    for outline in outlines:
        again = (
            row
            for row, other in enumerate(kept)
            if float(np.abs(other.loop.box_mm - outline.loop.box_mm).max()) <= _SAME_MM
            and abs(other.loop.area_mm2 - outline.loop.area_mm2) <= _SAME_MM * outline.loop.length_mm
        )
        row = next(again, None)
        if row is None:
            kept.append(outline)
        elif outline.loop.floor_mm < kept[row].loop.floor_mm:
            kept[row] = outline
    return kept


def _is_later(one: Outline, other: Outline) -> bool:
    """Return whether one of two passes is driven after the other one, with the same tool."""
    return one.program == other.program and one.loop.last_row > other.loop.last_row


def _sided(outline: Outline, side: Side) -> Outline:
    return Outline(outline.loop, outline.program, outline.line, outline.tool_radius_mm, outline.is_compensated, side)


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


def leave_edges(outlines: Sequence[Outline]) -> NDArray[np.bool_]:
    """Return which contours leave an edge: the largest of those that clear a pocket, else the last one, shape (n,).

    How many passes there are, and where their middles lie, is the choice of who wrote the program.
    """
    area = np.array([one.loop.area_mm2 for one in outlines])
    around = _next_outside(outlines, _AS_DEEP_MM)
    outermost, innermost = np.arange(len(outlines)), np.arange(len(outlines))
    for row in np.argsort(-area, kind="stable").tolist():
        if around[row] >= 0:
            outermost[row] = outermost[around[row]]
        innermost[outermost[row]] = row
    innermost = innermost[outermost]
    ends = zip(outermost.tolist(), innermost.tolist(), strict=True)
    goes_outwards = np.array([_is_later(outlines[outer], outlines[inner]) for outer, inner in ends], np.bool_)
    goes_outwards |= area[innermost] < _CLEARED * area[outermost]
    return np.asarray(np.arange(len(outlines)) == np.where(goes_outwards, outermost, innermost))


def _next_outside(outlines: Sequence[Outline], as_deep_mm: float = np.inf) -> Rows:
    """Return, for each contour, the row of the next one around it at an even, small distance; -1 without, shape (n,).

    Contours whose floors differ by more than `as_deep_mm` are none.
    """
    box = np.array([one.loop.box_mm for one in outlines]).reshape(-1, 4)
    area, length, floor, reach, row = np.array(
        [
            (one.loop.area_mm2, one.loop.length_mm, one.loop.floor_mm, one.next_pass_mm, one.loop.row)
            for one in outlines
        ]
    ).reshape(-1, 5).T
    middle = (box[:, :2] + box[:, 2:]) / 2.0
    outer, inner, _ = near_pairs(middle, middle, float(reach.max(initial=1.0)))
    # Where an end tapers, the middles of two passes lie farther apart; then one is driven after the other.
    turn = np.lexsort((row, np.array([one.program for one in outlines])))
    outer, inner = np.concatenate([outer, turn[:-1], turn[1:]]), np.concatenate([inner, turn[1:], turn[:-1]])
    gaps = (box[inner] - box[outer]) * [1.0, 1.0, -1.0, -1.0]
    may = (area[outer] > area[inner]) & (gaps.min(axis=1) >= -_OVER_MM)
    may &= np.abs(floor[outer] - floor[inner]) <= as_deep_mm
    outer, inner, gaps = outer[may], inner[may], gaps[may]
    expected = gaps.mean(axis=1) * (length[outer] + length[inner]) / 2.0
    off = np.abs(area[outer] - area[inner] - expected)
    most_mm = np.maximum(reach[outer], reach[inner])
    is_next = (gaps.max(axis=1) <= most_mm) & (off <= 0.3 * expected + 0.02 * length[outer])
    for pair in np.flatnonzero(~is_next).tolist():
        is_next[pair] = _is_inside_evenly(outlines[outer[pair]].loop, outlines[inner[pair]].loop, most_mm[pair])
    outer, inner = outer[is_next], inner[is_next]
    found = np.full(len(outlines), -1)
    # Of several the tightest is written last.
    order = np.argsort(-area[outer], kind="stable")
    found[inner[order]] = outer[order]
    return found


def _is_inside_evenly(outer: Loop, inner: Loop, most_mm: float) -> bool:
    """Return whether a contour lies in another one, nearly everywhere as far from it and no farther than `most_mm`."""
    ring = shapely.linearrings(outer.points_mm)
    step_mm = max(inner.length_mm / _LOOKED_AT, _OVER_MM)
    places = shapely.get_coordinates(shapely.segmentize(shapely.linearrings(inner.points_mm), step_mm))
    off_mm = shapely.distance(ring, shapely.points(thinned(places, 2 * _LOOKED_AT)))
    usual_mm = float(np.median(off_mm))
    is_even = np.abs(off_mm - usual_mm) <= _EVENLY * usual_mm + _OVER_MM
    is_near = _OVER_MM < usual_mm <= most_mm and float(is_even.mean()) >= _MOSTLY
    return is_near and bool(shapely.contains_xy(shapely.polygons(ring), *inner.points_mm[0]))
