"""One closed loop of what a program cuts."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Loop", "circles_of"]

Floats = NDArray[np.float64]

_ROUND_MM = 0.04
"""Corners of a circle may differ in radius by this, in millimetres (chosen): three half last decimals of inches."""


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


def circles_of(loops: Sequence[Loop], most_mm: float) -> list[tuple[Floats, float] | None]:
    """Return centre, shape (2,), and radius of each loop that is a circle; None for the others.

    Parameters
    ----------
    loops : sequence of Loop
        Any loops.
    most_mm : float
        A loop of a longer side than this is none.

    Returns
    -------
    list
        Where all corners lie on one circle to 0.04 mm or 1 %, the circle; the algebraic fit is exact for corners of
        flattened arcs, which lie on theirs.
    """
    found: list[tuple[Floats, float] | None] = [None] * len(loops)
    box = np.array([loop.box_mm for loop in loops]).reshape(-1, 4)
    sides = box[:, 2:] - box[:, :2]
    count = np.array([len(loop.points_mm) for loop in loops], np.intp)
    rows = np.flatnonzero((sides.max(axis=1) <= most_mm) & (sides.min(axis=1) >= 0.6 * sides.max(axis=1)) & (count > 3))
    if len(rows) == 0:
        return found
    count = count[rows]
    begin, owner = np.cumsum(count) - count, np.repeat(np.arange(len(rows)), count)

    def mean(values: Floats) -> Floats:
        return np.asarray((np.add.reduceat(values, begin).T / count).T)

    points = np.concatenate([loops[row].points_mm for row in rows.tolist()])
    middle = mean(points)
    off = points - middle[owner]
    # About their middle the two equations for the centre do not depend on the one for the radius.
    normal = mean(off[:, :, np.newaxis] * off[:, np.newaxis])
    right = mean(off * (off**2).sum(axis=1, keepdims=True)) / 2.0
    spread = np.linalg.det(normal)
    is_wide = spread > 1e-9 * np.trace(normal, axis1=1, axis2=2) ** 2
    normal[~is_wide] = np.eye(2)
    centre = np.linalg.solve(normal, right[:, :, np.newaxis])[:, :, 0]
    radii = np.hypot(*(off - centre[owner]).T)
    radius = mean(radii)
    uneven = np.maximum.reduceat(radii, begin) - np.minimum.reduceat(radii, begin)
    # The corners of a square lie on a circle too; an octagon fills 0.90 of its circle, a square 0.64.
    filled = np.array([loops[row].area_mm2 for row in rows.tolist()]) / (np.pi * radius**2)
    is_circle = is_wide & (uneven <= np.maximum(_ROUND_MM, 0.01 * radius)) & (filled >= 0.85) & (filled <= 1.05)
    for at in np.flatnonzero(is_circle).tolist():
        found[rows[at]] = middle[at] + centre[at], float(radius[at])
    return found
