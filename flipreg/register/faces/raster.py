"""The passes of a raster: where they end and how far they are apart says how wood is cut, and nothing of the part."""

import numpy as np
from numpy.typing import NDArray

__all__ = ["PARALLEL", "SAME_LINE_MM", "are_passes", "raster_chains"]

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Rows = NDArray[np.intp]

SAME_LINE_MM = 0.01
"""A cut this close to a line runs along it, in millimetres (chosen): ten times a program's last decimal."""
PARALLEL = 0.05
"""Squared directions that differ by less are parallel (chosen): by a degree and a half."""
_SAME_STEP_MM = 0.05
"""Stepovers of a raster are alike within this, in millimetres (chosen): two last decimals of inches."""
_MOST_STEPS = 0.5
"""Lines of which so large a share lies one stepover from the next are a raster (chosen)."""


def raster_chains(side: Rows, chain: Rows, hand: Floats, long: Floats) -> Rows:
    """Return the chains that go to and fro: those that turn round to the left and to the right by one stepover.

    Parameters
    ----------
    side, chain : int arrays, shape (n,)
        Of each corner: the side before it, and the chain that it belongs to.
    hand : array, shape (n,)
        1 where it turns to the left, -1 where to the right.
    long : array
        Length of each side, in millimetres.
    """
    # Three corners in a row with the next: a stepover, a line, and a stepover to the same side as the first.
    n = max(len(side) - 3, 0)
    row = [slice(k, k + n) for k in range(4)]
    in_row = (side[row[3]] == side[row[0]] + 3) & (chain[row[3]] == chain[row[0]])
    to_and_fro = (hand[row[0]] == hand[row[1]]) & (hand[row[2]] == hand[row[3]]) & (hand[row[1]] == -hand[row[2]])
    step, line, other = (long[side[row[k]] + 1] for k in range(3))
    is_even = (np.abs(step - other) <= _SAME_STEP_MM) & (step < line)
    return np.unique(chain[row[0]][in_row & to_and_fro & is_even])


def are_passes(middle: Complexes, way: Complexes, is_curved: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return which lines are passes of a carving: parallel to others with curved floors, most one stepover apart.

    A slot across a curved board has a curved floor as well; it has no two neighbours at one distance.
    """
    found = np.zeros(len(middle), np.bool_)
    key = np.round(np.column_stack([way.real, way.imag]) / PARALLEL)
    _, group = np.unique(key, axis=0, return_inverse=True)
    for number in np.unique(group[is_curved]).tolist():
        rows = np.flatnonzero(is_curved & (group == number))
        across = np.sort((middle[rows] * np.sqrt(way[rows[0]]).conj()).imag)
        apart = np.diff(across)
        apart = apart[apart > SAME_LINE_MM]
        alike = np.abs(apart - np.median(apart)) <= _SAME_STEP_MM if len(apart) > 1 else np.zeros(1)
        found[rows] = alike.mean() >= _MOST_STEPS
    return found
