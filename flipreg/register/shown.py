"""What is shown in each direction: by shared features, or else by the shape of the wood."""

from collections.abc import Sequence

from flipreg.cut.tool import Cutter
from flipreg.findings import Status
from flipreg.path import Path
from flipreg.program.face import Face
from flipreg.register.comparison import Comparison
from flipreg.register.directions import Direction, Estimate, directions_of
from flipreg.register.judge import Judged
from flipreg.register.wood_evidence import centre_line_estimates, rim_estimate

__all__ = ["shown"]

_TWO = 2
"""So many features through both faces are believed where the back was told to be, however few there are (chosen)."""


def shown(judged: Judged) -> tuple[Direction, ...]:
    """Return register in each direction: as shared features show it, or else the shape of the wood."""
    comparison = judged.comparison
    reach, estimates = _shared(comparison)
    directions = directions_of(estimates, reach, comparison.asked_mm)
    way = comparison.orientation
    is_open = any(direction.status is Status.NOT_DETERMINED for direction in directions)
    is_told = not comparison.is_found and comparison.register.status is not Status.FAIL
    if not (is_open and is_told) or comparison.lies_apart or way is None or way.axis == "none":
        return directions
    estimates += _of_wood(judged, way.axis)
    return directions_of(estimates, reach or comparison.faces.front.size_mm / 2, comparison.asked_mm)


def _shared(comparison: Comparison) -> tuple[float, list[Estimate]]:
    """Return how far the corners are from the middle of the part, and what shared features show."""
    register, landing = comparison.register, comparison.register.landing
    is_vague = comparison.is_coarse or (comparison.by_silhouette and len(comparison.passing) > 1)
    evidence = comparison.evidence
    is_chance = evidence is None or not (evidence.beats_chance or (register.is_sure and evidence.coincide >= _TWO))
    if is_vague or is_chance or landing is None or not (register.is_proof or register.status is Status.FAIL):
        return 0.0, []
    way = comparison.orientation
    shifts = [(landing.x_mm, landing.x_uncertainty_mm), (landing.y_mm, landing.y_uncertainty_mm)]
    across, along = shifts[::-1] if way is not None and way.axis == "x" else shifts
    shared = Estimate(
        register.evidence, across[0], along[0], landing.turn_deg, across[1], along[1], landing.turn_uncertainty_deg
    )
    return landing.reach_mm, [shared]


def _of_wood(judged: Judged, axis: str) -> list[Estimate]:
    """Return what the centre lines of both faces and their rim show."""
    comparison, question = judged.comparison, judged.question
    placement, box = comparison.placement, comparison.faces.front.cut_box_mm
    assert placement is not None
    estimates = centre_line_estimates(comparison.faces, placement, axis)
    if question.cutters is None or question.thickness_mm is None or comparison.faces.front.is_empty:
        return estimates
    cutters = question.cutters
    edge = rim_estimate(
        (_cuts(judged.front, cutters[0]), _cuts(judged.back, cutters[1])),
        placement,
        axis,
        middle=(box[:2] + box[2:]) / 2.0,
        thickness_mm=question.thickness_mm,
        tolerance_mm=comparison.asked_mm,
    )
    return estimates if edge is None else [*estimates, edge]


def _cuts(face: Face, cutters: Sequence[Cutter]) -> list[tuple[Path, Cutter]]:
    """Return the motions of each stretch of a face with one tool, with that tool."""
    stretches = [part for program in face for part in program.by_tool()]
    return [(part.path, cutter) for part, cutter in zip(stretches, cutters, strict=True)]
