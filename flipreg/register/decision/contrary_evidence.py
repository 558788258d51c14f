"""Reasons not to believe a register that measured well, or not to blame one that measured badly."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Finding, Status
from flipreg.register.decision.elsewhere import elsewhere
from flipreg.register.decision.extents import extents
from flipreg.register.decision.left_over import left_over
from flipreg.register.decision.unseen_cuts import unseen_cuts
from flipreg.register.faces.landmarks import LandmarkKind
from flipreg.register.faces.outline import Side, of_one_size
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.comparison import Comparison
from flipreg.register.placing.gap import (
    LIKE_OVERLAP,
    even_gap,
    gap_words,
    largest_pair,
    overlap,
    profiles_apart,
)
from flipreg.units import length_text, shown_now

__all__ = ["contrary_evidence"]

Floats = NDArray[np.float64]

_ONE_FIELD, _FIELD_MM = 1.25, 20.0
"""What both faces cut is of one size if it differs by less than this factor and so many millimetres (chosen): passes
run out beyond the part, on either side."""
_AS_DEEP = 0.35
"""A rabbet is less deep than this share of the profile that the other face cuts (chosen)."""
_ONE_SIZE_MM = 0.02
"""Tools that are taken to differ by no more are of one size, in millimetres (chosen)."""


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
    match = None if comparison.by_silhouette or not comparison.is_found else comparison.match
    if match is not None and comparison.faces.are_blind(match.front_mark, match.back_mark):
        says = "nothing that coincides goes through the blank, and may lie in both faces at different places by design"
        found.append(Finding("flip", Status.NOT_DETERMINED, says))
    if found or comparison.placement is None:
        return found
    register = comparison.register
    # What lies apart by design is no program that has another zero.
    if comparison.match is None or not (register.status is Status.FAIL or register.may_be_by_design):
        found += left_over(comparison, comparison.placement) + _profiles_apart(comparison, comparison.placement)
    if register.status is not Status.FAIL:
        found += _beside(comparison, comparison.placement) + _notches_of_two_sizes(comparison)
    if comparison.match is None:
        found += _fields_unlike(comparison, comparison.placement)
    found += _profiles_unlike(comparison) + unseen_cuts(comparison)
    if not comparison.is_found and not register.is_proof:
        found += _extents_apart(comparison, comparison.placement)
    return found


def _extents_apart(comparison: Comparison, placement: Placement) -> list[Finding]:
    """Each face cuts farther on another side: the weakest evidence, asked only where nothing shared decides."""
    faces = comparison.faces.front, comparison.faces.back
    front, back = (list(zip(one.cuts, one.radius_mm, strict=True)) for one in faces)
    number = shown_now().number
    return [
        Finding(
            "extents",
            Status.NOT_DETERMINED,
            f"along {one.axis.upper()} the front cuts from {number(one.front_mm[0])} to {number(one.front_mm[1])} and "
            f"the back from {number(one.back_mm[0])} to {number(one.back_mm[1])}: the middles lie "
            f"{length_text(abs(one.offset_mm))} apart, and different sizes, tools and lead-ins explain "
            f"{length_text(one.explained_mm)}; if both make one part, the back lies elsewhere",
        )
        for one in extents(front, back, placement)
        if one.contradicts
    ]


def _silhouette(comparison: Comparison) -> list[Finding]:
    """Doubt a silhouette unless it is irregular: unless it fits one way round and no other."""
    worst, status = comparison.register.worst_mm, comparison.register.status
    limit = comparison.faces.tolerance_mm
    if len(comparison.passing) > 1:
        reason = "the silhouettes of the cut are symmetric: any two of that size would agree"
    elif comparison.is_coarse and (status is Status.PASS or (worst is not None and worst <= 3 * limit)):
        reason = (
            f"the silhouettes of the cut can be compared to about {length_text(limit)} and no closer, "
            "because the lines of both faces end at different places"
        )
    elif status is Status.NOT_DETERMINED and comparison.match is not None:
        reason = "the silhouettes of the cut do not coincide"
    else:
        return []
    return [
        Finding("register", Status.NOT_DETERMINED, f"{reason}; it needs an outline or two holes cut from both faces")
    ]


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
            f"the profiles of both faces are of about one size but lie {length_text(away)} apart where the rest "
            "agrees; if they are one edge, it is not in register",
            comparison.faces.back.names[theirs.program],
            theirs.line,
        )
    ]


def _fields_unlike(comparison: Comparison, placement: Placement) -> list[Finding]:
    """Doubt what the shape of the wood shows where both faces cut fields of two sizes."""
    front, back = comparison.faces.front, comparison.faces.back
    if front.is_empty or back.is_empty:
        return []
    corners = front.cut_box_mm.reshape(2, 2), placement.apply(back.cut_box_mm.reshape(2, 2))
    sizes_mm = [np.ptp(one, axis=0) for one in corners]
    larger, smaller = np.maximum(*sizes_mm), np.minimum(*sizes_mm)
    if not (larger > _ONE_FIELD * smaller + _FIELD_MM).any():
        return []
    return [_of_two_sizes("what both faces cut is", sizes_mm)]


def _profiles_unlike(comparison: Comparison) -> list[Finding]:
    """Doubt register where both faces cut a profile about as deep, which go through together and are of two sizes."""
    faces = comparison.faces
    if comparison.by_silhouette or not (faces.front.outlines and faces.back.outlines):
        return []
    ours, theirs = faces.front.outlines[0], faces.back.outlines[0]
    floors_mm = sorted((ours.loop.floor_mm, theirs.loop.floor_mm))
    is_edge = ours.side is theirs.side is Side.INSIDE and faces.meet(0, 0, faces.meeting)
    if not is_edge or floors_mm[1] > _AS_DEEP * floors_mm[0] or of_one_size(ours, theirs):
        return []
    # An opening is the largest contour of a face that cuts no profile, and holes lie beside it.
    if not (faces.front.largest_is_edge and faces.back.largest_is_edge):
        return []
    sizes_mm = [np.ptp(one.loop.box_mm.reshape(2, 2), axis=0) for one in (ours, theirs)]
    return [_of_two_sizes("the profiles of both faces go through together and are", sizes_mm)]


def _of_two_sizes(what: str, sizes_mm: Sequence[Floats]) -> Finding:
    words = (" × ".join(length_text(float(side)) for side in size) for size in sizes_mm)
    says = f"{what} of two sizes, {' and '.join(words)}: they may be of two parts"
    return Finding("register", Status.NOT_DETERMINED, says)


def _notches_of_two_sizes(comparison: Comparison) -> list[Finding]:
    """Notches that are alike if tools that nobody told are of two sizes: that shows where they lie and no size."""
    differ_mm = 2.0 * comparison.faces.wider_mm
    if abs(differ_mm) <= _ONE_SIZE_MM or comparison.evidence is None:
        return []
    marks = comparison.faces.comparable.front.take(comparison.evidence.agreement.front)
    if not ((marks.kind == LandmarkKind.CORNER) & (marks.size_mm > 0.0)).any():
        return []
    says = (
        f"the notches of both faces are alike only if their tools are taken to differ by {length_text(abs(differ_mm))}:"
        " that shows where they lie, and not how wide they get; name the tool diameters"
    )
    return [Finding("tool", Status.NOT_DETERMINED, says)]


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
        text = f"the back's outline runs {length_text(abs(gap))} {where} the front's all round: {words}"
        status = Status.FAIL
        if comparison.faces.is_rebated(pair.front, pair.back):
            text, status = f"{text}; or one of them is a rebate", Status.NOT_DETERMINED
        return [Finding("tool", status, text, comparison.faces.back.names[theirs.program], theirs.line)]
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
