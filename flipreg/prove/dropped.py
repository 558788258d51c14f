"""Passes that are left out below a floor that was moved up: nothing that they did may be missing."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path
from flipreg.prove.ground import is_fed
from flipreg.prove.read import PROOF_TOLERANCE_MM
from flipreg.prove.stretches import Claimed, fault, rows_between
from flipreg.rs274.code_groups import G_GROUPS, Group
from flipreg.rs274.interpret.whole import Whole

__all__ = ["check_left_out", "check_modes_after"]

Floats = NDArray[np.float64]

_SAME = 1e-6
_POINT_DECIMALS = 4
_CUTTING_LETTERS = b"XYZIJKRFDN"
_MODES = (
    *("normal", "incremental", "absolute_centres", "inch", "inverse_time", "initial_level"),
    *("cutter", "work_offset", "length_offset"),
)
_CODES_OF_MODES = tuple(
    code for group, codes in G_GROUPS.items() if group not in (Group.NON_MODAL, Group.PATH_CONTROL) for code in codes
)
"""Codes that move, or that the modes of the lines after them show."""


def check_modes_after(source: Whole, output: Whole, claims: Sequence[Claimed]) -> None:
    """Check that after passes that are left out all modes are as if they had run.

    Raises
    ------
    ProofError
        At the last line of such passes.
    """
    for claim, following in pairwise(claims):
        if claim.dropped and following.runs:
            mine, made = claim.last - 1, following.out_first - 2
            for name in _MODES:
                if getattr(source.modes, name)[mine] != getattr(output.modes, name)[made]:
                    raise fault(source, claim.last, f"a mode would be lost: {name.replace('_', ' ')}")


def check_left_out(source: Whole, output: Whole, claim: Claimed, floor_mm: float) -> None:
    """Check that a pass that is left out is below the floor, and that all of its place is cut to the floor.

    Raises
    ------
    ProofError
        If not, or if its lines did more than cut.
    """
    _check_words(source, claim)
    path = source.path.take(rows_between(source, claim.first, claim.last))
    flat = is_fed(path) & (np.abs(path.end[:, 2] - path.start[:, 2]) <= _SAME)
    if not len(path) or path.end[is_fed(path), 2].min(initial=np.inf) > floor_mm + PROOF_TOLERANCE_MM + _SAME:
        raise fault(source, claim.first, "a pass above the floor would be lost")
    reached = _lowest_before(output.path)
    for (x, y), line in zip(_points(path.end[flat]), path.line[flat].tolist(), strict=True):
        if reached.get((x, y), np.inf) > floor_mm + PROOF_TOLERANCE_MM:
            raise fault(source, line, f"nothing would be cut at X{x:g} Y{y:g} any more")


def _check_words(source: Whole, claim: Claimed) -> None:
    """Check that lines hold nothing but cuts, ways to them, and modes that the lines after them show."""
    blocks = source.blocks
    low, high = np.searchsorted(blocks.block, [claim.first - 1, claim.last]).tolist()
    letter, codes = blocks.letter[low:high], np.rint(source.modes.values[low:high] * 10)
    cuts = np.isin(letter, list(_CUTTING_LETTERS)) | ((letter == ord("G")) & np.isin(codes, _CODES_OF_MODES))
    if not cuts.all():
        row = low + int(np.argmin(cuts))
        raise fault(source, int(blocks.block[row]) + 1, f"{blocks.spelling(row)} would be lost")


def _points(ends: Floats) -> list[tuple[float, float]]:
    return [(x, y) for x, y, _ in ends.round(_POINT_DECIMALS).tolist()]


def _lowest_before(path: Path) -> dict[tuple[float, float], float]:
    """Return how deep was cut at each point where a feed ended."""
    lowest: dict[tuple[float, float], float] = {}
    ends = path.end[is_fed(path) & ~np.isnan(path.end).any(axis=1)]
    for x, y, z in ends.round(_POINT_DECIMALS).tolist():
        lowest[x, y] = min(z, lowest.get((x, y), z))
    return lowest
