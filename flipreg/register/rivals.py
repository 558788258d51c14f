"""The vote as the report has it: how much coincides, where else about as much does, and by what the pattern repeats."""

from collections.abc import Sequence
from math import hypot

import numpy as np

from flipreg.register.placing.comparison import Comparison
from flipreg.register.placing.search import Fit
from flipreg.register.report import FlipChoice, Rival, Vote

__all__ = ["choice_of", "vote_of"]

_SAME_MM = 1.0
"""Placements closer than this are one, in millimetres (chosen)."""
_MOST_RIVALS = 12
"""Other placements that are told (chosen)."""
_REPEATS = 0.5
"""A pattern repeats where so much of what coincides at most does so after a shift (chosen)."""


def vote_of(comparison: Comparison) -> Vote | None:
    """Return how much coincides, and where else about as much does."""
    best = comparison.found[0].evidence if comparison.found else None
    told = best if comparison.evidence is None else comparison.evidence
    if told is None:
        return None
    at = comparison.match.placement if comparison.match is not None else None
    others = [
        fit
        for fit in (comparison.others if comparison.is_ambiguous else comparison.found)
        if at is None
        or fit.orientation != comparison.orientation
        or float(np.abs(fit.placement.offset_mm - at.offset_mm).max()) > _SAME_MM
    ]
    return Vote(
        coincide=told.coincide,
        features=told.features,
        by_chance=told.by_chance,
        log10_false_alarms=told.log10_false_alarms,
        others=tuple(Rival(choice_of(fit), fit.evidence.coincide) for fit in others[:_MOST_RIVALS]),
        pitch_mm=_pitch(comparison, others, told.coincide),
    )


def _pitch(comparison: Comparison, others: Sequence[Fit], most: int) -> tuple[float, float] | None:
    """Return the shortest shift between two placements of one way round that explain about as much."""
    best: tuple[float, float] | None = None
    places = [] if comparison.match is None else [(comparison.orientation, comparison.match.placement)]
    places += [(fit.orientation, fit.placement) for fit in others if fit.evidence.coincide >= _REPEATS * most]
    for number, (way, one) in enumerate(places):
        for other_way, other in places[:number]:
            dx_mm, dy_mm = np.abs(one.offset_mm - other.offset_mm).tolist()
            if way == other_way and (best is None or hypot(dx_mm, dy_mm) < hypot(*best)):
                best = (dx_mm, dy_mm)
    return best


def choice_of(fit: Fit) -> FlipChoice:
    """Return the flip of a placement."""
    way = fit.orientation
    axis = None if way.is_quarter else way.axis
    return FlipChoice(axis, fit.datum_mm, way.words, axis == "none" and way.is_turned)
