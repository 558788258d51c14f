"""Whether features that coincide only far from where the back was told to lie may be others of the same kind.

A row of shelf holes is bored into both faces of a divider, staggered, so that the holes don't meet; a pocket may have
its like in the other face. That they would coincide elsewhere, and would go through there, disproves nothing, unless
what coincides there can hardly be in both faces by design: the edge of the part, holes that each face bores through by
itself, or an arrangement that is no row and no grid.
"""

from collections.abc import Collection

import numpy as np
from numpy.typing import NDArray

from flipreg.register.faces.landmarks import LandmarkKind
from flipreg.register.faces.near import SortedPoints, thinned
from flipreg.register.faces.outline import Side
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.agreement import NEAR_MM
from flipreg.register.placing.evidence import Evidence
from flipreg.register.placing.match import Match, Shared, quick_distances
from flipreg.register.placing.matching import Faces

__all__ = ["is_other_row", "may_be_by_design", "may_be_others"]

Floats = NDArray[np.float64]

_LEAST_OF_ITS_OWN = 2
"""So many features that a shift of the rest doesn't explain are no design that happens to be in both faces (chosen):
three holes in no order have two."""
_LEAST_BORED = 3
"""So many holes that either face bores through are the same in both (chosen)."""
_LEAST_AGREEING = 2
"""So many holes that agree where the back was told to lie show that it lies there (chosen)."""
_CLEAR, _CLEAR_MM = 0.4, 12.0
"""Features lie clear of their like if they are further from it than this share of the way to the next, or than the
second, in millimetres (chosen): shelf holes are staggered by half a pitch, and a cutter is thinner than that."""
_WALL_MM = 2.0
"""Or, where they are holes of known size, if so much wood stays between them, in millimetres (chosen)."""
_PROBES, _NEIGHBOURS, _ASKED = 24, 60, 400
"""Places by which it is seen how an arrangement repeats, places next to each that may be where it does, and places that
are asked whether they have their like there (chosen)."""


def may_be_others(faces: Faces, match: Match, evidence: Evidence, known: Collection[Shared] = ()) -> bool:
    """Return whether what coincides at a placement may be in both faces by design, at different places of the part.

    Parameters
    ----------
    faces : Faces
        What is compared.
    match : Match
        What corresponds there.
    evidence : Evidence
        What speaks for it.
    known : collection of Shared
        Outlines that correspond as it was told as well, and say nothing.
    """
    edges = [pair for pair in match.outlines if _is_edge(faces, pair) and pair not in known]
    if edges or _bored_through(faces, match):
        return False
    return _repeats(_places(faces, evidence)[0], faces.comparable.gate_mm)


def is_other_row(points_mm: Floats, away_mm: Floats, gate_mm: float) -> bool:
    """Return whether features that the other face has `away_mm` from there may be another row or grid by design.

    It lies beside this one, or is staggered by half a pitch; what lies anywhere between is no design.

    Parameters
    ----------
    points_mm : float64, shape (n, 2)
        Where one face has them.
    away_mm : float64, shape (2,)
        How far away the other face has all of them.
    gate_mm : float
        What lies within this coincides.
    """
    is_beside = bool((np.abs(away_mm) > np.ptp(points_mm, axis=0)).any())
    return _repeats(points_mm, gate_mm) and (is_beside or _are_staggered(points_mm, away_mm, gate_mm))


def _are_staggered(points_mm: Floats, away_mm: Floats, gate_mm: float) -> bool:
    """Return whether places lie half a pitch from their like: whether twice as far from most there is another one."""
    twice = SortedPoints(points_mm, 2.0 * gate_mm).nearest(points_mm + 2.0 * away_mm)
    return 2 * int((twice >= 0).sum()) >= len(points_mm)


def _repeats(points_mm: Floats, gate_mm: float) -> bool:
    """Return whether places, shape (n, 2), are few, a row or a grid: whether a shift lays most of them on others."""
    own = len(points_mm) - _laid_on_itself(points_mm, gate_mm)
    return own < _LEAST_OF_ITS_OWN or 2 * own <= len(points_mm)


def may_be_by_design(faces: Faces, match: Match, evidence: Evidence, placement: Placement) -> bool:
    """Return whether that is so, and what corresponds lies clear of its like where the back was told to lie.

    Parameters
    ----------
    faces, match, evidence
        As `may_be_others`.
    placement : Placement
        Where the back was told to lie.
    """
    if any(_overlap(pair, placement) for pair in match.outlines if pair.goes_through):
        return False
    ours, theirs = _places(faces, evidence)
    off_mm = placement.apply(theirs) - ours
    away_mm = float(np.median(np.hypot(*off_mm.T))) if len(ours) else 0.0
    # What surely stays in the wood may lie anywhere, words too.
    is_blind = faces.are_blind(evidence.agreement.front, evidence.agreement.back)
    if is_blind and away_mm > NEAR_MM:
        return True
    clear_mm = min(_CLEAR * _spacing_mm(ours), _CLEAR_MM, _widest_hole_mm(faces, evidence) + _WALL_MM)
    is_clear = away_mm > NEAR_MM and (away_mm > clear_mm or _others_agree(faces, evidence, placement))
    if not (is_blind or is_clear):
        gate_mm = faces.comparable.gate_mm
        if away_mm <= 2.0 * gate_mm or not _are_staggered(ours, np.median(off_mm, axis=0), gate_mm):
            return False
    return may_be_others(faces, match, evidence)


def _places(faces: Faces, evidence: Evidence) -> tuple[Floats, Floats]:
    """Return where features coincide, in the front's frame and in the back's: each place once, shapes (n, 2)."""
    both, agreement = faces.comparable, evidence.agreement
    rows = np.unique(both.front_places[agreement.front], return_index=True)[1]
    return both.front.centre_mm[agreement.front[rows]], both.back.centre_mm[agreement.back[rows]]


def _others_agree(faces: Faces, evidence: Evidence, placement: Placement) -> bool:
    """Return whether an edge, or two holes, that have no part in the evidence agree where the back was told to lie."""
    told, agreement = faces.match(placement), evidence.agreement
    edges = (pair for pair in told.outlines if _is_edge(faces, pair))
    if any(float(quick_distances(pair, placement).max(initial=0.0)) <= faces.tolerance_mm for pair in edges):
        return True
    both = faces.comparable
    own = ~(np.isin(told.front_mark, agreement.front) | np.isin(told.back_mark, agreement.back))
    ours, theirs = both.front.take(told.front_mark[own]), both.back.take(told.back_mark[own])
    holes = (ours.kind == LandmarkKind.HOLE) & (theirs.kind == LandmarkKind.HOLE)
    return len(np.unique(both.front_places[told.front_mark[own][holes]])) >= _LEAST_AGREEING


def _widest_hole_mm(faces: Faces, evidence: Evidence) -> float:
    """Return the widest of the holes that coincide; infinite where one is not known, or other features do as well."""
    marks = faces.comparable.front.take(evidence.agreement.front), faces.comparable.back.take(evidence.agreement.back)
    if len(marks[0]) == 0 or any((one.kind != LandmarkKind.HOLE).any() for one in marks):
        return np.inf
    widest = float(np.max([one.size_mm for one in marks]))
    return np.inf if np.isnan(widest) else widest


def _spacing_mm(points_mm: Floats) -> float:
    """Return how far places usually are from the next one; infinite for one alone."""
    if len(points_mm) < 2:
        return np.inf
    nearest: list[float] = []
    for place in thinned(points_mm, _ASKED):
        away = np.hypot(*(points_mm - place).T)
        nearest.append(float(away[away > 0.0].min(initial=np.inf)))
    return float(np.median(nearest))


def _overlap(pair: Shared, placement: Placement) -> bool:
    middle = placement.apply(pair.back_curve.centroid_mm[np.newaxis])[0]
    away = float(np.hypot(*(middle - pair.front_curve.centroid_mm)))
    return away < float(np.sqrt(abs(pair.front_curve.area_mm2)))


def _is_edge(faces: Faces, pair: Shared) -> bool:
    """Return whether a pair of outlines is the edge of the part; pockets that would meet elsewhere are none."""
    ours, theirs = faces.front.outlines[pair.front], faces.back.outlines[pair.back]
    return pair.goes_through and (ours.is_silhouette or Side.OUTSIDE not in (ours.side, theirs.side))


def _bored_through(faces: Faces, match: Match) -> bool:
    """Return whether holes are shared each of which either face bores through by itself, for all that is known."""
    if len(match.front_hole) < _LEAST_BORED:
        return False
    sides = (faces.front.holes.take(match.front_hole), faces.back.holes.take(match.back_hole))
    return all(bool(faces.meeting.go_through_alone(one.depth_mm, one.height_mm).all()) for one in sides)


def _laid_on_itself(points_mm: Floats, gate_mm: float) -> int:
    """Return how many points the best shift of all of them lays on others; of very many as some of them show it."""
    if len(points_mm) == 0:
        return 0
    probes, some = thinned(points_mm, _PROBES), thinned(points_mm, _ASKED)
    steps = np.concatenate([_to_the_nearest(points_mm - probe) for probe in probes])
    steps = steps[np.abs(steps).max(axis=1) > gate_mm]
    steps = steps[np.unique(np.round(steps / gate_mm), axis=0, return_index=True)[1]]
    if len(steps) == 0:
        return 0
    found = SortedPoints(points_mm, gate_mm).nearest((some + steps[:, np.newaxis]).reshape(-1, 2))
    share = float((found >= 0).reshape(len(steps), len(some)).mean(axis=1).max())
    return round(share * len(points_mm))


def _to_the_nearest(off_mm: Floats) -> Floats:
    return off_mm[np.argsort(np.hypot(*off_mm.T), kind="stable")[:_NEIGHBOURS]]
