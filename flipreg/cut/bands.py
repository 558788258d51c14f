"""Bands of rows: what is asked of whole maps is worked out band by band.

New memory for a whole map takes several times as long as the arithmetic on it; that of a band stays in the cache.
"""

from collections.abc import Iterator

__all__ = ["bands"]

_CELLS = 65_536
"""Cells of a band (chosen, measured): whole maps of two million take three to six times as long."""


def bands(shape: tuple[int, ...]) -> Iterator[slice]:
    """Yield the rows of a map, shape (rows, columns), in bands."""
    rows, columns = shape
    size = max(1, _CELLS // max(1, columns))
    for first in range(0, rows, size):
        yield slice(first, min(rows, first + size))
