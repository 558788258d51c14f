"""A map that is being cut, as one flat array."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Canvas"]


@dataclass(frozen=True, slots=True, eq=False)
class Canvas:
    """A map with a margin, as one flat array.

    Attributes
    ----------
    flat : float32, shape (rows * columns,)
        Heights in millimetres, row after row.
    x_mm, y_mm : float
        Centre of the first cell, margin included.
    step_mm : float
        Distance of the centres.
    columns : int
        Cells in a row, margin included.
    """

    flat: NDArray[np.float32]
    x_mm: float
    y_mm: float
    step_mm: float
    columns: int
