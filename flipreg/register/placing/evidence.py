"""How much speaks for a placement: what coincides there, against what chance would make coincide."""

from dataclasses import dataclass
from math import log10

import numpy as np

from flipreg.register.faces.placement import Placement
from flipreg.register.placing.agreement import Agreement
from flipreg.register.placing.chance import log10_false_alarms
from flipreg.register.placing.match import Match, Shared, quick_distances
from flipreg.register.placing.matching import Faces

__all__ = [
    "FEW",
    "LIKELY_CHANCE",
    "Evidence",
    "are_apart",
    "evidence_at",
    "is_clearly_less",
    "leftovers_meet",
    "outweighs",
]

LIKELY_CHANCE = -3.0
"""Where chance would do as well more often than once in a thousand checks, nothing is claimed (chosen)."""
_TWO_TESTS = log10(2.0)
_MORE = 3
"""So many more features have to coincide before a placement that was told is doubted (chosen)."""
_TIMES = 1.5
"""And so many times as many, unless nothing is left over (chosen)."""
FEW = 4
"""So few features of one shape may lie at different places by design (chosen)."""
_LEFT_TO_EACH_OTHER = 2
"""So many features of each face speak for another place if they have no partner where the back was told to be, and each
other there (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """What speaks for one placement.

    Attributes
    ----------
    coincide : int
        How many features coincide. An outline that agrees all round counts as four: its place, its size, its direction
        and its hand.
    features : int
        How many could: as many as the face with fewer of them shows.
    by_chance : float
        How many chance would make coincide.
    log10_false_alarms : float
        How often chance would do as well in all the placements that were looked at, as a logarithm.
    through : int
        How many of them go through the blank from both faces.
    through_features : int
        How many could.
    agreement : Agreement
        Which features they are.
    """

    coincide: int
    features: int
    by_chance: float
    log10_false_alarms: float
    through: int
    through_features: int
    agreement: Agreement

    @property
    def words(self) -> str:
        """How much coincides, as a clause."""
        return f"{self.coincide} of {self.features} features coincide (chance would give {self.by_chance:z.1f})"

    @property
    def beats_chance(self) -> bool:
        """Whether chance can be left out of account."""
        return self.log10_false_alarms <= LIKELY_CHANCE

    @property
    def is_plenty(self) -> bool:
        """Whether more coincides than a few recesses that may have their like by design."""
        return self.coincide > FEW and self.beats_chance

    @property
    def may_be_found(self) -> bool:
        """Whether it is enough to find a placement that was not told."""
        return self.is_plenty or (self.through >= _MORE and self.beats_chance)

    @property
    def rank(self) -> tuple[bool, int, int]:
        """How much it says: larger is more. Engraved letters of both faces coincide by the dozen, and say nothing."""
        return self.through >= _MORE, self.coincide, self.through

    @property
    def leaves_nothing(self) -> bool:
        """Whether every feature of the face with fewer coincides, or every one of its features that goes through."""
        return self.coincide >= self.features or 0 < self.through_features <= self.through


def evidence_at(faces: Faces, match: Match, placement: Placement, *, is_told: bool) -> Evidence:
    """Return what speaks for a placement.

    Parameters
    ----------
    faces : Faces
        What is compared.
    match : Match
        What corresponds there.
    placement : Placement
        Where the back lies.
    is_told : bool
        Whether it was said to lie there, or near; else it was looked for everywhere.
    """
    both = faces.comparable
    placements = both.near_placements if is_told else both.all_placements
    marks = (match.front_mark, match.back_mark) if match.placement is placement else None
    agreement = both.at(placement, placements=placements, marks=marks)
    agreeing = [pair for pair in match.outlines if _agrees(faces, pair, placement)]
    extra = sum(faces.worth(pair) + (not _is_counted(faces, pair, agreement)) for pair in agreeing)
    most_extra = faces.most_worth
    ours = faces.front.holes.centre_mm[match.front_hole]
    theirs = placement.apply(faces.back.holes.centre_mm[match.back_hole])
    holes = int((np.hypot(*(theirs - ours).T) <= both.gate_mm).sum())
    outlines = sum(1 + faces.worth(pair) for pair in agreeing if pair.goes_through)
    coincide, features = agreement.coincide + extra, agreement.features + most_extra
    chance = agreement.by_chance / max(agreement.features, 1)
    through = holes + outlines
    through_features = min(len(faces.front.holes), len(faces.back.holes)) + most_extra * 4 // 3
    likes = max(len(faces.front.holes), len(faces.back.holes), 1)
    alarms = min(
        log10_false_alarms(coincide, max(features, coincide), chance, placements),
        log10_false_alarms(through, max(through_features, through), both.chance_among(likes), placements),
    )
    return Evidence(
        coincide=coincide,
        features=max(features, coincide),
        by_chance=agreement.by_chance,
        # Two tests, of all features and of those that go through: the better one has two chances to be good.
        log10_false_alarms=alarms + _TWO_TESTS,
        through=through,
        through_features=through_features,
        agreement=agreement,
    )


def outweighs(other: Evidence, told: Evidence | None) -> bool:
    """Return whether another placement explains significantly more than the one that was told.

    One feature more never does: patterns that are nearly symmetric, or that repeat, give one here or there.
    What goes through the blank can't be met by what doesn't.
    """
    if not other.beats_chance:
        return False
    if told is None:
        return other.through >= _MORE or other.coincide > _MORE
    if told.coincide >= max(told.features, other.coincide):
        # Of contours that are alike, others may lie together elsewhere and go through: every one has its partner here.
        return False
    left = leftovers_meet(other, told)
    is_through = told.through >= 2 or (told.through == 0 and other.through >= _MORE and other.coincide > told.coincide)
    leaves_nothing = other.through >= other.through_features
    if is_through and _is_more(other.through, told.through, left, leaves_nothing=leaves_nothing):
        return True
    if other.through < told.through:
        return False
    is_more = _is_more(other.coincide, told.coincide, left, leaves_nothing=other.leaves_nothing)
    return is_more and (other.through >= 2 or other.coincide - told.coincide > _MORE)


def leftovers_meet(other: Evidence, told: Evidence) -> int:
    """Return how many pairs coincide elsewhere of which neither feature has a partner where the back was told to be."""
    ours = ~np.isin(other.agreement.front, told.agreement.front)
    theirs = ~np.isin(other.agreement.back, told.agreement.back)
    return int((ours & theirs).sum())


def are_apart(one: Evidence, other: Evidence) -> bool:
    """Return whether two placements are told by different features: then programs of a face may have two zeros.

    What outlines alone tell, cut by tools of two sizes, may be told by the same ones.
    """
    if min(len(one.agreement.front), len(other.agreement.front)) == 0:
        return False
    ours = np.isin(one.agreement.front, other.agreement.front).any()
    theirs = np.isin(one.agreement.back, other.agreement.back).any()
    return not (ours or theirs)


def _is_more(other: int, told: int, left: int, *, leaves_nothing: bool) -> bool:
    if other - told >= _MORE and (other >= _TIMES * told or leaves_nothing):
        return True
    return other - told >= _LEFT_TO_EACH_OTHER and left >= _LEFT_TO_EACH_OTHER and leaves_nothing


def is_clearly_less(other: Evidence, best: Evidence) -> bool:
    """Return whether a placement explains so much less than the best one that it isn't meant.

    Where nothing was told, a placement is found only if every other one is clearly less. It is if it leaves features
    over and the best one leaves none, or if it explains three quarters as much at most.
    """
    if other.coincide >= best.coincide or (other.through > best.through and other.through >= _MORE):
        return False
    if best.through_features and best.through >= best.through_features and other.through < best.through:
        return True
    if best.coincide >= best.features:
        return True
    return best.coincide - other.coincide >= 2 and other.coincide <= 0.75 * best.coincide


def _is_counted(faces: Faces, pair: Shared, agreement: Agreement) -> bool:
    """Return whether the place of an outline is among the features that coincide; cutters of two sizes move it."""
    outline, marks = faces.back.outlines[pair.back], faces.comparable.back
    own = np.flatnonzero((marks.program == outline.program) & (marks.line == outline.line))
    # What else is centred there stands for the place as well: a bowl in its rim, passes round one edge.
    places = faces.comparable.back_places
    return bool(np.isin(places[own], places[agreement.back]).any())


def _agrees(faces: Faces, pair: Shared, placement: Placement) -> bool:
    off = quick_distances(pair, placement)
    return len(off) > 0 and float(np.quantile(off, 0.9)) <= max(faces.comparable.gate_mm, faces.tolerance_mm)
