"""Whether programs are in the unit that they say: what their size and what both faces share say about that."""

import numpy as np

from flipreg.findings import Finding, Status
from flipreg.register.placing.comparison import Comparison
from flipreg.register.placing.judge import Judged
from flipreg.register.placing.match import quick_distances
from flipreg.register.placing.other_units import OtherUnit, Zeros, other_units, read_as

__all__ = ["agrees_then", "is_seen", "read_in", "unit_doubts"]

_AT_ZERO_MM = 1.0
"""A hole nearer to program zero lies nearly the same in millimetres and in inches (chosen)."""


def unit_doubts(judged: Judged) -> list[Finding]:
    """Return findings on programs that may be in another unit: by their size alone, or by what agrees in that unit."""
    question, comparison = judged.question, judged.comparison
    for other in other_units(judged.front, judged.back, question.zeros, question.largest_mm):
        if is_seen(comparison, other, question.zeros):
            continue
        names, size = ", ".join(other.names), "smaller" if other.unit == "inch" else "larger"
        if other.is_plain:
            own = "in a unit of its own, and" if other.is_written else "says no unit, and is"
            says = (
                f"{names}: {own} far {size} than the others; that the unit is right would need a "
                "hole or an outline of it that the other face has too"
            )
            return [Finding("units", Status.NOT_DETERMINED, says)]
        # Centres and axes of symmetry lie at the same place in any unit: where nothing else is shared, what would be is
        # asked for.
        if comparison.match is None and agrees_then(judged, read_in(judged, other)):
            read = "inches" if other.unit == "inch" else "millimetres"
            says = f"{names}: far {size} than the others, and shares features with the other face if read in {read}"
            return [Finding("units", Status.NOT_DETERMINED, says)]
    return []


def read_in(judged: Judged, other: OtherUnit) -> Judged:
    """Return the same question asked of the same faces, with some programs read in another unit."""
    zeros = judged.question.zeros
    front = read_as(judged.front, other, zeros) if other.is_front else judged.front
    back = judged.back if other.is_front else read_as(judged.back, other, zeros)
    return judged.again(front, back)


def agrees_then(judged: Judged, again: Judged) -> bool:
    """Return whether the faces are in register as they are read `again`, and more of them coincides than before."""
    then = again.comparison
    # Where several places fit, the unit is as plain as where one does.
    is_several = then.is_ambiguous and then.evidence is not None and then.evidence.is_plenty
    fits = is_several or (then.register.is_sure and then.register.status is Status.PASS)
    now = judged.comparison.evidence
    return fits and then.evidence is not None and then.evidence.coincide > (0 if now is None else now.coincide)


def is_seen(comparison: Comparison, other: OtherUnit, zeros: Zeros) -> bool:
    """Return whether programs make something that agrees with the other face, in the unit that they say.

    What is at program zero would agree in any unit and shows nothing.
    """
    match, placement = comparison.match, comparison.placement
    if match is None or placement is None:
        return False
    names = (comparison.faces.front if other.is_front else comparison.faces.back).names
    ours = comparison.faces.front.holes.take(match.front_hole)
    theirs = comparison.faces.back.holes.take(match.back_hole)
    agrees = np.hypot(*(placement.apply(theirs.centre_mm) - ours.centre_mm).T) <= comparison.faces.tolerance_mm
    own = ours if other.is_front else theirs
    away = np.hypot(*(own.centre_mm - np.array(zeros.of(is_front=other.is_front)[:2])).T) > _AT_ZERO_MM
    if any(names[row] in other.names for row in own.program[agrees & away].tolist()):
        return True
    for pair in match.outlines:
        off = quick_distances(pair, placement)
        features, row = (comparison.faces.front, pair.front) if other.is_front else (comparison.faces.back, pair.back)
        is_own = names[features.outlines[row].program] in other.names
        if is_own and len(off) and float(off.max()) <= comparison.faces.tolerance_mm:
            return True
    return False
