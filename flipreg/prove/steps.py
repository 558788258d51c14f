"""Increments from places that nobody knows: the end is not known either, so that the step itself is compared.

After a machine position, a probe trip or another offset the point stands somewhere; an increment leads from there to
the same somewhere and a step more. Both programs stand at the same unknown place, so that equal steps, and nothing
less, make equal places.
"""

import numpy as np

from flipreg.errors import ProofError
from flipreg.prove.expected import Expected
from flipreg.prove.read import Read

__all__ = ["compare_steps"]


def compare_steps(source: Read, expected: Expected, output: Read, tolerance_mm: float) -> float:
    """Return the largest deviation of the output's steps from unknown places from the source's, turned.

    Raises
    ------
    ProofError
        At a step that is off by more than the tolerance, or in one of the programs only.
    """
    ours, theirs = source.modes.steps_mm, output.modes.steps_mm
    largest = 0.0
    for block in sorted({*ours, *theirs}):
        mine, made = (np.array([steps.get(block, (0.0, 0.0, 0.0))]) for steps in (ours, theirs))
        wanted = expected.of(int(source.modes.work_offset[block])).turn(mine)
        off = float(np.linalg.norm(made - wanted))
        if not off <= tolerance_mm:
            line = source.blocks.first_line + block
            raise ProofError(
                f"{source.blocks.source}:{line}: the step from a place that is not known would be {off:.6f} mm off in "
                f"the output, allowed is {tolerance_mm} mm"
            )
        largest = max(largest, off)
    return largest
