"""How high a map is at most, block by block: where it is lower than anything a run could leave, the run is skipped."""

import numpy as np
from numpy.typing import NDArray

__all__ = ["Ceiling"]

Singles = NDArray[np.float32]
Ints = NDArray[np.intp]

_SIDE = 8
"""Cells along the side of a block (chosen)."""


class Ceiling:
    """The highest values of a map in square blocks, as it is now: cutting only lowers it.

    Parameters
    ----------
    heights_mm : float32 array, shape (rows, columns)
        The map.
    """

    def __init__(self, heights_mm: Singles) -> None:
        self._highest = _in_blocks(_in_blocks(heights_mm).T.copy()).T

    def over(self, row: Ints, first: Ints, longest: int, *, is_along_x: bool) -> Singles:
        """Return a height above which no cell of a run lies, shape (runs,).

        Parameters
        ----------
        row, first : int arrays, shape (runs,)
            The row of each run and its first cell there; of runs along Y the column, and the first cell in it.
        longest : int
            The most cells of a run.
        is_along_x : bool
            Whether runs lie along X.
        """
        blocks = self._highest if is_along_x else self._highest.T
        highest = blocks.copy()
        # A run begins anywhere in its first block.
        for shift in range(1, min((longest + _SIDE - 2) // _SIDE + 1, blocks.shape[1])):
            np.maximum(highest[:, :-shift], blocks[:, shift:], out=highest[:, :-shift])
        return highest[row // _SIDE, first // _SIDE]


def _in_blocks(heights_mm: Singles) -> Singles:
    """Return the highest of every so many rows, of which the last may be fewer."""
    whole = len(heights_mm) // _SIDE * _SIDE
    highest = heights_mm[:whole].reshape(-1, _SIDE, heights_mm.shape[1]).max(axis=1)
    rest = heights_mm[whole:]
    return np.concatenate([highest, rest.max(axis=0, keepdims=True)]) if len(rest) else np.asarray(highest)
