"""Features of any kind without a partner that would have one elsewhere: those of a program with another zero."""

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Finding, Status
from flipreg.register.faces.landmarks import LandmarkKind, Landmarks
from flipreg.register.faces.number import offset_text
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.agreement import NEAR_MM, Agreement, Comparable
from flipreg.register.placing.by_design import is_other_row
from flipreg.register.placing.comparison import Comparison
from flipreg.register.placing.evidence import FEW, LIKELY_CHANCE
from flipreg.register.placing.matching import Faces
from flipreg.register.placing.search import ORIENTATIONS
from flipreg.register.placing.vote import candidates
from flipreg.units import length_text

__all__ = ["left_over_features"]

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]

_ONE_WIDTH_MM = 0.05
"""Notches whose widths differ by no more are as wide, in millimetres (chosen)."""
_SAME_WAY = 1e-3
"""Ways round whose matrices differ by less are one (chosen): they lie a right angle or a mirror apart."""
_MOST = 0.75
"""Where this share of all features coincides and goes through farther away, and no more than the rest coincides here,
a program may have another zero (chosen)."""
_MANY = 8
"""So many features in no order may still be recesses of both faces that lie apart by design (chosen)."""
_DECIMALS = 2
"""Floors that are the same to so many decimals of a millimetre are as deep (chosen)."""
_SIDES = 2
"""A cut has so many ends, and a notch so many corners."""
_WALLS = 2
"""So many corners are off alike where a rebate is wider to one side (chosen)."""


def left_over_features(comparison: Comparison, placement: Placement) -> list[Finding]:
    """Return a finding if features without a partner would all have one if their program lay otherwise.

    Shifted by little, or by anything if they are no other row, if they are openings or cuts that go through together,
    or if most of all there are does: recesses of both faces may lie apart by design. Or another way round, if they go
    through together: the program of a back may not be mirrored.

    Parameters
    ----------
    comparison : Comparison
        Both faces, and what corresponds.
    placement : Placement
        Where the back was told to lie, or was found.
    """
    faces = comparison.faces
    # A feature that is off by more than the tolerance lies elsewhere, even where the search takes it for the same.
    gate_mm = min(faces.comparable.gate_mm, faces.misplaced_mm)
    both = Comparable(faces.comparable.front, faces.comparable.back, gate_mm, faces.comparable.size_mm)
    # The rest agrees where it lies best, which may be further from where it was told than features are apart.
    rest = placement if comparison.match is None else comparison.match.placement
    told = both.at(rest, placements=both.near_placements)
    told_front, told_back = _of_one_kind(both, told)
    # Among all features those that agree would outvote a shift of the rest that is less than a cell of the vote.
    left = Comparable(_without(both.front, told_front), _without(both.back, told_back), gate_mm, both.size_mm)
    others = [way.matrix for way in ORIENTATIONS if np.abs(way.matrix - placement.matrix).max() > _SAME_WAY]
    for ballot in (ballot for matrix in (placement.matrix, *others) for ballot in candidates(left, matrix)):
        is_told_way = ballot.placement.matrix is placement.matrix
        away_mm = rest.offset_mm - ballot.placement.offset_mm
        if is_told_way and np.hypot(*away_mm) <= max(gate_mm, faces.tolerance_mm):
            continue
        there = both.at(ballot.placement, placements=both.near_placements if is_told_way else both.all_placements)
        ours, theirs = _of_one_kind(both, there)
        # In a row some have another one's place where they were told to lie.
        is_alone = ~(np.isin(ours, told_front) | np.isin(theirs, told_back))
        if there.log10_false_alarms > LIKELY_CHANCE or 2 * int(is_alone.sum()) <= len(ours):
            continue
        alone = _LeftOver(faces, both, ours[is_alone], theirs[is_alone], left.features)
        if not is_told_way:
            is_asked = alone.are_all_through
        elif np.hypot(*away_mm) <= NEAR_MM:
            is_asked = alone.are_many or alone.are_most_through
        else:
            is_little = told.coincide <= (1.0 - _MOST) * told.features
            all_through = is_little and alone.through >= _MOST * there.features
            is_row = len(ours) <= _MANY or is_other_row(both.front.centre_mm[ours], away_mm, gate_mm)
            is_asked = (alone.are_many and (all_through or not is_row)) or alone.are_all_through
        if is_asked:
            return [_finding(faces, theirs, away_mm if is_told_way else None)]
    rows = told_front, told_back
    return _near_their_like(faces, both, rows, rest) or _as_those_that_coincide(faces, both, *rows)


def _near_their_like(faces: Faces, both: Comparable, told: tuple[Rows, Rows], rest: Placement) -> list[Finding]:
    """Ask about features that lie near their like, each its own way: their program may be turned."""
    # A recess that coincides with what goes through is no partner of it; holes are asked about by themselves.
    meet = faces.marks_meet(both.front.take(told[0]), both.back.take(told[1]), faces.meeting)
    front, back = (
        _without(marks, np.union1d(rows[meet], np.flatnonzero(marks.kind == LandmarkKind.HOLE)))
        for marks, rows in zip((both.front, both.back), told, strict=True)
    )
    if len(front) == 0 or len(back) == 0:
        return []
    deep_front = front.take(np.full(len(back), np.argmin(front.floor_mm)))
    deep_back = back.take(np.full(len(front), np.argmin(back.floor_mm)))
    may_front = faces.marks_meet(front, deep_back, faces.meeting.at_all)
    may_back = faces.marks_meet(deep_front, back, faces.meeting.at_all)
    left = Comparable(front.take(may_front), back.take(may_back), both.gate_mm, both.size_mm)
    # A turn moves the far end of a cut by more than its near end.
    ours, theirs, distance_mm = left.pairs(rest, 2.0 * NEAR_MM)
    off = (left.front.kind[ours] == left.back.kind[theirs]) & (distance_mm > both.gate_mm)
    ours, theirs, distance_mm = ours[off], theirs[off], distance_mm[off]
    is_far = len(ours) == 0 or float(np.median(distance_mm)) > NEAR_MM
    if is_far or not _LeftOver(faces, left, ours, theirs, left.features).are_most_through:
        return []
    worst = int(np.argmax(distance_mm))
    says = (
        f"{len(theirs)} features of the back lie near ones of the front that they are like, up to "
        f"{length_text(float(distance_mm[worst]))} away; if they are the same, their program is turned, or they are "
        "misplaced"
    )
    return [_asked(faces, left.back, int(theirs[worst]), says)]


def _as_those_that_coincide(faces: Faces, both: Comparable, told_front: Rows, told_back: Rows) -> list[Finding]:
    """Ask about corners, or ends, without a partner if no fewer of the same depth coincide and go through."""
    for kind in (LandmarkKind.CORNER, LandmarkKind.END):
        pairs = both.front.kind[told_front] == kind
        ours, theirs = told_front[pairs], told_back[pairs]
        front, back = (_like(marks, rows) for marks, rows in ((both.front, ours), (both.back, theirs)))
        count = min(len(front), len(back))
        through = _LeftOver(faces, both, ours, theirs, both.features).through
        if _SIDES <= count <= len(ours) == through:
            says = (
                f"{count} {'corners' if kind == LandmarkKind.CORNER else 'ends of cuts'} of the back have no partner, "
                "and no fewer of the front, which are like those that coincide; if they are the same, they are "
                "misplaced"
            )
            return [_asked(faces, both.back, int(back[0]), says)]
    return []


def _like(marks: Landmarks, rows: Rows) -> Rows:
    """Return the features of a face that are of one kind and as deep as some of `rows`, but none of them."""
    if len(rows) == 0:
        return rows
    floor_mm = np.round(marks.floor_mm, _DECIMALS)
    is_like = (marks.kind == marks.kind[rows[0]]) & np.isin(floor_mm, floor_mm[rows])
    is_like[rows] = False
    return np.flatnonzero(is_like)


class _LeftOver:
    """Pairs of features that would coincide after a shift, and had no partner before."""

    def __init__(self, faces: Faces, both: Comparable, ours: Rows, theirs: Rows, features: int) -> None:
        self._count, self._features = len(ours), features
        self._are_whole = not _are_of_one_wall(both.front.take(ours), both.back.take(theirs)).any()
        sides = both.front.take(ours), both.back.take(theirs)
        self.through = int(faces.marks_meet(*sides, faces.meeting).sum())
        """How many go through the blank together, as far as that is known."""
        self.may_be_through = int(faces.marks_meet(*sides, faces.meeting.at_all).sum())
        """How many may do so."""

    @property
    def are_many(self) -> bool:
        """Whether they are so many that they are the same, however they lie to the rest."""
        return self._count > FEW

    @property
    def are_most_through(self) -> bool:
        """Whether they may go through, are most of what is left, and more than two walls of a rebate."""
        is_enough = self._count > _WALLS or (self._count == _WALLS and self._are_whole)
        return is_enough and 2 * self._count > self._features and self.may_be_through >= _MOST * self._count

    @property
    def are_all_through(self) -> bool:
        """Whether they are nearly all that is left, and go through: openings and saw cuts, not housings or pockets.

        Of corners it takes more than a rebate has.
        """
        are_whole = self._are_whole or self._count > _MANY
        return self.are_most_through and are_whole and self.through >= _MOST * self._features


def _are_of_one_wall(front: Landmarks, back: Landmarks) -> NDArray[np.bool_]:
    """Return which pairs may be off because one wall of a rebate is: corners, but those of notches as wide."""
    is_bend = np.isin(front.kind, (LandmarkKind.CORNER, LandmarkKind.ARC))
    is_notch = (front.kind == LandmarkKind.CORNER) & (front.size_mm > 0.0)
    return np.asarray(is_bend & ~(is_notch & (np.abs(front.size_mm - back.size_mm) <= _ONE_WIDTH_MM)))


def _asked(faces: Faces, back: Landmarks, row: int, says: str) -> Finding:
    """Return a question about a feature of the back."""
    return Finding("register", Status.NOT_DETERMINED, says, faces.back.names[back.program[row]], int(back.line[row]))


def _finding(faces: Faces, theirs: Rows, away_mm: Floats | None) -> Finding:
    """Return what to say of features that lie so far from their like, or another way round where that is None."""
    back = faces.comparable.back
    if away_mm is None:
        says = "there only another way round; if they are the same, their program is not mirrored as the others are"
    else:
        dx_mm, dy_mm = away_mm.tolist()
        where = f"{offset_text(dx_mm, dy_mm)} away where the rest agrees"
        says = f"{where}; if they are the same, their program has another zero"
    says = f"{len(theirs)} features of the back are like ones of the front but lie {says}"
    return _asked(faces, back, int(theirs[0]), says)


def _without(marks: Landmarks, rows: Rows) -> Landmarks:
    return marks.take(np.delete(np.arange(len(marks)), rows))


def _of_one_kind(both: Comparable, agreement: Agreement) -> tuple[Rows, Rows]:
    """Return the pairs that coincide of one kind: a ring round a hole of the other face has its like elsewhere too."""
    ours, theirs = agreement.front, agreement.back
    same = both.front.kind[ours] == both.back.kind[theirs]
    return ours[same], theirs[same]
