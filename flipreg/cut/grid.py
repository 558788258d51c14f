"""A grid of square cells, and where their centres lie."""

from dataclasses import dataclass
from math import ceil, floor, isfinite

import numpy as np
from numpy.typing import NDArray

__all__ = ["Grid", "default_step_mm"]

Floats = NDArray[np.float64]

_STEPS_MM = (0.05, 0.1, 0.2, 0.25, 0.5, 1.0)
_MOST_CELLS = 4_000_000
"""Cells of a grid whose step nobody chose (chosen): 16 MB a map, a second or two for long programs."""


@dataclass(frozen=True, slots=True)
class Grid:
    """Cells of one size; a map on it is an array of shape `shape`, row along Y, column along X.

    Attributes
    ----------
    x_mm, y_mm : float
        Centre of the cell [0, 0], which has the smallest X and Y.
    step_mm : float
        Side of a cell and distance of the centres, over 0.
    shape : two ints
        Number of rows (along Y) and of columns (along X), 1 or more.

    Raises
    ------
    ValueError
        If a number is not finite, or a size is not over 0.
    """

    x_mm: float
    y_mm: float
    step_mm: float
    shape: tuple[int, int]

    def __post_init__(self) -> None:
        if not (isfinite(self.x_mm) and isfinite(self.y_mm) and isfinite(self.step_mm) and self.step_mm > 0.0):
            raise ValueError(f"a grid needs a finite origin and a step over 0 mm, got {self}")
        if min(self.shape) < 1:
            raise ValueError(f"a grid needs a row and a column, got the shape {self.shape}")

    @classmethod
    def covering(cls, low_mm: tuple[float, float], high_mm: tuple[float, float], step_mm: float) -> "Grid":
        """Return the grid whose cells cover a box, its first cell in the box's lowest corner.

        The last row and column may stick out of the box by less than a step.
        """
        if not step_mm > 0.0:
            raise ValueError(f"a grid needs a step over 0 mm, got {step_mm}")
        # A box of whole steps must not gain a cell by float noise.
        nx, ny = (max(1, ceil((high - low) / step_mm - 1e-9)) for low, high in zip(low_mm, high_mm, strict=True))
        return cls(low_mm[0] + step_mm / 2, low_mm[1] + step_mm / 2, step_mm, (ny, nx))

    @property
    def xs_mm(self) -> Floats:
        """X of the columns' centres, shape (columns,)."""
        return np.asarray(self.x_mm + self.step_mm * np.arange(self.shape[1]), dtype=np.float64)

    @property
    def ys_mm(self) -> Floats:
        """Y of the rows' centres, shape (rows,)."""
        return np.asarray(self.y_mm + self.step_mm * np.arange(self.shape[0]), dtype=np.float64)

    @property
    def cell_mm2(self) -> float:
        """Area of a cell."""
        return self.step_mm**2

    @property
    def reach_mm(self) -> float:
        """Half the diagonal of a cell: no point of the grid is farther from the centre of its cell."""
        return self.step_mm * float(np.sqrt(0.5))

    def cells_at(self, at_mm: Floats) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.bool_]]:
        """Return the rows and columns of the cells that points, shape (n, 2), lie in, and whether the grid has them."""
        column = np.rint((at_mm[:, 0] - self.x_mm) / self.step_mm).astype(np.intp)
        row = np.rint((at_mm[:, 1] - self.y_mm) / self.step_mm).astype(np.intp)
        inside = (row >= 0) & (row < self.shape[0]) & (column >= 0) & (column < self.shape[1])
        return row, column, inside

    def window(self, low_mm: Floats, high_mm: Floats) -> tuple[slice, slice]:
        """Return the rows and columns whose centres lie in a box, and one more on each side where the grid has it."""
        column, row = (
            slice(max(0, floor(low) - 1), max(0, min(size, ceil(high) + 2)))
            for low, high, size in zip(
                ((low_mm - (self.x_mm, self.y_mm)) / self.step_mm).tolist(),
                ((high_mm - (self.x_mm, self.y_mm)) / self.step_mm).tolist(),
                self.shape[::-1],
                strict=True,
            )
        )
        return row, column

    def part(self, rows: slice, columns: slice) -> "Grid":
        """Return the grid of some rows and columns.

        Raises
        ------
        ValueError
            If they are none.
        """
        first_row, first_column = rows.indices(self.shape[0])[0], columns.indices(self.shape[1])[0]
        shape = len(range(self.shape[0])[rows]), len(range(self.shape[1])[columns])
        return Grid(self.x_mm + self.step_mm * first_column, self.y_mm + self.step_mm * first_row, self.step_mm, shape)

    def centres_mm(self, rows: NDArray[np.intp], columns: NDArray[np.intp]) -> Floats:
        """Return the centres of cells, shape (n, 2)."""
        return np.stack([self.x_mm + self.step_mm * columns, self.y_mm + self.step_mm * rows], axis=1)


def default_step_mm(low_mm: tuple[float, float], high_mm: tuple[float, float], tolerance_mm: float) -> float:
    """Return a step for a box when nobody chose one.

    It is the largest of 0.05, 0.1, 0.2, 0.25, 0.5 and 1 mm at which no point is farther from a centre than the
    tolerance, or the smallest that keeps the box under 4 million cells, whichever is larger.

    Raises
    ------
    ValueError
        If the tolerance is not over 0.
    """
    if not tolerance_mm > 0.0:
        raise ValueError(f"a tolerance is a length over 0 mm, got {tolerance_mm}")
    fine = [step for step in _STEPS_MM if step * np.sqrt(0.5) <= tolerance_mm]
    wanted = fine[-1] if fine else _STEPS_MM[0]
    area = (high_mm[0] - low_mm[0]) * (high_mm[1] - low_mm[1])
    affordable = [step for step in _STEPS_MM if area <= _MOST_CELLS * step**2]
    return max(wanted, affordable[0]) if affordable else max(wanted, float(np.sqrt(area / _MOST_CELLS)))
