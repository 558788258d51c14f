"""Connected regions of a map described by their cells, and cells widened to those around them."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.labelled import Labelled

__all__ = ["Region", "regions_of", "widened"]

Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Region:
    """One connected region, positions in the frame of the grid.

    Attributes
    ----------
    number : int
        Its label.
    cells : int
        How many cells it has.
    area_mm2 : float
        Their area.
    centre_mm : (x, y)
        Mean of their centres; it may lie outside a bent region.
    box_mm : (xmin, ymin, xmax, ymax)
        Extent of its cells, their sides included.
    least_mm, at_mm : float, (x, y)
        The smallest value in it and the centre of the cell that has it.
    most_mm : float
        The largest.
    """

    number: int
    cells: int
    area_mm2: float
    centre_mm: tuple[float, float]
    box_mm: tuple[float, float, float, float]
    least_mm: float
    at_mm: tuple[float, float]
    most_mm: float


def widened(cells: Bools, count: int) -> Bools:
    """Return cells with all that are no more than some cells away from them along rows and columns."""
    out = cells.copy()
    rows, columns = (np.flatnonzero(cells.any(axis=axis)) for axis in (1, 0))
    if not len(rows):
        return out
    around = (slice(max(0, int(at[0]) - count), int(at[-1]) + count + 1) for at in (rows, columns))
    part = out[tuple(around)]
    for lines in (part, part.T):
        reach = 0
        while reach < count:
            # Copies side by side leave no gap, also at the rim, where one of the three is cut off.
            shift = min(reach + 1, count - reach)
            # As they lie in memory: a copy that turns columns into rows takes several times as long.
            before = lines.copy(order="K")
            lines[shift:] |= before[:-shift]
            lines[:-shift] |= before[shift:]
            reach += shift
    return out


def regions_of(found: Labelled, values_mm: NDArray[np.floating], grid: Grid) -> tuple[Region, ...]:
    """Describe labelled regions.

    Parameters
    ----------
    found : Labelled
        The regions, of the grid's shape.
    values_mm : array, shape `grid.shape`
        What is asked about the regions: heights or thicknesses.
    grid : Grid
        Where the cells lie.

    Returns
    -------
    tuple of Region
        In the order of their numbers.
    """
    cells, number = found.where()
    rows, columns = np.divmod(cells, grid.shape[1])
    value = values_mm[rows, columns].astype(np.float64)
    # By region, then by value: the first of a region has its least, the last its most.
    order = np.lexsort((value, number))
    rows, columns, number, value = rows[order], columns[order], number[order], value[order]
    ends = np.searchsorted(number, np.arange(1, found.count + 2))
    xy = grid.centres_mm(rows, columns)
    out = []
    for region in range(found.count):
        members = slice(int(ends[region]), int(ends[region + 1]))
        places, mine = xy[members], value[members]
        half = grid.step_mm / 2
        low, high = places.min(axis=0) - half, places.max(axis=0) + half
        out.append(
            Region(
                number=region + 1,
                cells=len(mine),
                area_mm2=len(mine) * grid.cell_mm2,
                centre_mm=_pair(places.mean(axis=0)),
                box_mm=(*_pair(low), *_pair(high)),
                least_mm=float(mine[0]),
                at_mm=_pair(places[0]),
                most_mm=float(mine[-1]),
            )
        )
    return tuple(out)


def _pair(xy: NDArray[np.float64]) -> tuple[float, float]:
    return float(xy[0]), float(xy[1])
