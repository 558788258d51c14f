"""Other placements in which more coincides than where the back was told to lie."""

from dataclasses import replace

import numpy as np

from flipreg.findings import Finding, Status
from flipreg.register.decision.mistake import shift_words
from flipreg.register.faces.landmarks import LandmarkKind
from flipreg.register.faces.number import place
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.by_design import may_be_others
from flipreg.register.placing.comparison import Comparison
from flipreg.register.placing.evidence import FEW, Evidence, leftovers_meet, outweighs
from flipreg.register.placing.gap import centred
from flipreg.register.placing.match import Match, Shared, quick_distances
from flipreg.register.placing.search import ORIENTATIONS, QUARTERS, Fit, Orientation, orientation_of

__all__ = ["elsewhere"]

_LEAST = 3
"""So many features that go through, in no order, are asked about where nothing coincides as it was told (chosen)."""
_SHALLOW = 0.75
"""Recesses are together less deep than this share of what goes through (chosen)."""
_TWO = 2
"""So many features say how the back is turned."""
_SAME_MM = 1.0
"""Placements closer than this are one, in millimetres (chosen)."""


def elsewhere(comparison: Comparison) -> list[Finding]:
    """Return a finding if another placement explains more than what was told, or if several do where none was."""
    if comparison.is_ambiguous:
        return _several(comparison)
    if comparison.by_silhouette and len(comparison.passing) > 1:
        return []
    told = comparison.evidence
    for fit in comparison.found:
        is_more = fit.orientation != comparison.orientation and outweighs(fit.evidence, told)
        if is_more and fit.is_passing and fit.is_evident:
            # Recesses that are alike may lie together elsewhere by design, though they would go through there.
            is_no_more_in_all = told is not None and fit.evidence.coincide <= told.coincide
            is_open = is_no_more_in_all or _is_of_recesses(comparison, fit)
            is_open = is_open or comparison.faces.are_blind(fit.evidence.agreement.front, fit.evidence.agreement.back)
            known = _fit_as_told(comparison, fit.match)
            rest = _of_its_own(comparison, fit.evidence)
            is_open = is_open or may_be_others(comparison.faces, fit.match, rest, known)
            return [
                Finding(
                    "flip",
                    Status.NOT_DETERMINED if is_open else Status.FAIL,
                    f"more {'of what goes through ' if is_no_more_in_all else ''}coincides when the back is taken as "
                    f"{_taken(comparison, fit)}: {fit.evidence.words}; as it was told, {_words(told)}",
                )
            ]
    if told is None and not comparison.is_found:
        return _beside_the_wood(comparison)
    if told is None or comparison.is_found or comparison.register.status is not Status.PASS:
        return []
    for fit in comparison.found:
        is_less = fit.evidence.coincide <= told.coincide and not _has_all_that_goes_through(fit.evidence, told)
        if is_less or not fit.evidence.beats_chance or fit.evidence.through < told.through:
            continue
        if _is_told(comparison, fit) or not fit.is_passing:
            continue
        where = f"with the back {_taken(comparison, fit)}"
        if fit.orientation == comparison.orientation and comparison.placement is not None:
            where = f"with the back's zero {shift_words(*(fit.placement.offset_mm - comparison.placement.offset_mm))}"
            if fit.evidence.coincide > told.coincide:
                where = f"the pattern repeats, and {where}"
        elif not (fit.evidence.leaves_nothing or leftovers_meet(fit.evidence, told)):
            continue
        return [
            Finding(
                "flip",
                Status.NOT_DETERMINED,
                f"{where}, {fit.evidence.words}; as it was told, {_words(told)}; a feature that has no like, made from "
                "both faces, would settle it",
            )
        ]
    return []


def _fit_as_told(comparison: Comparison, match: Match) -> list[Shared]:
    """Return which outlines coincide as well where the back was told to lie, or about the axis that was told."""
    placement, limit_mm = comparison.placement, comparison.faces.tolerance_mm
    found: list[Shared] = []
    for pair in match.outlines:
        there = placement
        if comparison.is_found and comparison.axis is not None:
            there = centred(pair, Orientation(comparison.axis).matrix)
        if there is not None and float(quick_distances(pair, there).max(initial=0.0)) <= limit_mm:
            found.append(pair)
    return found


def _of_its_own(comparison: Comparison, evidence: Evidence) -> Evidence:
    """Return evidence without the features that coincide as it was told as well, if holes are left that may be a row.

    Through pins that agree say where the back lies, and dowel holes at both ends then lie apart by design.
    """
    told, agreement, front = comparison.evidence, evidence.agreement, comparison.faces.comparable.front
    if told is None or comparison.register.status is not Status.PASS:
        return evidence
    own = ~np.isin(agreement.front, told.agreement.front)
    is_hole = front.kind[agreement.front[own]] == LandmarkKind.HOLE
    if len(is_hole) < FEW or not is_hole.all():
        return evidence
    return replace(evidence, agreement=replace(agreement, front=agreement.front[own], back=agreement.back[own]))


def _is_of_recesses(comparison: Comparison, fit: Fit) -> bool:
    """Return whether no more coincides there that is about as deep as what goes through where the back was told."""
    told, match, agreement = comparison.evidence, comparison.match, fit.evidence.agreement
    if told is None or match is None or told.through < max(fit.evidence.through, _TWO):
        return False
    both = comparison.faces.comparable
    here_mm = both.front.floor_mm[match.front_mark] + both.back.floor_mm[match.back_mark]
    there_mm = both.front.floor_mm[agreement.front] + both.back.floor_mm[agreement.back]
    deep_mm = _SHALLOW * float(here_mm.min(initial=0.0))
    return int((there_mm <= deep_mm).sum()) <= int((here_mm <= deep_mm).sum())


def _beside_the_wood(comparison: Comparison) -> list[Finding]:
    """Doubt what the shape of the wood shows where nothing coincides, if much would with another zero of the back."""
    if comparison.placement is None:
        return []
    for fit in comparison.found:
        is_same_way = fit.orientation == comparison.orientation and not _is_told(comparison, fit)
        if not is_same_way or fit.evidence.through < _LEAST or may_be_others(comparison.faces, fit.match, fit.evidence):
            continue
        by = shift_words(*(fit.placement.offset_mm - comparison.placement.offset_mm))
        says = f"nothing coincides as it was told, and with the back's zero {by} {fit.evidence.words}"
        return [Finding("flip", Status.NOT_DETERMINED, says)]
    return []


def _has_all_that_goes_through(other: Evidence, told: Evidence) -> bool:
    """Return whether all that goes through coincides elsewhere, and none of it where the back was told to be."""
    return told.through == 0 and other.through >= max(3, other.through_features)


def _is_told(comparison: Comparison, fit: Fit) -> bool:
    """Return whether a placement is the one that was told, or as good as that."""
    told = comparison.placement
    if told is None or fit.orientation != comparison.orientation:
        return False
    return float(np.abs(fit.placement.offset_mm - told.offset_mm).max()) <= _SAME_MM


def _taken(comparison: Comparison, fit: Fit) -> str:
    """Return how the back lies in a fit, in the programs' own numbers."""
    front, back = comparison.seen
    own = ~front @ Placement(fit.orientation.matrix, np.array(fit.datum_mm)).isometry @ back
    way = orientation_of(own, (*ORIENTATIONS, *QUARTERS))
    words = "lying another way round" if way is None else way.words
    x_mm, y_mm, _ = own.offset_mm.tolist()
    return f"{words} (zero at {place((x_mm, y_mm))})"


def _several(comparison: Comparison) -> list[Finding]:
    """Say that several placements explain about as much: then none is found."""
    first = comparison.others[0]
    count = max(len(comparison.others), _as_good(comparison))
    return [
        Finding(
            "flip",
            Status.NOT_DETERMINED,
            f"{count} placements of the back fit about as well ({first.evidence.words} at most): name "
            "the axis and the datum",
        )
    ]


def _as_good(comparison: Comparison) -> int:
    """Return in how many placements as many features coincide as in those that are named, which are a few each way."""
    least = min(fit.evidence.agreement.coincide for fit in comparison.others)
    ways = [way for way in ORIENTATIONS if comparison.axis in (None, way.axis)]
    return sum(ballot.count >= max(least, 1) for way in ways for ballot in comparison.faces.ballots(way.matrix))


def _words(evidence: Evidence | None) -> str:
    return "nothing coincides" if evidence is None else evidence.words
