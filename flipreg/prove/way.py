"""The proof of a way that an edit adds between two passes: straight up, and across where the source went across.

Nothing is known of clamps and of what stands on the table, so that the only height at which anything may go across is
one at which the source itself did so last, with the same tool, offsets and length offset.
"""

import numpy as np

from flipreg.path import Kind, Path
from flipreg.prove.read import PROOF_TOLERANCE_MM
from flipreg.prove.stretches import Claimed, fault, rows_between
from flipreg.rs274.interpret.whole import Whole

__all__ = ["check_way"]

_SAME_MM = 1e-6
_LEVEL_MODES = ("work_offset", "length_offset")


def check_way(source: Whole, output: Whole, claim: Claimed, top_mm: float) -> None:
    """Check the motions of added lines; where they lead to is checked with the lines after them.

    Raises
    ------
    ProofError
        If one is no traverse, goes down, or goes across lower than the source's own last traverse across, or at or
        below the surface.
    """
    rows = rows_between(output, claim.out_first, claim.out_last)
    way = output.path.take(rows)
    if not len(way):
        return
    lowest = max(_last_height_across(source, output, claim), top_mm + _SAME_MM)
    for row in range(len(way)):
        start, end = way.start[row], way.end[row]
        if way.kind[row] != Kind.RAPID or way.cycle[row] or way.compensation[row]:
            raise fault(source, claim.first, "an added motion would be no traverse")
        # An unknown place is neither up nor at one height.
        if not _goes_across(way, row):
            is_right = bool(end[2] >= start[2])
        else:
            is_right = bool(abs(end[2] - start[2]) <= _SAME_MM and end[2] >= lowest - PROOF_TOLERANCE_MM)
        if not is_right:
            raise fault(source, claim.first, "an added traverse would go down, or across too low")


def _last_height_across(source: Whole, output: Whole, claim: Claimed) -> float:
    """Return the height of the source's last traverse across before added lines; infinite if it tells nothing here."""
    path = source.path
    row = int(np.searchsorted(path.line, claim.first)) - 1
    while row >= 0:
        is_level = abs(path.end[row, 2] - path.start[row, 2]) <= _SAME_MM
        if path.kind[row] == Kind.RAPID and not path.cycle[row] and is_level and _goes_across(path, row):
            break
        row -= 1
    if row < 0:
        return np.inf
    mine, made = int(path.line[row]) - 1, claim.out_first - 1
    same = all(getattr(source.modes, name)[mine] == getattr(output.modes, name)[made] for name in _LEVEL_MODES)
    tool = output.path.tool[rows_between(output, claim.out_first, claim.out_last)]
    if not same or (tool != path.tool[row]).any():
        return np.inf
    # Machine positions, axis offsets and origins in between change the number of a height.
    if any(mine <= block < claim.first for block in source.modes.apart):
        return np.inf
    return float(path.end[row, 2])


def _goes_across(path: Path, row: int) -> bool:
    return not bool((np.abs(path.end[row, :2] - path.start[row, :2]) <= _SAME_MM).all())
