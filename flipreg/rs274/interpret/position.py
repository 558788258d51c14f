"""Where one axis is after each of its words, in absolute and incremental distance mode."""

from math import isnan

import numpy as np
from numpy.typing import NDArray

__all__ = ["GRID_PER_MM", "positions_after", "stepped"]

Floats = NDArray[np.float64]

GRID_PER_MM = 1e9
"""Increments add up on a grid of 1e-9 mm, so that a million of them are as exact as one: no written number
of up to nine decimals in millimetres, or eight in inches, is changed by it."""

_LARGEST_SUM_MM = 4e9
"""Beyond this the grid's whole numbers would leave 64 bits (chosen): further than any machine travels."""


def positions_after(before_mm: float, words_mm: Floats, incremental: NDArray[np.bool_]) -> Floats:
    """Return the coordinate after each word of one axis.

    Parameters
    ----------
    before_mm : float
        The coordinate before the first word. Where it is NaN and the first word is an increment, zero is
        taken.
    words_mm : array, shape (k,)
        The words' values in millimetres, in file order.
    incremental : bool array, shape (k,) or (1,)
        Whether each word is an increment (G91) or a coordinate (G90).

    Returns
    -------
    array, shape (k,)
        Millimetres.
    """
    if not len(words_mm) or not incremental.any():
        return words_mm
    increment = np.broadcast_to(incremental, words_mm.shape)
    start = 0.0 if isnan(before_mm) else before_mm
    if abs(start) + float(np.abs(words_mm).max()) * len(words_mm) > _LARGEST_SUM_MM:
        return _one_by_one(start, words_mm, increment)
    grid = np.rint(words_mm * GRID_PER_MM).astype(np.int64)
    travelled = np.cumsum(np.where(increment, grid, 0))
    origin = np.rint(start * GRID_PER_MM).astype(np.int64)
    if not increment.all():
        last_set = np.maximum.accumulate(np.where(increment, -1, np.arange(len(grid))))
        origin = np.where(last_set < 0, origin, grid[last_set] - travelled[last_set])
    return np.asarray(np.where(increment, (origin + travelled) / GRID_PER_MM, words_mm), dtype=np.float64)


def stepped(before_mm: float, increment_mm: float) -> float:
    """Return the coordinate after one increment, as `positions_after` does; NaN stays NaN."""
    after = before_mm + increment_mm
    return after if isnan(after) else round(after * GRID_PER_MM) / GRID_PER_MM


def _one_by_one(start: float, words_mm: Floats, increment: NDArray[np.bool_]) -> Floats:
    reached = []
    for word, is_increment in zip(words_mm.tolist(), increment.tolist(), strict=True):
        start = start + word if is_increment else word
        reached.append(start)
    return np.array(reached)
