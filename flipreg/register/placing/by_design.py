"""Whether features that coincide only far from where the back was told to lie may be others of the same kind.

A row of shelf holes is bored into both faces of a divider, staggered, so that the holes don't meet; a pocket may have
its like in the other face. That they would coincide elsewhere, and would go through there, disproves nothing, unless
what coincides there can hardly be in both faces by design: the edge of the part, holes that each face bores through by
itself, or an arrangement that is no row and no grid.
"""

import numpy as np
from numpy.typing import NDArray

from flipreg.register.faces.near import SortedPoints, thinned
from flipreg.register.faces.outline import Side
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.agreement import NEAR_MM
from flipreg.register.placing.evidence import Evidence
from flipreg.register.placing.match import Match, Shared
from flipreg.register.placing.matching import Faces

__all__ = ["is_far", "may_be_others"]

Floats = NDArray[np.float64]

_LEAST_OF_ITS_OWN = 3
"""So many features that a shift of the rest doesn't explain are no design that happens to be in both faces (chosen)."""
_PROBES, _NEIGHBOURS, _ASKED = 24, 60, 400
"""Places by which it is seen how an arrangement repeats, places next to each that may be where it does, and places that
are asked whether they have their like there (chosen)."""


def may_be_others(faces: Faces, match: Match, evidence: Evidence) -> bool:
    """Return whether what coincides at a placement may be in both faces by design, at different places of the part.

    Parameters
    ----------
    faces : Faces
        What is compared.
    match : Match
        What corresponds there.
    evidence : Evidence
        What speaks for it.
    """
    if any(_is_edge(faces, pair) for pair in match.outlines) or _bored_through(faces, match):
        return False
    rows = evidence.agreement.front
    places = faces.comparable.front_places[rows]
    points = faces.comparable.front.centre_mm[rows[np.unique(places, return_index=True)[1]]]
    if len(points) < _LEAST_OF_ITS_OWN:
        return True
    own = len(points) - _laid_on_itself(points, faces.comparable.gate_mm)
    return own < _LEAST_OF_ITS_OWN or 2 * own <= len(points)


def is_far(match: Match, placement: Placement, front_mm: Floats, back_mm: Floats) -> bool:
    """Return whether what corresponds lies so far apart that it doesn't overlap where the back was told to lie.

    Parameters
    ----------
    match : Match
        What corresponds.
    placement : Placement
        Where the back was told to lie.
    front_mm, back_mm : float64, shape (n, 2)
        Points that correspond, each in the frame of its face.
    """
    if any(_overlap(pair, placement) for pair in match.outlines if pair.goes_through):
        return False
    return float(np.median(np.hypot(*(placement.apply(back_mm) - front_mm).T))) > NEAR_MM


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
    if len(match.front_hole) < _LEAST_OF_ITS_OWN:
        return False
    sides = (faces.front.holes.take(match.front_hole), faces.back.holes.take(match.back_hole))
    return all(bool(faces.meeting.go_through_alone(one.depth_mm, one.height_mm).all()) for one in sides)


def _laid_on_itself(points_mm: Floats, gate_mm: float) -> int:
    """Return how many points the best shift of all of them lays on others; of very many as some of them show it."""
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
