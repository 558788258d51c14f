"""The check of a front and a back: whether they belong to one part.

What a pass means is written in `flipreg.register.deviation`. Besides, no other way round may fit clearly better, no
outline or holes may be left over that look like misplaced partners, and each face must use one work offset.
"""

from collections.abc import Sequence
from dataclasses import replace
from math import hypot, isfinite
from typing import Literal

import numpy as np

from flipreg.errors import UsageError
from flipreg.findings import Finding, Status
from flipreg.geometry.isometry import Isometry
from flipreg.program.face import Face
from flipreg.register.advice import Advice
from flipreg.register.bounds import bounds_finding, bounds_of
from flipreg.register.comparison import Comparison
from flipreg.register.contrary_evidence import containment, contrary_evidence, unit_doubts
from flipreg.register.datum import datum_findings, datum_of
from flipreg.register.deviation import Register
from flipreg.register.diagnosis import diagnose
from flipreg.register.directions import Direction, Estimate, directions_of
from flipreg.register.judge import Judged, Question, judge
from flipreg.register.mistake import joined_words
from flipreg.register.notes import notes
from flipreg.register.number import place
from flipreg.register.placement import Placement
from flipreg.register.program_advice import ProgramAdvice
from flipreg.register.report import Flip, FlipChoice, Report, Rival, Vote
from flipreg.register.search import Fit
from flipreg.register.wood_evidence import centre_line_estimates

__all__ = ["check", "reported"]

_SAME_MM = 1.0
"""Placements closer than this are one, in millimetres; ours."""
_MOST_RIVALS = 12
"""Other placements that are told; ours."""
_MOST_NAMED = 3
"""Other flips that a sentence names; ours."""
_REPEATS = 0.5
"""A pattern repeats where so much of what coincides at most does so after a shift; ours."""


def check(
    front: Face,
    back: Face,
    *,
    tolerance_mm: float,
    flip: Isometry | None = None,
    axis: Literal["x", "y"] | None = None,
    thickness_mm: float | None = None,
) -> Report:
    """Decide whether two faces are in register.

    Parameters
    ----------
    front, back : sequence of FaceProgram
        The programs of each face, each in its own program frame; at least one each.
    tolerance_mm : float
        Largest deviation that is in register, in millimetres, over 0.
    flip : Isometry, optional
        Maps the front program's numbers to the back program's, as `Isometry.mirror_x` and `Isometry.mirror_y` of
        the datum do. Where it is not given it is worked out from what both faces share, and the back is then in
        register only with the datum that was found, which has to be set on the machine.
    axis : 'x' or 'y', optional
        The flip axis, where it is known and the datum is not; ignored if `flip` is given.
    thickness_mm : float, optional
        Measured thickness of the blank; with it the depths of both faces are added up.

    Returns
    -------
    Report
        Its `in_register` is True only by proof.

    Raises
    ------
    UsageError
        If a face has no program, or the tolerance or the thickness is not a length over 0.
    """
    _refuse_unusable(front, back, tolerance_mm, thickness_mm)
    given = None if flip is None else Placement.of(~flip)
    return reported(judge(front, back, Question(tolerance_mm, given, axis, thickness_mm)), ProgramAdvice(back))


def reported(judged: Judged, advice: Advice) -> Report:
    """Return the report on two faces, with what `advice` says about the mistakes that explain it.

    Parameters
    ----------
    judged : Judged
        The faces and the evidence on them.
    advice : Advice
        How to mend mistakes.
    """
    front, back, comparison = judged.front, judged.back, judged.comparison
    datum = datum_of(front, back, comparison.placement)
    bounds = bounds_of(front, back, (comparison.faces.front, comparison.faces.back), comparison.placement)
    in_doubt = unit_doubts(judged)
    doubtful = [*contrary_evidence(comparison), *in_doubt]
    about_datum = datum_findings(datum, front, back)
    mixed = [finding for finding in about_datum[1:] if finding.status is Status.NOT_DETERMINED]
    directions = _directions(comparison)
    verdict = _verdict(comparison.register, directions, [*doubtful, *mixed])
    is_plain = verdict is not Status.FAIL and comparison.register.status is Status.PASS and not in_doubt
    mistakes = () if is_plain else diagnose(judged, advice)
    if verdict is Status.NOT_DETERMINED and any(mistake.is_certain for mistake in mistakes):
        verdict = Status.FAIL
    flip = _flip(comparison)
    findings = [_register_finding(comparison, verdict, is_explained=bool(mistakes))]
    if mistakes:
        status = Status.FAIL if verdict is Status.FAIL else Status.WARN
        findings.append(Finding("diagnosis", status, joined_words(mistakes)))
    findings += [_flip_finding(flip, comparison), *doubtful, *about_datum]
    findings.append(bounds_finding(bounds, comparison.asked_mm))
    findings += notes(front, back, comparison, judged.question.thickness_mm)
    return Report(
        front=tuple(program.name for program in front),
        back=tuple(program.name for program in back),
        tolerance_mm=comparison.asked_mm,
        verdict=verdict,
        flip=flip,
        register=replace(comparison.register, status=verdict),
        directions=directions,
        vote=_vote(comparison),
        datum=datum,
        bounds=bounds,
        mistakes=mistakes,
        findings=tuple(findings),
        is_contradicted=verdict is Status.FAIL or _lies_apart(comparison) or _speaks_against(comparison, doubtful),
    )


def _verdict(register: Register, directions: Sequence[Direction], doubtful: Sequence[Finding]) -> Status:
    """Return the register's status, unless contrary evidence is stronger; a pass needs all three directions."""
    states = {finding.status for finding in doubtful}
    if Status.FAIL in states or register.status is Status.FAIL:
        return Status.FAIL
    if Status.NOT_DETERMINED in states:
        return Status.NOT_DETERMINED
    # What lies apart may do so by design, and is no pass whatever else agrees.
    is_apart = register.status is not Status.PASS and register.worst_mm is not None
    is_shown = all(direction.status is Status.PASS for direction in directions)
    return Status.PASS if is_shown and not is_apart else Status.NOT_DETERMINED


def _directions(comparison: Comparison) -> tuple[Direction, ...]:
    """Return register in each direction, as what both faces share shows it."""
    reach, estimates = _shared(comparison)
    directions = directions_of(estimates, reach, comparison.asked_mm)
    way = comparison.orientation
    is_open = any(direction.status is Status.NOT_DETERMINED for direction in directions)
    is_told = not comparison.is_found and comparison.register.status is not Status.FAIL
    if not (is_open and is_told) or _lies_apart(comparison) or way is None or way.axis == "none":
        return directions
    assert comparison.placement is not None
    estimates += centre_line_estimates(comparison.faces, comparison.placement, way.axis)
    return directions_of(estimates, reach or comparison.faces.front.size_mm / 2, comparison.asked_mm)


def _speaks_against(comparison: Comparison, doubtful: Sequence[Finding]) -> bool:
    """Return whether contrary evidence is more than silhouettes that can't be compared any closer."""
    return any(not (comparison.by_silhouette and finding.check == "register") for finding in doubtful)


def _lies_apart(comparison: Comparison) -> bool:
    """Return whether what was compared lies apart, even if that may be by design."""
    worst = comparison.register.worst_mm
    return worst is not None and worst > comparison.asked_mm


def _shared(comparison: Comparison) -> tuple[float, list[Estimate]]:
    """Return how far the corners are from the middle of the part, and what shared features show."""
    register, landing = comparison.register, comparison.register.landing
    if landing is None or not (register.is_proof or register.status is Status.FAIL):
        return 0.0, []
    way = comparison.orientation
    shifts = [(landing.x_mm, landing.x_uncertainty_mm), (landing.y_mm, landing.y_uncertainty_mm)]
    across, along = shifts[::-1] if way is not None and way.axis == "x" else shifts
    shared = Estimate(
        register.evidence, across[0], along[0], landing.turn_deg, across[1], along[1], landing.turn_uncertainty_deg
    )
    return landing.reach_mm, [shared]


def _vote(comparison: Comparison) -> Vote | None:
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
        others=tuple(Rival(_choice(fit), fit.evidence.coincide) for fit in others[:_MOST_RIVALS]),
        pitch_mm=_pitch(comparison, others),
    )


def _pitch(comparison: Comparison, others: Sequence[Fit]) -> tuple[float, float] | None:
    """Return the shortest shift between two placements of one way round that explain about as much."""
    told = comparison.evidence
    if told is None:
        return None
    best: tuple[float, float] | None = None
    places = [] if comparison.match is None else [(comparison.orientation, comparison.match.placement)]
    places += [
        (fit.orientation, fit.placement) for fit in others if fit.evidence.coincide >= _REPEATS * told.coincide
    ]
    for number, (way, one) in enumerate(places):
        for other_way, other in places[:number]:
            dx_mm, dy_mm = np.abs(one.offset_mm - other.offset_mm).tolist()
            if way == other_way and (best is None or hypot(dx_mm, dy_mm) < hypot(*best)):
                best = (dx_mm, dy_mm)
    return best


def _register_finding(comparison: Comparison, verdict: Status, *, is_explained: bool) -> Finding:
    register = comparison.register
    limit = comparison.asked_mm
    if verdict is Status.FAIL and is_explained and register.worst_mm is None:
        text = "the faces share nothing that agrees as they are; with a correction they do"
        return Finding("register", verdict, text)
    if verdict is Status.PASS and register.worst_mm is None:
        return Finding("register", verdict, "the faces share no feature, but their shapes agree in all directions")
    if register.worst_mm is None or register.worst_at_mm is None:
        return Finding("register", verdict, f"{register.evidence}; {containment(comparison)}")
    where = f"worst at X {register.worst_at_mm[0]:z.2f} Y {register.worst_at_mm[1]:z.2f}"
    if verdict is Status.FAIL and register.worst_mm <= limit:
        text = f"what lies together as it was said ({register.evidence}) agrees, but other findings disprove register"
        return Finding("register", verdict, text, register.program, register.line)
    apart = "differ by at most" if register.worst_mm <= limit else "are up to"
    tail = "" if register.worst_mm <= limit else " apart"
    text = (
        f"the faces {apart} {register.worst_mm:z.3f} mm{tail} (allowed {limit:g} mm), {where}; "
        f"compared: {register.evidence}"
    )
    if verdict is Status.NOT_DETERMINED:
        text += "; this is no proof of register"
        if register.outlines and not register.is_sure:
            text += ", for the largest contours do not go through and may be no edge of both"
    elif verdict is Status.FAIL and not is_explained:
        text += "; no usual mistake explains it"
    return Finding("register", verdict, text, register.program, register.line)


def _flip(comparison: Comparison) -> Flip:
    others = tuple(_choice(fit) for fit in comparison.others)
    if comparison.placement is None:
        return Flip(FlipChoice(None, None, "not known"), is_found=False, alternatives=others)
    x_mm, y_mm = comparison.placement.offset_mm.tolist()
    if comparison.orientation is None:
        return Flip(FlipChoice(None, (x_mm, y_mm), "about no main axis"), comparison.is_found, others)
    way = comparison.orientation
    choice = FlipChoice(way.axis, (x_mm, y_mm), way.words, way.axis == "none" and way.is_turned)
    return Flip(choice, comparison.is_found, others)


def _choice(fit: Fit) -> FlipChoice:
    way = fit.orientation
    return FlipChoice(way.axis, fit.datum_mm, way.words, way.axis == "none" and way.is_turned)


def _flip_finding(flip: Flip, comparison: Comparison) -> Finding:
    """Say which flip was used, how it is known, and what else would do."""
    choice = flip.choice
    if choice.datum_mm is None:
        return Finding(
            "flip",
            Status.NOT_DETERMINED,
            "which way the blank is flipped cannot be told from the programs: name the axis and the datum",
        )
    at = place(choice.datum_mm)
    if flip.is_found:
        text = f"found: {choice.words}, the back's program zero at {at} of the front; set that on the machine"
    else:
        text = f"given: {choice.words}, the back's program zero at {at} of the front"
    if flip.alternatives:
        listed = [other for other in flip.alternatives if other.datum_mm is not None]
        others = "; ".join(f"{other.words}, zero at {place(other.datum_mm or ())}" for other in listed[:_MOST_NAMED])
        if len(listed) > _MOST_NAMED:
            others += f"; and {len(listed) - _MOST_NAMED} more"
        return Finding("flip", Status.WARN, f"{text}. What both faces share is symmetric and fits as well: {others}")
    sure = comparison.register.is_proof and comparison.register.status is Status.PASS
    return Finding("flip", Status.PASS if sure else Status.NOT_DETERMINED, text)


def _refuse_unusable(front: Face, back: Face, tolerance_mm: float, thickness_mm: float | None) -> None:
    for name, face in (("front", front), ("back", back)):
        if len(face) == 0:
            raise UsageError(f"the {name} has no program; a check needs at least one for each face")
    if not (isfinite(tolerance_mm) and tolerance_mm > 0.0):
        raise UsageError(f"the tolerance is a length over 0 mm, got {tolerance_mm}")
    if thickness_mm is not None and not (isfinite(thickness_mm) and thickness_mm > 0.0):
        raise UsageError(f"the thickness is a length over 0 mm, got {thickness_mm}")
