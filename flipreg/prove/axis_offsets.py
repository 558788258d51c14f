"""Labels of G92 compared: the number that the point gets has to be moved like every other."""

import numpy as np

from flipreg.errors import ProofError
from flipreg.prove.expected import Expected
from flipreg.prove.read import Read

__all__ = ["compare_axis_offsets"]

_AXIS_OFFSET = 920


def compare_axis_offsets(source: Read, expected: Expected, output: Read, tolerance_mm: float) -> float:
    """Return the largest deviation of the output's axis offsets from the source's, moved.

    Raises
    ------
    ProofError
        At an axis offset that is off by more than the tolerance, or not there.
    """
    largest = 0.0
    for block, apart in source.modes.apart.items():
        if apart.code != _AXIS_OFFSET:
            continue
        made = output.modes.apart.get(block)
        isometry = expected.of(int(source.modes.work_offset[block]))
        wanted = isometry.apply(np.array([apart.numbers_mm]))[0]
        found = np.full(3, np.nan) if made is None else np.array(made.numbers_mm)
        known = ~np.isnan(wanted)
        off = float(np.abs(found - wanted)[known].max(initial=0.0))
        if not off <= tolerance_mm:
            line = source.blocks.first_line + block
            raise ProofError(
                f"{source.blocks.source}:{line}: the axis offset of G92 would be {off:.6f} mm off in the output, "
                f"allowed is {tolerance_mm} mm"
            )
        largest = max(largest, off)
    return largest
