"""What has no partner where the rest of both faces agrees: holes, outlines and other features that may be misplaced."""

import numpy as np

from flipreg.findings import Finding, Status
from flipreg.register.decision.left_over_features import left_over_features
from flipreg.register.decision.left_over_holes import left_over_holes
from flipreg.register.decision.left_over_openings import left_over_openings
from flipreg.register.faces.near import near_pairs
from flipreg.register.faces.number import offset_text
from flipreg.register.faces.outline import alike
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.agreement import NEAR_MM
from flipreg.register.placing.comparison import Comparison
from flipreg.register.placing.evidence import FEW
from flipreg.register.placing.gap import centred
from flipreg.register.placing.match import quick_distances
from flipreg.register.placing.open_end import may_end_in_air

__all__ = ["left_over"]

_LARGE_SHARE = 0.4
"""Outlines of one shape may lie at different places by design if they are smaller than this share of a face
(chosen)."""


def left_over(comparison: Comparison, placement: Placement) -> list[Finding]:
    """Return findings on holes and outlines that have no partner where the rest agrees."""
    return (
        left_over_holes(comparison, placement)
        + _left_over_outlines(comparison, placement)
        + left_over_features(comparison, placement)
        + _differing_contours(comparison, placement)
        + left_over_openings(comparison, placement)
    )


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


