"""Holes without a partner that others of the same face speak for: bored from one face only, or beside a counterbore."""

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Finding, Status
from flipreg.register.faces.features import Features
from flipreg.register.faces.holes import Holes, as_wide
from flipreg.register.faces.near import near_pairs
from flipreg.register.placing.agreement import NEAR_MM
from flipreg.register.placing.match import Match
from flipreg.register.placing.matching import Faces
from flipreg.units import length_text, place_text

__all__ = ["beside_a_counterbore", "bored_from_one_face"]

Rows = NDArray[np.intp]

_ALIKE_MM = 0.02
"""Holes whose bores and depths differ by no more are alike, in millimetres (chosen): what rounding does to them."""
_FEWEST = 2
"""So many holes that go through say what those like them are meant to do (chosen)."""
_MUCH_DEEPER = 1.25
"""A hole so many times deeper than a recess of its face may belong into it (chosen)."""


def bored_from_one_face(match: Match, faces: Faces) -> list[Finding]:
    """Return a finding for each face that bores holes without a partner, and more holes like them with one.

    Parameters
    ----------
    match : Match
        Which holes are the same.
    faces : Faces
        Both faces; nothing is found where the thickness of the blank is not known.
    """
    return [
        *_of_face(faces, match, "front"),
        *_of_face(faces, match, "back"),
    ]


def beside_a_counterbore(match: Match, faces: Faces) -> list[Finding]:
    """Return a finding if a hole's partner is a mere recess, and a hole of that face lies beside it without one.

    It may belong into the recess if it is much deeper, or if its width is nearer to that of the hole of the other face;
    where widths aren't known, one of another depth may be.

    Parameters
    ----------
    match : Match
        Which holes are the same.
    faces : Faces
        Both faces.
    """
    for face, paired, partners, is_front in (
        (faces.front, match.front_hole, faces.back.holes.take(match.back_hole), True),
        (faces.back, match.back_hole, faces.front.holes.take(match.front_hole), False),
    ):
        alone = np.delete(np.arange(len(face.holes)), paired)
        recesses, left = face.holes.take(paired), face.holes.take(alone)
        i, j, distance = near_pairs(recesses.centre_mm, left.centre_mm, 2.0 * NEAR_MM)
        reach = np.maximum(NEAR_MM, recesses.reach_mm()[i] + left.reach_mm()[j])
        with np.errstate(invalid="ignore"):
            is_deeper = left.depth_mm[j] >= _MUCH_DEEPER * recesses.depth_mm[i]
            is_deeper |= left.height_mm[j] * _MUCH_DEEPER <= recesses.height_mm[i]
        with np.errstate(invalid="ignore"):
            wider_mm = np.abs(recesses.bore_mm[i] - partners.bore_mm[i])
            is_nearer = np.abs(left.bore_mm[j] - partners.bore_mm[i]) < wider_mm
        is_nearer &= ~as_wide(recesses.bore_mm[i], partners.bore_mm[i])
        is_known = np.isfinite(wider_mm) & np.isfinite(left.bore_mm[j])
        is_nearer |= ~is_known & ~(np.abs(left.floor_mm[j] - recesses.floor_mm[i]) <= _ALIKE_MM)
        for row in np.flatnonzero((is_deeper | is_nearer) & (distance <= reach + _ALIKE_MM))[:1].tolist():
            hole = int(alone[j[row]])
            at_mm = _place(face.holes, hole, match, is_front=is_front)
            says = (
                f"a hole of the {'front' if is_front else 'back'} without a partner lies at {place_text(at_mm, 2)}, "
                f"{length_text(float(distance[row]))} beside a recess that has one; if it belongs into that, it is "
                "misplaced"
            )
            return [_finding(face, hole, Status.NOT_DETERMINED, says, at_mm)]
    return []


def _of_face(faces: Faces, match: Match, name: str) -> list[Finding]:
    is_front = name == "front"
    face, opposite = (faces.front, faces.back) if is_front else (faces.back, faces.front)
    paired, partner = (match.front_hole, match.back_hole) if is_front else (match.back_hole, match.front_hole)
    thickness_mm, holes, others = faces.meeting.thickness_mm, face.holes, opposite.holes
    if thickness_mm is None:
        return []
    meets = faces.meeting.meet(
        holes.depth_mm[paired], holes.height_mm[paired], others.depth_mm[partner], others.height_mm[partner]
    )
    both = paired[meets]
    alone = np.delete(np.arange(len(holes)), paired)
    is_like = _alike(holes, alone, both)
    like = is_like.sum(axis=1)
    # What goes through from one face needs no other half.
    deep_mm = np.where(np.isnan(holes.depth_mm), thickness_mm - holes.height_mm, holes.depth_mm)
    alone = alone[(like >= _FEWEST) & (deep_mm[alone] < thickness_mm)]
    count = int(is_like.any(axis=0).sum())
    if not len(alone) or len(alone) >= count:
        return []
    first = int(alone[0])
    at_mm = _place(holes, first, match, is_front=is_front)
    many = "a hole is" if len(alone) == 1 else f"{len(alone)} holes are"
    at = "at" if len(alone) == 1 else "the first at"
    says = (
        f"{many} bored from the {name} only, {length_text(float(deep_mm[first]))} deep, {at} "
        f"{place_text(at_mm, 2)}, where {count} like {'it' if len(alone) == 1 else 'them'} go through from both "
        f"faces: is the other half missing?"
    )
    return [_finding(face, first, Status.WARN, says, at_mm)]


def _place(holes: Holes, hole: int, match: Match, *, is_front: bool) -> tuple[float, float]:
    """Return where a hole of either face lies on the front, in millimetres."""
    centre_mm = holes.centre_mm[hole : hole + 1]
    x_mm, y_mm = (centre_mm if is_front else match.placement.apply(centre_mm))[0].tolist()
    return x_mm, y_mm


def _finding(face: Features, hole: int, status: Status, says: str, at_mm: tuple[float, float]) -> Finding:
    program = face.names[face.holes.program[hole]]
    return Finding("holes", status, says, program, int(face.holes.line[hole]), at_mm=at_mm)


def _alike(holes: Holes, some: Rows, others: Rows) -> NDArray[np.bool_]:
    """Return which holes are as wide and as deep as which others, shape (some, others)."""
    columns = holes.bore_mm, holes.floor_mm
    off = [np.abs(column[some][:, np.newaxis] - column[others]) <= _ALIKE_MM for column in columns]
    return np.logical_and(*off)
