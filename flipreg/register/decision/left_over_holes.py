"""Holes of both faces without a partner where the rest agrees: they may be the same holes, misplaced."""

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Finding, Status
from flipreg.register.decision.one_sided import beside_a_counterbore, bored_from_one_face
from flipreg.register.faces.features import Features
from flipreg.register.faces.holes import Holes, all_of, as_wide
from flipreg.register.faces.near import near_pairs, thinned
from flipreg.register.faces.number import offset_text
from flipreg.register.faces.placement import Placement
from flipreg.register.faces.through import Meeting
from flipreg.register.placing.agreement import NEAR_MM
from flipreg.register.placing.by_design import is_other_row
from flipreg.register.placing.coincidence import hole_votes
from flipreg.register.placing.comparison import Comparison
from flipreg.register.placing.match import Match
from flipreg.register.placing.matching import Faces
from flipreg.units import length_text, place_text

__all__ = ["left_over_holes"]

Rows = NDArray[np.intp]

_LEAST_PATTERN, _PATTERN = 2, 0.7
"""So many holes, and so much of those of the face with fewer, form one pattern (chosen)."""
_THIN = 2
"""So few holes without an outline leave open whether left-over ones are the same (chosen)."""
_MOST_PROBED = 200
"""Holes of the other face by which it is seen which may go through (chosen)."""
_ALIKE_MM = 0.02
"""Bores and depths that are the same in so many steps are alike, in millimetres (chosen)."""


def left_over_holes(comparison: Comparison, placement: Placement) -> list[Finding]:
    """Find holes without a partner on both faces: they are likely the same holes, misplaced."""
    match, faces = comparison.match, comparison.faces
    if match is None:
        return []
    beside = beside_a_counterbore(match, faces)
    if beside:
        return beside
    front_left, back_left = _without_partner(match, faces, placement)
    in_recesses = _in_recesses(match, faces, front_left, back_left)
    if in_recesses:
        return in_recesses
    # Two recesses make no hole through both faces, and a hole that has its partner makes none with a recess.
    meeting = faces.meeting.at_all
    front_open = front_left.take(front_left.that_may_meet(back_left, meeting))
    back_open = back_left.take(back_left.that_may_meet(front_left, meeting))
    ours, theirs = front_open.centre_mm, placement.apply(back_open.centre_mm)
    if len(ours) == 0 or len(theirs) == 0:
        return bored_from_one_face(match, faces)
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
    may = _may_meet(meeting, front_open.take(i), back_open.take(j))
    for row in np.flatnonzero(may)[np.argsort(distance[may])][:1].tolist():
        one, other = front_open.take(i[row : row + 1]), back_open.take(j[row : row + 1])
        # A hole that is begun inside another one is the same, whatever cutters make them.
        is_inside = distance[row] < float(np.minimum(one.reach_mm(), other.reach_mm())[0])
        if is_inside or _are_alike(comparison, one, other):
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
    front_open = front_open.take(front_open.that_may_meet(back_open, faces.meeting))
    back_open = back_open.take(back_open.that_may_meet(front_open, faces.meeting))
    ours, theirs = front_open.centre_mm, placement.apply(back_open.centre_mm)
    if len(ours) == 0 or len(theirs) == 0:
        return bored_from_one_face(match, faces)
    count = f"{len(ours)} of the front and {len(theirs)} of the back"
    # Two holes meet in more than one way round: then one that is left over on both faces may show which.
    is_thin = len(match.front_hole) <= _THIN and not any(pair.goes_through for pair in match.outlines)
    # Of holes like those that are shared some are left over in each face.
    like_front = front_open.take(_like(front_open, faces.front.holes.take(match.front_hole)))
    like_back = back_open.take(_like(back_open, faces.back.holes.take(match.back_hole)))
    is_even = len(ours) == len(theirs) or min(len(like_front), len(like_back)) > 0
    is_even |= _as_many(front_open, back_open, faces.meeting)
    if (is_thin or is_even) and _are_alike(comparison, front_open, back_open):
        first_mm = (like_front if len(like_front) else front_open).centre_mm[0].tolist()
        says = (
            f"holes without a partner: {count}, the first at {place_text(first_mm, 2)} of the front; "
            "if they are meant to be the same holes, they are misplaced"
        )
        if is_thin:
            return [Finding("flip", Status.NOT_DETERMINED, says)]
        return [Finding("holes", Status.NOT_DETERMINED, says)]
    return [Finding("holes", Status.WARN, f"holes without a partner on the other face: {count}")]


def _as_many(ours: Holes, theirs: Holes, meeting: Meeting) -> bool:
    """Return whether as many holes of one width and depth are left over in both faces, and may go through together."""
    kinds = [_kinds(one) for one in (ours, theirs)]
    front, back = (one.take(rows) for one, (rows, _) in zip((ours, theirs), kinds, strict=True))
    i, j = np.indices((len(front), len(back))).reshape(2, -1)
    alike = as_wide(front.bore_mm[i], back.bore_mm[j]) & _may_meet(meeting, front.take(i), back.take(j))
    return bool((alike & (kinds[0][1][i] == kinds[1][1][j])).any())


def _kinds(holes: Holes) -> tuple[Rows, Rows]:
    """Return the row of one hole of each width and depth, of no more than some, and how many there are."""
    keys = np.round(np.column_stack([np.nan_to_num(holes.bore_mm, nan=-1.0), holes.floor_mm]) / _ALIKE_MM)
    _, rows, counts = np.unique(keys, axis=0, return_index=True, return_counts=True)
    return rows[:_MOST_PROBED], counts[:_MOST_PROBED]


def _like(some: Holes, others: Holes) -> NDArray[np.bool_]:
    """Return which holes are as deep as any of the others and as wide, as far as that is known, shape (n,)."""
    found = np.zeros(len(some), np.bool_)
    deep = np.round(some.floor_mm / _ALIKE_MM)
    for row in _kinds(others)[0].tolist():
        is_deep = deep == np.round(others.floor_mm[row] / _ALIKE_MM)
        found |= is_deep & as_wide(some.bore_mm, others.bore_mm[row : row + 1])
    return found


def _same_pattern(
    faces: Faces, front: Holes, back: Holes, placement: Placement
) -> tuple[int, NDArray[np.float64], bool] | None:
    """Return how many holes one shift would lay on holes of the front, that shift, and whether any surely goes through.

    A recess makes a hole only with what goes far down from the other face, and counts where most of that does.
    """
    meeting = faces.meeting.at_all
    front, back = front.take(_mostly_meets(meeting, front, back)), back.take(_mostly_meets(meeting, back, front))
    ours, theirs = front.centre_mm, placement.apply(back.centre_mm)
    if min(len(ours), len(theirs)) < _LEAST_PATTERN:
        return None
    for shift in hole_votes(ours, theirs, faces.tolerance_mm)[:3]:
        gate_mm = max(2 * faces.tolerance_mm, 0.1)
        i, j, _ = near_pairs(ours, theirs + shift, gate_mm)
        may = _may_meet(meeting, front.take(i), back.take(j))
        i, j = i[may], j[may]
        hits = len(np.unique(i))
        if hits < max(_LEAST_PATTERN, _PATTERN * min(len(ours), len(theirs))):
            continue
        # Rows of shelf holes are staggered, and dowel holes are drilled into both ends.
        is_other = np.hypot(*shift) > NEAR_MM and is_other_row(ours[np.unique(i)], shift, gate_mm)
        # What meets only if the edge is cut deeper than it needs may as well be two pairs of blind holes.
        is_enough = hits > _LEAST_PATTERN or bool(_may_meet(faces.meeting, front.take(i), back.take(j)).any())
        if is_enough and not is_other:
            return hits, shift, bool(front.that_meet(back, faces.meeting).any())
    return None


def _mostly_meets(meeting: Meeting, holes: Holes, others: Holes) -> NDArray[np.bool_]:
    """Return which holes may go through together with most of the other face's, shape (n,)."""
    some = others.take(thinned(np.arange(len(others)), _MOST_PROBED))
    may = meeting.may_meet(
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



def _in_recesses(match: Match, faces: Faces, front_left: Holes, back_left: Holes) -> list[Finding]:
    """Ask about holes that lie in recesses of the other face, if as many of their width lie there without a partner."""
    ours, theirs = faces.front.holes.take(match.front_hole), faces.back.holes.take(match.back_hole)
    is_unlike = ~as_wide(ours.bore_mm, theirs.bore_mm)
    for left, holes, name in ((front_left, theirs, "front"), (back_left, ours, "back")):
        left = left.take(left.that_may_meet(holes.take(is_unlike), faces.meeting))
        widths = np.unique(holes.bore_mm[is_unlike & np.isfinite(holes.bore_mm)])
        known = left.bore_mm[np.isfinite(left.bore_mm), np.newaxis]
        count, most = int(as_wide(known, widths).any(axis=1).sum()), int(is_unlike.sum())
        if _LEAST_PATTERN <= most <= count:
            says = (
                f"{most} holes lie in recesses of the {name}, which has {count} of their width without a partner; "
                "if they are the same, the back lies otherwise"
            )
            return [Finding("flip", Status.NOT_DETERMINED, says)]
    return []


def _without_partner(match: Match, faces: Faces, placement: Placement) -> tuple[Holes, Holes]:
    """Return the holes of front and back without a partner, with those that meet only if the edge is cut too deep.

    Such holes are none that a comparison takes for the same; they have a partner if they lie as the tolerance asks.
    """
    front, back = _all_holes(faces.front), _all_holes(faces.back)
    i, j, _ = near_pairs(front.centre_mm, placement.apply(back.centre_mm), faces.misplaced_mm)
    # The first ones are those that a comparison takes for the same, and it says which they are.
    i, j = i[i >= len(faces.front.holes)], j[j >= len(faces.back.holes)]
    return (
        front.take(np.delete(np.arange(len(front)), np.concatenate([match.front_hole, i]))),
        back.take(np.delete(np.arange(len(back)), np.concatenate([match.back_hole, j]))),
    )


def _all_holes(face: Features) -> Holes:
    return face.holes if face.blind is None else all_of([face.holes, face.blind])
