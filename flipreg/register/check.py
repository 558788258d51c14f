"""The check of a front and a back: whether they belong to one part.

What a pass means is written in `flipreg.register.placing.deviation`. Besides, no other way round may fit clearly
better, no outline or holes may be left over that look like misplaced partners, and each face must use one work offset.
"""

from collections.abc import Sequence
from dataclasses import replace
from math import isfinite
from typing import Literal

import numpy as np

from flipreg.errors import UsageError
from flipreg.findings import Finding, Status
from flipreg.geometry.isometry import Isometry
from flipreg.program.face import Face
from flipreg.register.decision.containment import containment
from flipreg.register.decision.contrary_evidence import contrary_evidence
from flipreg.register.decision.directions import Direction, farthest_mm
from flipreg.register.decision.mistake import joined_words
from flipreg.register.decision.shown import settled, shown
from flipreg.register.decision.unit_evidence import unit_doubts
from flipreg.register.diagnosis.advice import Advice
from flipreg.register.diagnosis.diagnosis import diagnose
from flipreg.register.diagnosis.program_advice import ProgramAdvice
from flipreg.register.faces.bounds import bounds_finding, bounds_of
from flipreg.register.faces.datum import datum_findings, datum_of
from flipreg.register.faces.number import place
from flipreg.register.faces.placement import Placement
from flipreg.register.notes import notes
from flipreg.register.placing.comparison import Comparison
from flipreg.register.placing.judge import Judged, Question, judge
from flipreg.register.report import Flip, FlipChoice, Report
from flipreg.register.rivals import choice_of, vote_of
from flipreg.units import length_text, limit_text, place_text, said_inch, shown_in, shown_now

__all__ = ["check", "reported"]

_MOST_NAMED = 3
"""Other flips that a sentence names (chosen)."""


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
        Its `in_register` is True only by proof. Its sentences are in inches if all programs are, unless
        `flipreg.units.shown_in` says otherwise; its numbers are millimetres.

    Raises
    ------
    UsageError
        If a face has no program, or the tolerance or the thickness is not a length over 0.
    """
    _refuse_unusable(front, back, tolerance_mm, thickness_mm)
    given = None if flip is None else Placement.of(~flip)
    said = said_inch()
    with shown_in(inch=all(program.inch for program in (*front, *back)) if said is None else said):
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
    front, back = judged.front, judged.back
    directions = shown(judged)
    comparison = settled(judged.comparison, directions)
    datum = datum_of(front, back, comparison.placement)
    bounds = bounds_of(comparison.faces.front, comparison.faces.back, comparison.placement)
    in_doubt = unit_doubts(judged)
    doubtful = [*contrary_evidence(comparison), *in_doubt]
    about_datum = datum_findings(datum, front, back)
    mixed = [finding for finding in about_datum[1:] if finding.status is Status.NOT_DETERMINED]
    directions = _held_against(directions, doubtful)
    verdict = _verdict(comparison, directions, [*doubtful, *mixed])
    is_plain = verdict is Status.PASS or (
        verdict is not Status.FAIL and comparison.register.status is Status.PASS and not in_doubt
    )
    mistakes = () if is_plain else diagnose(judged, advice)
    if comparison.register.may_be_by_design:
        meant = "if what both faces show is meant to be one"
        mistakes = tuple(replace(one, reason=f"{meant}, {one.reason}") for one in mistakes)
    if verdict is Status.NOT_DETERMINED and not comparison.is_vague and any(one.is_certain for one in mistakes):
        verdict = Status.FAIL
    flip = _flip(comparison)
    if any(finding.check == "flip" and finding.status is Status.FAIL for finding in doubtful):
        # What fits as well as the flip that was told is no answer where another one fits better.
        flip = replace(flip, alternatives=())
    findings = [_register_finding(comparison, verdict, is_explained=bool(mistakes))]
    if mistakes:
        status = Status.FAIL if verdict is Status.FAIL else Status.WARN
        findings.append(Finding("diagnosis", status, joined_words(mistakes)))
    findings += [_flip_finding(flip, comparison, verdict), *doubtful, *about_datum]
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
        vote=vote_of(comparison),
        datum=datum,
        bounds=bounds,
        mistakes=mistakes,
        findings=tuple(findings),
        is_contradicted=verdict is Status.FAIL or comparison.lies_apart or _speaks_against(comparison, doubtful),
        inch=shown_now().inch,
    )


def _held_against(directions: tuple[Direction, ...], doubtful: Sequence[Finding]) -> tuple[Direction, ...]:
    """Return the directions with none passed where the back, or a program, may lie elsewhere or be in another unit."""
    against = (one for one in doubtful if one.check in ("flip", "units") or one.status is Status.FAIL)
    elsewhere = next(against, None)
    if elsewhere is None:
        return directions
    settle = f"see the finding {elsewhere.check!r}"
    return tuple(
        replace(one, status=Status.NOT_DETERMINED, settle=settle) if one.status is Status.PASS else one
        for one in directions
    )


def _verdict(comparison: Comparison, directions: Sequence[Direction], doubtful: Sequence[Finding]) -> Status:
    """Return the register's status, unless contrary evidence is stronger; a pass needs all three directions."""
    states = {finding.status for finding in doubtful}
    # Where nothing is shared but lines of slots, a direction that they disprove is all there is to go by.
    is_out = comparison.register.worst_mm is None and any(one.status is Status.FAIL for one in directions)
    # Where rasters begin and end differs from face to face: silhouettes that fit several ways show no place.
    is_vague = comparison.by_silhouette and len(comparison.passing) > 1
    is_out |= comparison.register.status is Status.FAIL and not is_vague
    if is_out or Status.FAIL in states:
        return Status.FAIL
    if Status.NOT_DETERMINED in states:
        return Status.NOT_DETERMINED
    # What lies apart may do so by design, and is no pass whatever else agrees; nor do corners that lie off by more.
    is_apart = comparison.lies_apart or _corner_mm(comparison, directions) > comparison.asked_mm
    is_shown = all(direction.status is Status.PASS for direction in directions) and not is_apart
    is_enough = comparison.register.status is Status.PASS or not comparison.is_found
    return Status.PASS if is_shown and is_enough else Status.NOT_DETERMINED


def _corner_mm(comparison: Comparison, directions: Sequence[Direction]) -> float:
    """Return how far a corner of what both faces cut is displaced, as all three directions together show it."""
    if comparison.placement is None:
        return 0.0
    box = np.nan_to_num(comparison.faces.box_mm(comparison.placement))
    x_mm, y_mm = ((box[2:] - box[:2]) / 2.0).tolist()
    way = comparison.orientation
    across_mm, along_mm = (y_mm, x_mm) if way is not None and way.axis == "x" else (x_mm, y_mm)
    return farthest_mm(directions, across_mm, along_mm)


def _speaks_against(comparison: Comparison, doubtful: Sequence[Finding]) -> bool:
    """Return whether contrary evidence is more than silhouettes that can't be compared any closer."""
    return any(not (comparison.by_silhouette and finding.check == "register") for finding in doubtful)


def _register_finding(comparison: Comparison, verdict: Status, *, is_explained: bool) -> Finding:
    register = comparison.register
    limit = comparison.asked_mm
    if verdict is Status.FAIL and register.worst_mm is None and not is_explained:
        return Finding("register", verdict, "the faces share no feature, but what both show lies apart as it was said")
    if verdict is Status.FAIL and register.worst_mm is None:
        text = "the faces share nothing that agrees as they are; with a correction they do"
        return Finding("register", verdict, text)
    if verdict is Status.PASS and register.worst_mm is None:
        return Finding("register", verdict, "the faces share no feature, but their shapes agree in all directions")
    if register.worst_mm is None or register.worst_at_mm is None:
        return Finding("register", verdict, f"{register.evidence}; {containment(comparison)}")
    where = f"worst at {place_text(register.worst_at_mm, 2)}"
    landing = register.landing
    if register.worst_mm <= limit and landing is not None and landing.part_mm > limit:
        text = (
            f"what is shared lies at most {length_text(register.worst_mm, 3)} apart, but the part is displaced by "
            f"{length_text(landing.part_mm, 3)} (allowed {limit_text(limit)}) at its corner "
            f"{place_text(landing.part_at_mm, 2)}; compared: {register.evidence}"
        )
        return Finding("register", verdict, text, register.program, register.line)
    if verdict is Status.FAIL and register.worst_mm <= limit:
        text = f"what lies together as it was said ({register.evidence}) agrees, but other findings disprove register"
        return Finding("register", verdict, text, register.program, register.line)
    apart = "differ by at most" if register.worst_mm <= limit else "are up to"
    tail = "" if register.worst_mm <= limit else " apart"
    text = (
        f"the faces {apart} {length_text(register.worst_mm, 3)}{tail} (allowed {limit_text(limit)}), {where}; "
        f"compared: {register.evidence}"
    )
    if verdict is Status.NOT_DETERMINED:
        text += "; this is no proof of register"
        goes_through = comparison.match is not None and any(pair.goes_through for pair in comparison.match.outlines)
        if register.outlines and not register.is_sure and not goes_through:
            text += ", for the largest contours do not go through and may be no edge of both"
        if register.may_be_by_design:
            text += ", for few features, a row or a grid may be in both faces at different places by design"
    elif verdict is Status.FAIL and not is_explained:
        text += "; no usual mistake explains it"
    return Finding("register", verdict, text, register.program, register.line)


def _flip(comparison: Comparison) -> Flip:
    others = tuple(choice_of(fit) for fit in comparison.others)
    if comparison.placement is None:
        return Flip(FlipChoice(None, None, "not known"), is_found=False, alternatives=others)
    x_mm, y_mm = comparison.placement.offset_mm.tolist()
    if comparison.orientation is None:
        return Flip(FlipChoice(None, (x_mm, y_mm), "about no main axis"), comparison.is_found, others)
    way = comparison.orientation
    choice = FlipChoice(way.axis, (x_mm, y_mm), way.words, way.axis == "none" and way.is_turned)
    return Flip(choice, comparison.is_found, others)


def _flip_finding(flip: Flip, comparison: Comparison, verdict: Status) -> Finding:
    """Say which flip was used, how it is known, and what else would do."""
    choice = flip.choice
    if choice.datum_mm is None:
        return Finding(
            "flip",
            Status.NOT_DETERMINED,
            "which way the blank is flipped cannot be told from the programs: name the axis and the datum",
        )
    at = place(choice.datum_mm)
    if flip.is_found and verdict is Status.NOT_DETERMINED:
        says = f"{choice.words}, the back's program zero at {at} of the front, fits best, and is not settled"
        return Finding("flip", verdict, says)
    if flip.is_found:
        text = f"found: {choice.words}, the back's program zero at {at} of the front; set that on the machine"
    else:
        text = f"given: {choice.words}, the back's program zero at {at} of the front"
    if flip.alternatives:
        listed = [other for other in flip.alternatives if other.datum_mm is not None]
        others = "; ".join(f"{other.words}, zero at {place(other.datum_mm or ())}" for other in listed[:_MOST_NAMED])
        if len(listed) > _MOST_NAMED:
            others += f"; and {len(listed) - _MOST_NAMED} more"
        says = f"{text}. What both faces share is symmetric or repeats, and fits as well: {others}"
        return Finding("flip", Status.WARN, f"{says}. If the whole part is so, that does no harm")
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
