"""Programs of one face that do not share one zero: no shift of the whole face would help."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Finding, Status
from flipreg.register.decision.left_over import left_over
from flipreg.register.decision.mistake import Mistake, Way, shift_words
from flipreg.register.placing.chance import log10_false_alarms
from flipreg.register.placing.comparison import Comparison
from flipreg.register.placing.evidence import LIKELY_CHANCE
from flipreg.register.placing.matching import Faces
from flipreg.register.placing.search import Fit

__all__ = ["TWO_ZEROS", "doubted", "two_zeros"]

TWO_ZEROS = "two zeros"
"""The code of the mistake."""
_ZEROS = (TWO_ZEROS, "compare the zero of each program of the back with the plan; no shift of all of them mends it")
_CURES = {
    "holes": _ZEROS,
    "register": _ZEROS,
    "tool": ("tool", "check the tool diameter and the allowance the program was made with"),
}


def two_zeros(comparison: Comparison, own: Fit) -> list[Mistake]:
    """Name programs of the back that lie elsewhere than the rest, where the back fits as in `own`."""
    there = replace(comparison, placement=own.placement, match=own.match, register=own.register)
    return _left_behind(comparison, own) or doubted(left_over(there, own.placement))


def doubted(findings: Sequence[Finding]) -> list[Mistake]:
    """Return what disproves register, although no correction of the whole back would help, as a mistake."""
    for finding in findings:
        if finding.status is Status.FAIL:
            code, cure = _CURES.get(finding.check, ("offset", "compare both programs with the plan"))
            return [Mistake(code, finding.says, (Way(cure),), is_small=True, finding=finding)]
    return []


def _left_behind(comparison: Comparison, fit: Fit) -> list[Mistake]:
    """Name what of the back agrees as it was told, if what agrees as in `fit` would have to be shifted."""
    if comparison.placement is None or comparison.is_found:
        return []
    faces, both = comparison.faces, comparison.faces.comparable
    after = fit.evidence.agreement
    ours, theirs, _ = both.pairs(comparison.placement, both.gate_mm)
    stay = theirs[~(np.isin(theirs, after.back) | np.isin(ours, after.front))]
    outlines = np.array([faces.back.outlines[pair.back].program for pair in fit.match.outlines], np.int64)
    moved = (both.back.program[after.back], faces.back.holes.program[fit.match.back_hole], outlines)
    staying, moving = _names(faces, both.back.program[stay]), _names(faces, np.concatenate(moved))
    if not staying or not moving:
        return []
    is_theirs = np.isin(both.back.program, np.unique(both.back.program[stay]))
    count, features = (len(np.unique(both.back_places[rows])) for rows in (stay, is_theirs))
    # No placement was looked for: it was told.
    if log10_false_alarms(count, features, after.by_chance / max(after.features, 1), 1.0) > LIKELY_CHANCE:
        return []
    dx_mm, dy_mm = (comparison.placement.offset_mm - fit.placement.offset_mm).tolist()
    sits = f"sits {shift_words(dx_mm, dy_mm)}, seen from the front"
    says = f"what {', '.join(moving)} cuts {sits}, where {', '.join(staying)} agrees as it was told"
    if set(staying) & set(moving):
        says = f"a part of what {', '.join(staying)} cuts agrees as it was told, and the rest {sits}"
    says += ": they have two zeros"
    return [Mistake(TWO_ZEROS, says, (Way(_ZEROS[1]),), is_small=True)]


def _names(faces: Faces, programs: NDArray[np.int64]) -> list[str]:
    return sorted({faces.back.names[index] for index in programs.tolist()})
