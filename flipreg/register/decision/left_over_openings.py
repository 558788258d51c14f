"""Openings that both faces cut, one of which lies elsewhere or is of another size than its like."""

from itertools import islice

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Finding, Status
from flipreg.register.faces.features import Features
from flipreg.register.faces.landmarks import compatible, of_contours
from flipreg.register.faces.near import near_pairs
from flipreg.register.faces.outline import Outline, Side, alike, of_one_size
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.agreement import NEAR_MM
from flipreg.register.placing.comparison import Comparison
from flipreg.register.placing.gap import LIKE_OVERLAP, centred, even_gap, gap_words, overlap
from flipreg.register.placing.match import Shared, quick_distances
from flipreg.register.placing.matching import Faces
from flipreg.units import length_text, place_text

__all__ = ["left_over_openings"]

_EVENLY_MM = 0.5
"""Walls that are as far apart everywhere to within this are told of, in millimetres (chosen): corners differ more."""
_LITTLE_MM = 2.5
"""Openings whose walls are further apart are rebated, in millimetres (chosen): cutters of neighbouring sizes differ by
less."""
_MOST_ASKED = 60
"""Pairs of outlines about one middle that are looked at (chosen), to bound the time."""
_MIDDLE = (0.25, 0.75)
"""Between these shares of places two walls of one shape are as far apart; at corners they differ more (chosen)."""
_AS_DEEP_MM = 0.5
"""Openings whose floors differ by no more are as deep, in millimetres (chosen)."""
_DEEPER = 1.25
"""An outline so many times deeper than a recess of its face may be what belongs into it (chosen)."""
_BESIDE = 0.5
"""What goes through no farther apart than this share of its size, as the side of a square, cuts into its like and is
one with it (chosen)."""


def left_over_openings(comparison: Comparison, placement: Placement) -> list[Finding]:
    """Return findings on openings of both faces that have no partner where the rest agrees."""
    pairs = _coinciding(comparison, placement)
    return _misplaced(comparison, placement, pairs) or _most_alone(comparison, pairs) or _stepped(comparison, placement)


def _misplaced(comparison: Comparison, placement: Placement, pairs: set[tuple[int, int]]) -> list[Finding]:
    """Find outlines of one shape of which one lies beside the other: together they would cut a ragged edge."""
    faces, limit_mm = comparison.faces, comparison.faces.misplaced_mm
    for i, j, apart_mm in zip(*_near(faces, placement), strict=True):
        ours, theirs = faces.front.outlines[i], faces.back.outlines[j]
        nearby_mm, are_through = NEAR_MM, faces.meet(i, j, faces.meeting)
        if are_through:
            nearby_mm = max(NEAR_MM, _BESIDE * float(np.sqrt(min(ours.loop.area_mm2, theirs.loop.area_mm2))))
        # A recess around what goes through is no partner of it.
        is_near = apart_mm <= nearby_mm
        has_partner = any(
            (i == one and not (is_near and _is_deeper(faces.back, j, other)))
            or (j == other and not (is_near and _is_deeper(faces.front, i, one)))
            for one, other in pairs
        )
        if has_partner or not alike(ours, theirs) or not faces.meet(i, j, faces.meeting.at_all):
            continue
        pair = faces.pair(i, j)
        there = centred(pair, placement.matrix)
        away_mm = float(np.hypot(*(placement.offset_mm - there.offset_mm)))
        if not (limit_mm < away_mm <= nearby_mm and _are_one_shape(pair, there, limit_mm)):
            # At one place in two directions they would be one opening as well.
            if not (are_through and of_one_size(ours, theirs) and apart_mm <= NEAR_MM):
                continue
            away_mm = float(quick_distances(pair, placement).max(initial=apart_mm))
        at = place_text(ours.loop.points_mm.mean(axis=0).tolist(), 2)
        says = (
            f"an outline of the back without a partner lies {length_text(away_mm)} from one of the front of its size, "
            f"at {at}; if they are one, it is misplaced"
        )
        return [Finding("register", Status.NOT_DETERMINED, says, faces.back.names[theirs.program], theirs.line)]
    return []


def _most_alone(comparison: Comparison, known: set[tuple[int, int]]) -> list[Finding]:
    """Find outlines of one size that go through and lie elsewhere, if they are more than those that coincide.

    Where nobody told the placement, or where the wood is known to be no thicker, one alone in each face is enough: of a
    row most coincide a pitch away, and recesses of one size are seldom so deep.
    """
    faces = comparison.faces
    taken = {i for i, _ in known}, {j for _, j in known}
    pairs = [
        (i, j)
        for i in range(len(faces.front.outlines))
        for j in range(len(faces.back.outlines))
        if i not in taken[0]
        and j not in taken[1]
        and of_one_size(faces.front.outlines[i], faces.back.outlines[j])
        and faces.meet(i, j, faces.meeting)
    ]
    count = min(len({i for i, _ in pairs}), len({j for _, j in pairs}))
    is_enough = comparison.is_found or faces.meeting.shows_thickness
    if count <= (0 if is_enough else max(1, len(taken[0]))):
        return []
    first = faces.back.outlines[pairs[0][1]]
    says = (
        f"{count} outline{'s' * (count > 1)} of each face without a partner, as large as one of the other face and "
        "through; if they are the same, the back lies otherwise"
    )
    return [Finding("flip", Status.NOT_DETERMINED, says, faces.back.names[first.program], first.line)]


def _near(faces: Faces, placement: Placement) -> tuple[list[int], list[int], list[float]]:
    """Return the pairs of outlines whose middles lie near one another, the nearest first, and how near they are."""
    ours, theirs = (
        np.array([one.loop.box_mm for one in side.outlines]).reshape(-1, 2, 2).mean(axis=1)
        for side in (faces.front, faces.back)
    )
    size_mm = max((one.loop.size_mm for one in faces.front.outlines), default=0.0)
    i, j, distance = near_pairs(ours, placement.apply(theirs), NEAR_MM + _BESIDE * size_mm)
    order = np.argsort(distance, kind="stable")
    return i[order].tolist(), j[order].tolist(), distance[order].tolist()


def _are_one_shape(pair: Shared, there: Placement, limit_mm: float) -> bool:
    """Whether two outlines coincide, or run beside each other evenly, where one lies in the middle of the other."""
    off_mm = quick_distances(pair, there)
    if len(off_mm) and float(off_mm.max()) <= limit_mm:
        return True
    return even_gap(pair, there, limit_mm) is not None


def _is_deeper(side: Features, row: int, other: int) -> bool:
    """Return whether an outline of a face is much deeper than another one of it."""
    floors_mm = np.array([side.outlines[one].loop.floor_mm for one in (row, other)])
    return bool(floors_mm[0] < min(_DEEPER * floors_mm[1], floors_mm[1] / _DEEPER))


def _coinciding(comparison: Comparison, placement: Placement) -> set[tuple[int, int]]:
    """Return the pairs of outlines that coincide and are of one shape, compared as one edge or not."""
    shared = () if comparison.match is None else comparison.match.outlines
    # Of final passes only: one of a clearing may be as large as an opening of the other face, and leaves no edge.
    ours, theirs = (of_contours(side.outlines) for side in (comparison.faces.front, comparison.faces.back))
    i, j, _ = near_pairs(ours.centre_mm, placement.apply(theirs.centre_mm), comparison.faces.misplaced_mm)
    may = compatible(ours, theirs, i, j, placement.matrix)
    faces, known = comparison.faces, {(pair.front, pair.back) for pair in shared}
    pairs = zip(i[may].tolist(), j[may].tolist(), strict=True)
    return known | {(one, other) for one, other in pairs if not _is_turned(faces, one, other, placement)}


def _is_turned(faces: Faces, i: int, j: int, placement: Placement) -> bool:
    """Return whether what goes through and is of one size, about one middle, runs apart here and together there."""
    if not (of_one_size(faces.front.outlines[i], faces.back.outlines[j]) and faces.meet(i, j, faces.meeting)):
        return False
    pair = faces.pair(i, j)
    off_mm = quick_distances(pair, placement)
    if len(off_mm) == 0:
        return False
    low_mm, high_mm = np.quantile(off_mm, _MIDDLE).tolist()
    return bool(high_mm - low_mm > max(faces.misplaced_mm, _EVENLY_MM))


def _stepped(comparison: Comparison, placement: Placement) -> list[Finding]:
    """Find what both faces cut through one inside the other, evenly: a rebate, a lip, or another tool than named.

    Where an outline as deep from either face coincides with its like, or where the gap is just what a mistake with the
    tool makes, that is asked about.
    """
    faces = comparison.faces
    front, back = faces.front.outlines, faces.back.outlines
    shared = () if comparison.match is None else comparison.match.outlines
    taken = {pair.front for pair in shared}, {pair.back for pair in shared}
    coinciding = [_floors_mm(faces, pair.front, pair.back) for pair in shared]
    pairs = (
        (i, j)
        for i, j, apart_mm in zip(*_near(faces, placement), strict=True)
        if i not in taken[0] and j not in taken[1] and apart_mm <= faces.misplaced_mm
    )
    unlike: list[Finding] = []
    for i, j in islice(pairs, _MOST_ASKED):
        pair, ours, theirs = faces.pair(i, j), front[i], back[j]
        is_largest = i == j == 0 and overlap(pair, placement) >= LIKE_OVERLAP
        if is_largest or not pair.goes_through or not _is_gap_known(ours, theirs):
            continue
        gap_mm = even_gap(pair, placement, max(faces.tolerance_mm, _EVENLY_MM), over_mm=faces.tolerance_mm)
        is_profile = ours.side is theirs.side is Side.INSIDE
        if gap_mm is None:
            if is_profile and not shared and not of_one_size(ours, theirs):
                unlike.append(_of_two_sizes(faces, ours, theirs))
            continue
        words = gap_words(gap_mm if is_profile else -gap_mm, ours.edge_radius_mm, theirs.edge_radius_mm)
        is_as_deep = any(np.abs(_floors_mm(faces, i, j) - one).max() <= _AS_DEEP_MM for one in coinciding)
        is_asked = is_as_deep or (words is not None and not faces.is_rebated(i, j))
        if abs(gap_mm) > _LITTLE_MM and not (is_asked and words) and not is_profile:
            continue
        why = "it is a lip or a rebate, or one of them is cut with another tool than the one named"
        says = (
            f"{'a profile' if is_profile else 'an opening'} of the back runs {length_text(abs(gap_mm))} "
            f"{'outside' if gap_mm > 0.0 else 'inside'} the front's all round: {why if words is None else words}"
        )
        status = Status.NOT_DETERMINED if is_asked else Status.WARN
        return [Finding("tool", status, says, faces.back.names[theirs.program], theirs.line)]
    return unlike[:1]


def _of_two_sizes(faces: Faces, ours: Outline, theirs: Outline) -> Finding:
    """Remark on profiles about one middle where none coincides with its like."""
    sides_mm = (np.ptp(one.loop.box_mm.reshape(2, 2), axis=0) for one in (ours, theirs))
    front, back = (" × ".join(map(length_text, sides)) for sides in sides_mm)
    says = (
        f"no profile coincides with one of the other face, and those about one middle are of two sizes: {front} of the "
        f"front, {back} of the back"
    )
    return Finding("tool", Status.WARN, says, faces.back.names[theirs.program], theirs.line)


def _is_gap_known(ours: Outline, theirs: Outline) -> bool:
    """Return whether it is known how far apart both edges are: on which side they lie, or that one tool cuts them."""
    radii = ours.edge_radius_mm, theirs.edge_radius_mm
    return None not in radii and (ours.side is theirs.side or radii[0] == radii[1])


def _floors_mm(faces: Faces, i: int, j: int) -> NDArray[np.float64]:
    return np.array([faces.front.outlines[i].loop.floor_mm, faces.back.outlines[j].loop.floor_mm])
