"""The evidence on a front and a back: what corresponds where the back was said to be, and in each way round."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import Literal

import numpy as np

from flipreg.findings import Status
from flipreg.geometry.isometry import Isometry
from flipreg.program.face import Face
from flipreg.register.faces.features import face_features
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.agreement import NEAR_MM
from flipreg.register.placing.coincidence import pull_of, refined
from flipreg.register.placing.comparison import Comparison
from flipreg.register.placing.deviation import measured, nothing_shared
from flipreg.register.placing.evidence import are_apart, evidence_at, outweighs
from flipreg.register.placing.gap import profiles_apart
from flipreg.register.placing.match import Match
from flipreg.register.placing.matching import Faces
from flipreg.register.placing.other_units import AT_ORIGIN, Zeros
from flipreg.register.placing.search import Fit, Orientation, choose, fits, orientation_of, with_quarters
from flipreg.register.placing.silhouette import with_silhouettes

__all__ = ["Judged", "Question", "judge"]

_SURE_THROUGH = 3
"""With so many features that go through, a profile that lies apart is not held against a flip (chosen)."""
_TURNED = 3e-4
"""A match is turned if it is by more than this, in radians (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Question:
    """What is asked of two faces.

    Attributes
    ----------
    tolerance_mm : float
        Largest deviation that is in register.
    given : Placement or None
        Where the back was said to be; None where that is to be found.
    axis : 'x', 'y' or None
        The flip axis, where it is known and the place is not.
    thickness_mm : float or None
        Thickness of the blank; None where it is not known.
    zeros : Zeros
        Where the program zeros are in the frames that the programs are given in.
    largest_mm : float
        The blank's diagonal; infinite where it is not known.
    seen : pair of Isometry
        What maps the own frames of front and back to those in which they are given: what is said of a flip is said in
        their own numbers.
    """

    tolerance_mm: float
    given: Placement | None = None
    axis: Literal["x", "y"] | None = None
    thickness_mm: float | None = None
    zeros: Zeros = AT_ORIGIN
    largest_mm: float = inf
    seen: tuple[Isometry, Isometry] = (Isometry(), Isometry())


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """Two faces and the evidence on them.

    Attributes
    ----------
    front, back : sequence of FaceProgram
        The programs of each face.
    question : Question
        What was asked.
    comparison : Comparison
        What there is to judge.
    """

    front: Face
    back: Face
    question: Question
    comparison: Comparison

    def again(self, front: Face, back: Face) -> "Judged":
        """Return the same question asked of other programs."""
        return judge(front, back, self.question)


def judge(front: Face, back: Face, question: Question) -> Judged:
    """Return the evidence on two faces.

    Parameters
    ----------
    front, back : sequence of FaceProgram
        The programs of each face, each in its own program frame.
    question : Question
        What is asked.
    """
    faces = Faces.of(
        face_features(front), face_features(back), question.tolerance_mm, thickness_mm=question.thickness_mm
    )
    comparison = _compared(faces, question, with_quarters(faces, fits(faces)))
    if not comparison.has_proof:
        seen, found = with_silhouettes(faces)
        if seen is not None:
            by_silhouette = _compared(seen, question, found)
            # Silhouettes that agree nowhere are of different regions and say nothing.
            if by_silhouette.passing:
                comparison = by_silhouette
    return Judged(front, back, question, replace(comparison, seen=question.seen))


def _compared(faces: Faces, question: Question, found: Sequence[Fit]) -> Comparison:
    """Return what there is to judge, with the placements in which most coincides."""
    if question.given is not None:
        return _as_told(faces, question, question.given, found)
    flips = [fit for fit in found if not fit.orientation.is_quarter]
    chosen = choose([fit for fit in flips if question.axis is None or fit.orientation.axis == question.axis])
    best = chosen.best
    if best is None:
        return _unknown(faces, question, found, ())
    if any(outweighs(fit.evidence, best.evidence) and fit.is_passing for fit in found):
        # Another axis than the one that was told, or a quarter turn, explains more: then no flip is found.
        return _unknown(faces, question, found, ())
    if chosen.others:
        # Of several places that fit none is found.
        return _unknown(faces, question, found, (best, *chosen.others, *chosen.not_mirrored))
    is_sure = best.evidence.through >= _SURE_THROUGH
    if faces.tolerance_mm > question.tolerance_mm:
        # What is known to a millimetre is no flip that could be set on the machine.
        return _unknown(faces, question, found, (best,))
    if not is_sure and profiles_apart(faces, best.match, best.placement) is not None:
        return _unknown(faces, question, found, (best,))
    register = best.register
    if register.status is Status.PASS and not register.is_sure and not best.evidence.is_plenty:
        # Any recess fits one of its own shape somewhere.
        register = replace(register, status=Status.NOT_DETERMINED)
    return Comparison(
        faces=faces,
        axis=question.axis,
        placement=best.placement,
        orientation=best.orientation,
        match=best.match,
        register=register,
        found=tuple(found),
        others=chosen.not_mirrored,
        evidence=best.evidence,
        is_found=True,
        asked_mm=question.tolerance_mm,
    )


def _unknown(faces: Faces, question: Question, found: Sequence[Fit], several: tuple[Fit, ...]) -> Comparison:
    """Return what there is to judge where no placement, or no single one, was found."""
    return Comparison(
        faces=faces,
        axis=question.axis,
        placement=None,
        orientation=None,
        match=None,
        register=nothing_shared(),
        found=tuple(found),
        others=several,
        evidence=several[0].evidence if several else None,
        is_found=True,
        asked_mm=question.tolerance_mm,
    )


def _as_told(faces: Faces, question: Question, given: Placement, found: Sequence[Fit]) -> Comparison:
    """Return what there is to judge where the back was said to lie: that comes first."""
    orientation = orientation_of(given.isometry)
    match = refined(faces, given)
    evidence = None if match is None else evidence_at(faces, match, match.placement, is_told=True)
    if match is not None and evidence is not None and not evidence.is_plenty and _wanders(faces, match, given):
        match, evidence = None, None
    is_chance = match is not None and not match.outlines and evidence is not None and not evidence.beats_chance
    if is_chance and any(outweighs(fit.evidence, evidence) for fit in found):
        # What little lies together there does so by chance, and nothing is to be measured on it.
        match, evidence = None, None
    same = [fit for fit in found if fit.orientation == orientation]
    is_far = match is not None and _away_mm(faces, match, given) > NEAR_MM
    for fit in same:
        is_best = not any(outweighs(other.evidence, fit.evidence) for other in found)
        # What lies far from where it was told has no claim to come first.
        is_more = is_far and evidence is not None and fit.evidence.coincide > evidence.coincide
        if is_best and (is_more or outweighs(fit.evidence, evidence)) and fit.is_passing:
            match, evidence = fit.match, fit.evidence
            break
    if match is None:
        # Nothing lies near where it was said: what is shared may lie further off.
        sound = [fit for fit in found if fit.evidence.beats_chance]
        far = next((fit for fit in sound[:1] if fit in same), None)
        match, evidence = (None, None) if far is None else (far.match, far.evidence)
    at_its_turn = _turned(faces, match, given)
    if at_its_turn is not None and at_its_turn is not match:
        match, evidence = at_its_turn, evidence_at(faces, at_its_turn, at_its_turn.placement, is_told=True)
    register = nothing_shared() if match is None else measured(faces, match, given)
    others: tuple[Fit, ...] = ()
    if register.status is Status.PASS and evidence is not None:
        others = tuple(
            fit
            for fit in found
            if fit.evidence.through >= evidence.through
            and fit.evidence.coincide >= evidence.coincide
            and not _is_same(fit, orientation, given)
            and not (fit.orientation == orientation and are_apart(fit.evidence, evidence))
            and fit.is_passing
        )
    return Comparison(
        faces=faces,
        axis=None,
        placement=given,
        orientation=orientation,
        match=match,
        register=register,
        found=tuple(found),
        others=others,
        evidence=evidence,
        is_found=False,
        asked_mm=question.tolerance_mm,
    )


def _turned(faces: Faces, match: Match | None, given: Placement) -> Match | None:
    """Return what corresponds with the back turned as in a match where most does: a turn may lead to the next pitch."""
    if match is None or _turn(match, given) <= _TURNED:
        return match
    both = faces.comparable
    places = [ballot.placement for ballot in faces.ballots(match.placement.matrix)[:1]]
    if not places or both.count(places[0]) <= both.count(match.placement):
        return match
    return refined(faces, places[0]) or match


def _turn(match: Match, given: Placement) -> float:
    """Return how far a match is turned from where the back was told to be, as the sine of the angle."""
    return abs(float((match.placement.matrix @ given.matrix.T)[1, 0]))


def _wanders(faces: Faces, match: Match, given: Placement) -> bool:
    """Return whether a match turns the back far away from where it was told: a few features can always be met so."""
    return _turn(match, given) > _TURNED and _away_mm(faces, match, given) > NEAR_MM


def _away_mm(faces: Faces, match: Match, given: Placement) -> float:
    """Return how far most of what corresponds lies from where it was told, in millimetres."""
    pull = pull_of(faces, match, match.placement)
    away = np.hypot(*(given.apply(pull.back_mm) - pull.front_mm).T)
    return float(np.median(away)) if len(away) else 0.0


def _is_same(fit: Fit, orientation: Orientation | None, given: Placement) -> bool:
    near = float(np.abs(fit.placement.offset_mm - given.offset_mm).max()) <= 1.0
    return fit.orientation == orientation and near

