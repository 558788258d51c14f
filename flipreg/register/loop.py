"""One closed loop of what a program cuts."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Loop"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Loop:
    """A closed contour of the tool's centre.

    Attributes
    ----------
    points_mm : float64, shape (n, 2)
        Corners in the program frame, first one not repeated.
    gap : bool, shape (n,)
        The chord that leads to this corner (from the last one to the first) is not cut.
    area_mm2, length_mm : float
        Enclosed area and length.
    box_mm : float64, shape (4,)
        xmin, ymin, xmax, ymax.
    stretch_box_mm : float64, shape (4,)
        The same of all that is cut before and after it without leaving the wood.
    floor_mm : float
        Lowest Z of all its passes.
    row, last_row : int
        Rows of the path with its first and its last motion.
    """

    points_mm: Floats
    gap: NDArray[np.bool_]
    area_mm2: float
    length_mm: float
    box_mm: Floats
    stretch_box_mm: Floats
    floor_mm: float
    row: int
    last_row: int

    @property
    def size_mm(self) -> float:
        """The longer side of its bounding box in millimetres."""
        return float(max(self.box_mm[2] - self.box_mm[0], self.box_mm[3] - self.box_mm[1]))

    @property
    def stands_alone(self) -> bool:
        """Whether nothing is cut beyond it in one go: a helix down into a pocket is no hole."""
        beyond = np.abs(self.stretch_box_mm - self.box_mm).max()
        return float(beyond) <= max(0.5, 0.15 * self.size_mm)

    @property
    def circle(self) -> tuple[Floats, float] | None:
        """Centre, shape (2,), and radius where all corners lie on one circle to 0.02 mm or 1 %, else None.

        The algebraic fit is exact for corners of flattened arcs, which lie on their circle.
        """
        sides = self.box_mm[2:] - self.box_mm[:2]
        if float(sides.min()) < 0.6 * float(sides.max()) or len(self.points_mm) < 4:
            return None
        middle = self.points_mm.mean(axis=0)
        x, y = (self.points_mm - middle).T
        columns = np.column_stack([2 * x, 2 * y, np.ones(len(x))])
        solution, _, rank, _ = np.linalg.lstsq(columns, x**2 + y**2, rcond=1e-9)
        if rank < 3:
            return None
        radii = np.hypot(x - solution[0], y - solution[1])
        radius = float(radii.mean())
        if float(radii.max() - radii.min()) > max(0.02, 0.01 * radius):
            return None
        # The corners of a square lie on a circle too; an octagon fills 0.90 of its circle, a square 0.64.
        if not 0.85 <= self.area_mm2 / (np.pi * radius**2) <= 1.05:
            return None
        return middle + solution[:2], radius
