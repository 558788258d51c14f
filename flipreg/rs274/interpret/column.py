"""Columns that change at a few blocks and hold in between."""

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

__all__ = ["at", "constant", "held", "is_constant"]

Scalar = TypeVar("Scalar", bound=np.generic)
Index = NDArray[np.int64]


def constant(value: Scalar, size: int) -> NDArray[Scalar]:
    """Return a read-only column of one number, stored once."""
    one = np.asarray(value)
    one.flags.writeable = False
    # A chunk has a hundred of these columns: `broadcast_to` takes five times as long.
    return np.ndarray((size,), one.dtype, one, 0, (0,))


def is_constant(column: NDArray[Scalar]) -> bool:
    """Return whether a column is known to hold one number everywhere."""
    return column.strides == (0,) or len(column) < 2


def held(first: Scalar, block: Index, value: NDArray[Scalar], size: int) -> NDArray[Scalar]:
    """Return a column that takes on a new value at each named block and keeps it.

    Parameters
    ----------
    first : scalar
        What holds before the first named block.
    block : int64 array, shape (k,)
        The blocks, ascending strictly.
    value : array, shape (k,)
        What holds from each of them on.
    size : int
        How many blocks there are.

    Returns
    -------
    array, shape (size,)
        Stored once where the value never changes.
    """
    if not len(block) or bool((value == first).all()):
        return constant(first, size)
    counts = np.empty(len(block) + 1, np.int64)
    counts[0] = block[0]
    np.subtract(block[1:], block[:-1], out=counts[1:-1])
    counts[-1] = size - block[-1]
    return np.repeat(np.concatenate([np.asarray(first)[np.newaxis], value]), counts)


def at(column: NDArray[Scalar], rows: Index) -> NDArray[Scalar]:
    """Return the named rows of a column, still stored once where the column is."""
    if column.strides == (0,):
        return column[: len(rows)] if len(rows) <= len(column) else constant(column[0], len(rows))
    return column.take(rows)
