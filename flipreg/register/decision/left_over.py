"""What has no partner where the rest of both faces agrees: holes, outlines and other features that may be misplaced."""

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Finding, Status
from flipreg.register.decision.left_over_features import left_over_features
from flipreg.register.decision.one_sided import beside_a_counterbore, bored_from_one_face
from flipreg.register.faces.holes import Holes, as_wide
from flipreg.register.faces.near import near_pairs, thinned
from flipreg.register.faces.number import offset_text
from flipreg.register.faces.outline import Side, alike
from flipreg.register.faces.placement import Placement
from flipreg.register.faces.through import Meeting
from flipreg.register.placing.agreement import NEAR_MM
from flipreg.register.placing.coincidence import hole_votes
from flipreg.register.placing.comparison import Comparison
from flipreg.register.placing.evidence import FEW
from flipreg.register.placing.gap import centred, even_gap
from flipreg.register.placing.match import quick_distances
from flipreg.register.placing.matching import Faces
from flipreg.register.placing.open_end import may_end_in_air
from flipreg.units import length_text, place_text

__all__ = ["left_over"]

Floats = NDArray[np.float64]

_LEAST_PATTERN, _PATTERN = 2, 0.7
"""So many holes, and so much of those of the face with fewer, form one pattern (chosen)."""
_THIN = 2
"""So few holes without an outline leave open whether left-over ones are the same (chosen)."""
_MOST_PROBED = 200
"""Holes of the other face by which it is seen which may go through (chosen)."""
_EVENLY_MM = 0.5
"""Walls that are as far apart everywhere to within this are told of, in millimetres (chosen): corners differ more."""
_LITTLE_MM = 2.5
"""Openings whose walls are further apart are rebated, in millimetres (chosen): cutters of neighbouring sizes differ by
less."""
_LARGE_SHARE = 0.4
"""Outlines of one shape may lie at different places by design if they are smaller than this share of a face
(chosen)."""


def left_over(comparison: Comparison, placement: Placement) -> list[Finding]:
    """Return findings on holes and outlines that have no partner where the rest agrees."""
    return (
        _left_over_holes(comparison, placement)
        + _left_over_outlines(comparison, placement)
        + left_over_features(comparison, placement)
        + _differing_contours(comparison, placement)
        + _stepped_openings(comparison, placement)
    )


def _stepped_openings(comparison: Comparison, placement: Placement) -> list[Finding]:
    """Find what both faces cut through one inside the other, evenly by little: a rebate, or another tool than named."""
    faces = comparison.faces
    shared = () if comparison.match is None else comparison.match.outlines
    taken = {pair.front for pair in shared}, {pair.back for pair in shared}
    for pair in faces.outline_pairs():
        is_opening = faces.front.outlines[pair.front].side is Side.OUTSIDE
        is_taken = pair.front in taken[0] or pair.back in taken[1]
        if is_taken or not (is_opening and pair.goes_through and pair.tools_known):
            continue
        gap_mm = even_gap(pair, placement, max(faces.tolerance_mm, _EVENLY_MM), over_mm=faces.tolerance_mm)
        if gap_mm is None or abs(gap_mm) > _LITTLE_MM:
            continue
        theirs = faces.back.outlines[pair.back]
        return [
            Finding(
                "tool",
                Status.WARN,
                f"an opening of the back runs {length_text(abs(gap_mm))} {'outside' if gap_mm > 0.0 else 'inside'} the "
                "front's all round: a rebate, or one of them is cut with another tool than the one named",
                faces.back.names[theirs.program],
                theirs.line,
            )
        ]
    return []


def _differing_contours(comparison: Comparison, placement: Placement) -> list[Finding]:
    """Find contours at the edge that are like ones near them but for one side: where they belong can't be told."""
    faces = comparison.faces
    middles = [
        np.array([(one.loop.box_mm[:2] + one.loop.box_mm[2:]) / 2.0 for one in side.outlines]).reshape(-1, 2)
        for side in (faces.front, faces.back)
    ]
    i, j, _ = near_pairs(middles[0], placement.apply(middles[1]), NEAR_MM)
    pairs = [
        (ours, theirs)
        for ours, theirs in zip(i.tolist(), j.tolist(), strict=True)
        if alike(faces.front.outlines[ours], faces.back.outlines[theirs]) and may_end_in_air(faces, ours, theirs)
    ]
    count = min(len({ours for ours, _ in pairs}), len({theirs for _, theirs in pairs}))
    if count <= FEW:
        return []
    first = faces.back.outlines[pairs[0][1]]
    return [
        Finding(
            "register",
            Status.NOT_DETERMINED,
            f"{count} contours of the back are like ones of the front, but a side of each lies elsewhere; if "
            "they are the same, either that side lies in the air beyond the wood, or they have another zero",
            faces.back.names[first.program],
            first.line,
        )
    ]


def _left_over_holes(comparison: Comparison, placement: Placement) -> list[Finding]:
    """Find holes without a partner on both faces: they are likely the same holes, misplaced."""
    match, faces = comparison.match, comparison.faces
    if match is None:
        return []
    beside = beside_a_counterbore(match, faces)
    if beside:
        return beside
    front_left = faces.front.holes.take(np.delete(np.arange(len(faces.front.holes)), match.front_hole))
    back_left = faces.back.holes.take(np.delete(np.arange(len(faces.back.holes)), match.back_hole))
    # Two recesses make no hole through both faces, and a hole that has its partner makes none with a recess.
    front_open = front_left.take(front_left.that_may_meet(back_left, faces.meeting))
    back_open = back_left.take(back_left.that_may_meet(front_left, faces.meeting))
    ours, theirs = front_open.centre_mm, placement.apply(back_open.centre_mm)
    if len(ours) == 0 or len(theirs) == 0:
        return bored_from_one_face(match, faces)
    count = f"{len(ours)} of the front and {len(theirs)} of the back"
    apart = _same_pattern(faces, front_open, back_open, placement)
    if apart is not None:
        hits, shift, is_sure = apart
        dx_mm, dy_mm = (-shift).tolist()
        return [
            Finding(
                "holes",
                Status.FAIL if is_sure else Status.NOT_DETERMINED,
                f"{hits} holes of the back that have no partner form the same pattern as holes of the front, "
                f"but lie {offset_text(dx_mm, dy_mm)} away: "
                + ("" if is_sure else "they do not reach each other and are two by design, or ")
                + "their program has another zero",
            )
        ]
    i, j, distance = near_pairs(ours, theirs, NEAR_MM)
    may = _may_meet(faces.meeting, front_open.take(i), back_open.take(j))
    for row in np.flatnonzero(may)[np.argsort(distance[may])][:1].tolist():
        if _are_alike(comparison, front_open.take(i[row : row + 1]), back_open.take(j[row : row + 1])):
            return [
                Finding(
                    "holes",
                    Status.NOT_DETERMINED,
                    f"a hole of the back without a partner lies {length_text(float(distance[row]))} from one of the "
                    f"front at {place_text(ours[i[row]].tolist(), 2)}; if they are one, it is misplaced",
                    faces.back.names[back_open.program[j[row]]],
                    int(back_open.line[j[row]]),
                )
            ]
    # Two holes meet in more than one way round: then one that is left over on both faces may show which.
    is_thin = len(match.front_hole) <= _THIN and not any(pair.goes_through for pair in match.outlines)
    if (is_thin or len(ours) == len(theirs)) and _are_alike(comparison, front_open, back_open):
        says = (
            f"holes without a partner: {count}, the first at {place_text(ours[0].tolist(), 2)} of the front; "
            "if they are meant to be the same holes, they are misplaced"
        )
        if is_thin:
            return [Finding("flip", Status.NOT_DETERMINED, says)]
        return [Finding("holes", Status.NOT_DETERMINED, says)]
    return [Finding("holes", Status.WARN, f"holes without a partner on the other face: {count}")]


def _same_pattern(
    faces: Faces, front: Holes, back: Holes, placement: Placement
) -> tuple[int, NDArray[np.float64], bool] | None:
    """Return how many holes one shift would lay on holes of the front, that shift, and whether any surely goes through.

    A recess makes a hole only with what goes far down from the other face, and counts where most of that does.
    """
    front, back = front.take(_mostly_meets(faces, front, back)), back.take(_mostly_meets(faces, back, front))
    ours, theirs = front.centre_mm, placement.apply(back.centre_mm)
    if min(len(ours), len(theirs)) < _LEAST_PATTERN:
        return None
    for shift in hole_votes(ours, theirs, faces.tolerance_mm)[:3]:
        i, j, _ = near_pairs(ours, theirs + shift, max(2 * faces.tolerance_mm, 0.1))
        hits = len(np.unique(i[_may_meet(faces.meeting, front.take(i), back.take(j))]))
        if hits >= max(_LEAST_PATTERN, _PATTERN * min(len(ours), len(theirs))):
            return hits, shift, bool(front.that_meet(back, faces.meeting).any())
    return None


def _mostly_meets(faces: Faces, holes: Holes, others: Holes) -> NDArray[np.bool_]:
    """Return which holes may go through together with most of the other face's, shape (n,)."""
    some = others.take(thinned(np.arange(len(others)), _MOST_PROBED))
    may = faces.meeting.may_meet(
        holes.depth_mm[:, np.newaxis], holes.height_mm[:, np.newaxis], some.depth_mm, some.height_mm
    )
    return np.asarray(may.mean(axis=1) > 0.5)


def _may_meet(meeting: Meeting, ours: Holes, theirs: Holes) -> NDArray[np.bool_]:
    return meeting.may_meet(ours.depth_mm, ours.height_mm, theirs.depth_mm, theirs.height_mm)


def _are_alike(comparison: Comparison, ours: Holes, theirs: Holes) -> bool:
    """Return whether any hole of the one face may be one with any of the other, by how wide they are.

    They are as wide as each other, as far as that is known, or as the two sides of holes that are shared: one face may
    start each hole with a smaller drill.
    """
    faces, match = comparison.faces, comparison.match
    if as_wide(ours.bore_mm[:, np.newaxis], theirs.bore_mm).any():
        return True
    if match is None or len(match.front_hole) == 0:
        return False
    front, back = faces.front.holes.bore_mm[match.front_hole], faces.back.holes.bore_mm[match.back_hole]
    shared = np.unique(np.column_stack([front, back]), axis=0)
    like_front = as_wide(ours.bore_mm[:, np.newaxis], shared[:, 0])
    like_back = as_wide(theirs.bore_mm[:, np.newaxis], shared[:, 1])
    return bool((like_front.any(axis=0) & like_back.any(axis=0)).any())


def _left_over_outlines(comparison: Comparison, placement: Placement) -> list[Finding]:
    """Find large outlines of one shape that lie apart: then the profile and the holes do not share one zero."""
    if comparison.match is None or comparison.by_silhouette:
        return []
    large = _LARGE_SHARE * min(comparison.faces.front.size_mm, comparison.faces.back.size_mm)
    limit = max(2.0 * comparison.faces.tolerance_mm, 0.1)
    # One that is near its like because most of both sides lie along the way it is off has no partner there either.
    best = comparison.match.placement
    taken = [
        pair for pair in comparison.match.outlines if float(np.quantile(quick_distances(pair, best), 0.9)) <= limit
    ]
    taken_front, taken_back = {pair.front for pair in taken}, {pair.back for pair in taken}
    for pair in comparison.faces.outline_pairs():
        outline = comparison.faces.back.outlines[pair.back]
        is_taken = pair.front in taken_front or pair.back in taken_back
        if is_taken or not pair.goes_through or outline.loop.size_mm < large:
            continue
        there = centred(pair, placement.matrix)
        off = quick_distances(pair, there)
        if len(off) == 0 or float(off.max()) > limit:
            continue
        dx_mm, dy_mm = (placement.offset_mm - there.offset_mm).tolist()
        text = (
            f"an outline of the back is the same as one of the front but lies {offset_text(dx_mm, dy_mm)} away "
            "where the rest agrees: its program has another zero"
        )
        return [Finding("register", Status.FAIL, text, comparison.faces.back.names[outline.program], outline.line)]
    return []


