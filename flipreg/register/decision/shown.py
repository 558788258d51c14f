"""What is shown in each direction: by shared features, or else by the shape of the wood."""

from collections.abc import Sequence
from dataclasses import replace
from math import inf

from flipreg.cut.tool import Cutter
from flipreg.findings import Status
from flipreg.path import Path
from flipreg.program.face import Face
from flipreg.register.decision.directions import Direction, PoseEstimate, directions_of
from flipreg.register.decision.elsewhere import elsewhere
from flipreg.register.decision.slot_lines import slot_line_estimates
from flipreg.register.decision.wood_evidence import centre_line_estimates, rim_estimate
from flipreg.register.placing.agreement import NEAR_MM
from flipreg.register.placing.comparison import Comparison
from flipreg.register.placing.deviation import nothing_shared
from flipreg.register.placing.judge import Judged
from flipreg.register.placing.matching import Faces

__all__ = ["settled", "shown"]

_ROOM = 3.0
"""Silhouettes that fit in several ways round disprove register only so many times further apart than where they fit
best (chosen)."""
_TWO = 2
"""So many features through both faces are believed where the back was told to be, however few there are (chosen)."""


def shown(judged: Judged) -> tuple[Direction, ...]:
    """Return register in each direction: as shared features show it, or else the shape of the wood."""
    comparison = judged.comparison
    reach, estimates = _shared(comparison)
    directions = directions_of(estimates, reach, comparison.asked_mm)
    way = comparison.orientation
    is_open = any(direction.status is Status.NOT_DETERMINED for direction in directions)
    is_told = not comparison.is_found and (comparison.register.status is not Status.FAIL or comparison.is_vague)
    if not (is_open and is_told) or comparison.lies_apart or way is None or way.axis == "none":
        return directions
    estimates += _of_wood(judged, way.axis)
    return directions_of(estimates, reach or comparison.faces.front.size_mm / 2, comparison.asked_mm)


def settled(comparison: Comparison, directions: Sequence[Direction]) -> Comparison:
    """Return the comparison without its silhouettes, where the shape of the wood has shown all that they leave open.

    Silhouettes that lie apart by more than their lines explain, or that fit only elsewhere, are kept; they leave open
    what the shape of the wood shows, and don't disprove it. Nor do those that fit in several ways round, if they are
    not far apart: then their lines may explain it.
    """
    by_wood = all(
        one.status is Status.PASS and one.evidence != comparison.register.evidence for one in directions
    )
    worst = comparison.register.worst_mm
    is_vague = len(comparison.passing) > 1 and worst is not None and worst <= _ROOM * comparison.faces.tolerance_mm
    if not comparison.by_silhouette or not (by_wood or is_vague):
        return comparison
    if comparison.register.status is Status.FAIL:
        return replace(comparison, register=replace(comparison.register, status=Status.NOT_DETERMINED))
    if not by_wood or elsewhere(comparison):
        return comparison
    front, back = (replace(one, outlines=()) for one in (comparison.faces.front, comparison.faces.back))
    faces = Faces(front, back, comparison.asked_mm, comparison.faces.meeting)
    register = replace(nothing_shared(), evidence="; ".join(dict.fromkeys(str(one.evidence) for one in directions)))
    return replace(comparison, faces=faces, match=None, register=register, found=(), others=(), evidence=None)


def _shared(comparison: Comparison) -> tuple[float, list[PoseEstimate]]:
    """Return how far the corners are from the middle of the part, and what shared features show."""
    register, landing = comparison.register, comparison.register.landing
    evidence = comparison.evidence
    if register.may_be_by_design or comparison.is_vague or landing is None or evidence is None:
        return 0.0, []
    if not (evidence.beats_chance or (register.is_sure and evidence.coincide >= _TWO)):
        return 0.0, []
    if not (register.is_proof or register.status is Status.FAIL):
        return 0.0, []
    way = comparison.orientation
    shifts = [(landing.x_mm, landing.x_uncertainty_mm), (landing.y_mm, landing.y_uncertainty_mm)]
    across, along = shifts[::-1] if way is not None and way.axis == "x" else shifts
    shared = PoseEstimate(
        register.evidence, across[0], along[0], landing.turn_deg, across[1], along[1], landing.turn_uncertainty_deg
    )
    is_elsewhere = landing.part_mm > NEAR_MM and any(fit.orientation != way for fit in comparison.passing)
    is_pair = comparison.match is not None and not comparison.match.outlines and evidence.coincide <= _TWO
    if is_elsewhere or (is_pair and landing.part_mm > comparison.asked_mm):
        # Far from where it was told and as well another way round, or two holes, which half a turn lays on each other:
        # how it is turned is not known.
        shared = replace(shared, turn_uncertainty_deg=inf)
    return landing.reach_mm, [shared]


def _of_wood(judged: Judged, axis: str) -> list[PoseEstimate]:
    """Return what the lines of slots, the centre lines of both faces and their rim show."""
    comparison, question = judged.comparison, judged.question
    placement, box = comparison.placement, comparison.faces.front.cut_box_mm
    assert placement is not None
    estimates = slot_line_estimates(comparison.faces, placement, axis)
    estimates += centre_line_estimates(comparison.faces, placement, axis)
    features = comparison.faces.front, comparison.faces.back
    if question.thickness_mm is None or any(one.is_empty or not one.top_is_zero for one in features):
        return estimates
    cuts = _cuts(judged.front), _cuts(judged.back)
    if not (cuts[0] and cuts[1]):
        return estimates
    edge = rim_estimate(
        cuts,
        placement,
        axis,
        middle=(box[:2] + box[2:]) / 2.0,
        thickness_mm=question.thickness_mm,
        tolerance_mm=comparison.asked_mm,
    )
    return estimates if edge is None else [*estimates, edge]


def _cuts(face: Face) -> list[tuple[Path, Cutter]]:
    """Return the motions of each stretch of a face with one tool, with that tool; none where a shape is not known."""
    parts = [(part.path, part.cutter) for program in face for part in program.by_tool()]
    known = [(path, cutter) for path, cutter in parts if cutter is not None]
    return known if len(known) == len(parts) else []
