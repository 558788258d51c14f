"""Reasons not to believe a register that measured well, or not to blame one that measured badly."""

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Finding, Status
from flipreg.register.coincidence import hole_votes
from flipreg.register.comparison import Comparison
from flipreg.register.elsewhere import elsewhere
from flipreg.register.gap import (
    LIKE_OVERLAP,
    centred,
    even_gap,
    gap_words,
    largest_pair,
    overlap,
    profiles_apart,
)
from flipreg.register.holes import Holes
from flipreg.register.judge import Judged
from flipreg.register.match import quick_distances
from flipreg.register.other_units import OtherUnit, Zeros, other_units
from flipreg.register.outline import Side
from flipreg.register.placement import Placement

__all__ = ["contrary_evidence", "is_seen", "left_over", "unit_doubts"]

Floats = NDArray[np.float64]

_LARGE_SHARE = 0.4
"""Outlines of one shape may lie at different places by design if they are smaller than this share of a face
(chosen)."""
_AT_ZERO_MM = 1.0
"""A hole nearer to program zero lies nearly the same in millimetres and in inches (chosen)."""


def contrary_evidence(comparison: Comparison) -> list[Finding]:
    """Return findings that speak against the register as measured; FAIL or NOT_DETERMINED, never a pass."""
    found: list[Finding] = []
    if comparison.orientation is not None and comparison.orientation.axis == "none" and comparison.is_found:
        found.append(
            Finding(
                "flip",
                Status.FAIL if comparison.register.is_sure else Status.NOT_DETERMINED,
                f"the back fits only {comparison.orientation.words}: it would cut the wrong hand",
            )
        )
    if comparison.by_silhouette:
        found += _silhouette(comparison)
    found += elsewhere(comparison)
    if found or comparison.placement is None:
        return found
    if comparison.register.status is Status.PASS:
        found += left_over(comparison, comparison.placement) + _profiles_apart(comparison, comparison.placement)
    if comparison.register.status is not Status.FAIL:
        found += _beside(comparison, comparison.placement)
    return found


def unit_doubts(judged: Judged) -> list[Finding]:
    """Return findings on programs that are far larger or smaller than all others, in a unit of their own."""
    question = judged.question
    for other in other_units(judged.front, judged.back, question.zeros, question.largest_mm):
        if other.is_plain and not is_seen(judged.comparison, other, question.zeros):
            size = "smaller" if other.unit == "inch" else "larger"
            names = ", ".join(other.names)
            says = (
                f"{names}: in a unit of its own, and far {size} than the others; that the unit is right would need a "
                "hole or an outline of it that the other face has too"
            )
            return [Finding("units", Status.NOT_DETERMINED, says)]
    return []


def is_seen(comparison: Comparison, other: OtherUnit, zeros: Zeros) -> bool:
    """Return whether programs make something that agrees with the other face, in the unit that they say.

    What is at program zero would agree in any unit and shows nothing.
    """
    match, placement = comparison.match, comparison.placement
    if match is None or placement is None:
        return False
    names = (comparison.faces.front if other.is_front else comparison.faces.back).names
    ours = comparison.faces.front.holes.take(match.front_hole)
    theirs = comparison.faces.back.holes.take(match.back_hole)
    agrees = np.hypot(*(placement.apply(theirs.centre_mm) - ours.centre_mm).T) <= comparison.faces.tolerance_mm
    own = ours if other.is_front else theirs
    away = np.hypot(*(own.centre_mm - np.array(zeros.of(is_front=other.is_front)[:2])).T) > _AT_ZERO_MM
    if any(names[row] in other.names for row in own.program[agrees & away].tolist()):
        return True
    for pair in match.outlines:
        off = quick_distances(pair, placement)
        features, row = (comparison.faces.front, pair.front) if other.is_front else (comparison.faces.back, pair.back)
        is_own = names[features.outlines[row].program] in other.names
        if is_own and len(off) and float(off.max()) <= comparison.faces.tolerance_mm:
            return True
    return False


def left_over(comparison: Comparison, placement: Placement) -> list[Finding]:
    """Return findings on holes and outlines that have no partner where the rest agrees."""
    return _left_over_holes(comparison, placement) + _left_over_outlines(comparison, placement)


def _silhouette(comparison: Comparison) -> list[Finding]:
    """Doubt a silhouette unless it is irregular: unless it fits one way round and no other."""
    worst, status = comparison.register.worst_mm, comparison.register.status
    limit = comparison.faces.tolerance_mm
    if len(comparison.passing) > 1:
        reason = "the silhouettes of the cut are symmetric: any two of that size would agree"
    elif comparison.is_coarse and (status is Status.PASS or (worst is not None and worst <= 3 * limit)):
        reason = (
            f"the silhouettes of the cut can be compared to about {limit:z.2f} mm and no closer, "
            "because the lines of both faces end at different places"
        )
    elif status is Status.NOT_DETERMINED and comparison.match is not None:
        reason = "the silhouettes of the cut do not coincide"
    else:
        return []
    return [
        Finding("register", Status.NOT_DETERMINED, f"{reason}; it needs an outline or two holes cut from both faces")
    ]


def _left_over_holes(comparison: Comparison, placement: Placement) -> list[Finding]:
    """As many holes left over on both faces are likely the same holes, misplaced."""
    match, faces = comparison.match, comparison.faces
    if match is None:
        return []
    front_left = faces.front.holes.take(np.delete(np.arange(len(faces.front.holes)), match.front_hole))
    back_left = faces.back.holes.take(np.delete(np.arange(len(faces.back.holes)), match.back_hole))
    # Recesses left over on both faces are no hole of both; nor is one of them with a hole that has its partner.
    front_open = front_left.take(front_left.that_may_meet(back_left, faces.meeting))
    back_open = back_left.take(back_left.that_may_meet(front_left, faces.meeting))
    ours, theirs = front_open.centre_mm, placement.apply(back_open.centre_mm)
    if len(ours) == 0 or len(theirs) == 0:
        return []
    count = f"{len(ours)} of the front and {len(theirs)} of the back"
    if len(ours) >= 2 and len(theirs) >= 2:
        for shift in hole_votes(ours, theirs, comparison.faces.tolerance_mm)[:3]:
            gaps = np.hypot(*np.moveaxis(ours[:, np.newaxis] - (theirs + shift), 2, 0)).min(axis=1)
            hits = int((gaps <= max(2 * faces.tolerance_mm, 0.1)).sum())
            if hits >= max(2, 0.7 * min(len(ours), len(theirs))):
                dx_mm, dy_mm = (-shift).tolist()
                is_sure = bool(front_open.that_meet(back_open, faces.meeting).any())
                return [
                    Finding(
                        "holes",
                        Status.FAIL if is_sure else Status.NOT_DETERMINED,
                        f"{hits} holes of the back that have no partner form the same pattern as holes of the front, "
                        f"but lie X {dx_mm:+z.2f} Y {dy_mm:+z.2f} mm away: "
                        + ("" if is_sure else "they do not reach each other and are two by design, or ")
                        + "their program has another zero",
                    )
                ]
    if len(ours) == len(theirs) and _are_alike(front_open, back_open):
        return [
            Finding(
                "holes",
                Status.NOT_DETERMINED,
                f"holes without a partner: {count}, the first at X {ours[0, 0]:z.2f} Y {ours[0, 1]:z.2f} of the front; "
                "if they are meant to be the same holes, they are misplaced",
            )
        ]
    return [Finding("holes", Status.WARN, f"holes without a partner on the other face: {count}")]


def _are_alike(ours: Holes, theirs: Holes) -> bool:
    """Return whether any hole of the one face is as wide as any of the other, as far as that is known."""
    with np.errstate(invalid="ignore"):
        differ = np.abs(ours.bore_mm[:, np.newaxis] - theirs.bore_mm) > np.maximum(0.3, 0.15 * theirs.bore_mm)
    return bool((~differ).any())


def _left_over_outlines(comparison: Comparison, placement: Placement) -> list[Finding]:
    """Large outlines of one shape that lie apart: the profile and the holes do not share one zero."""
    if comparison.match is None or comparison.by_silhouette:
        return []
    taken_front = {pair.front for pair in comparison.match.outlines}
    taken_back = {pair.back for pair in comparison.match.outlines}
    large = _LARGE_SHARE * min(comparison.faces.front.size_mm, comparison.faces.back.size_mm)
    limit = max(2.0 * comparison.faces.tolerance_mm, 0.1)
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
            f"an outline of the back is the same as one of the front but lies X {dx_mm:+z.2f} Y {dy_mm:+z.2f} mm away "
            "where the rest agrees: its program has another zero"
        )
        return [Finding("register", Status.FAIL, text, comparison.faces.back.names[outline.program], outline.line)]
    return []


def _profiles_apart(comparison: Comparison, placement: Placement) -> list[Finding]:
    """Profiles of about one size that lie apart where recesses or holes agree."""
    if comparison.by_silhouette:
        return []
    away = profiles_apart(comparison.faces, comparison.match, placement)
    if away is None:
        return []
    theirs = comparison.faces.back.outlines[0]
    return [
        Finding(
            "register",
            Status.NOT_DETERMINED,
            f"the profiles of both faces are of about one size but lie {away:z.2f} mm apart where the rest agrees; if "
            "they are one edge, it is not in register",
            comparison.faces.back.names[theirs.program],
            theirs.line,
        )
    ]


def _beside(comparison: Comparison, placement: Placement) -> list[Finding]:
    """Largest outlines that nearly are one edge but do not count as shared."""
    pair = largest_pair(comparison.faces)
    if pair is None or comparison.by_silhouette:
        return []
    matched = () if comparison.match is None else comparison.match.outlines
    if any(other.front == 0 or other.back == 0 for other in matched):
        return []
    ours, theirs = comparison.faces.front.outlines[0], comparison.faces.back.outlines[0]
    if ours.side is not theirs.side or Side.OUTSIDE in (ours.side, theirs.side):
        return []
    if overlap(pair, placement) < LIKE_OVERLAP:
        return []
    gap = even_gap(pair, placement, comparison.faces.tolerance_mm)
    words = None if gap is None else gap_words(gap, ours.edge_radius_mm, theirs.edge_radius_mm)
    if gap is not None and words is not None and pair.goes_through:
        where = "outside" if gap > 0 else "inside"
        text = f"the back's outline runs {abs(gap):z.2f} mm {where} the front's all round: {words}"
        return [Finding("tool", Status.FAIL, text, comparison.faces.back.names[theirs.program], theirs.line)]
    return [
        Finding(
            "register",
            Status.NOT_DETERMINED,
            "the largest outlines of both faces nearly coincide but are not the same; if they are meant to be one "
            "edge, it is not in register; naming the tool diameters may settle it",
            comparison.faces.back.names[theirs.program],
            theirs.line,
        )
    ]
