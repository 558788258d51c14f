"""Delaunay triangles of points in the plane, and a way to find the one that a place lies in.

scipy's own search takes a hundred times as long where passes make slivers, for it then looks at every triangle.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Mesh"]

Floats = NDArray[np.float64]

_FEWEST_POINTS = 12
"""Fewer points make no surface (chosen)."""
_MOST_STEPS = 50
"""Triangles passed from the nearest corner on; a place that needs more lies among slivers and counts as outside."""


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """Triangles between points.

    Attributes
    ----------
    points : float64, shape (n, 2)
        As they were given.
    corners : intp, shape (m, 3)
        Points of each triangle, counter-clockwise.
    neighbours : intp, shape (m, 3)
        The triangle over the edge opposite to each corner, -1 where there is none.
    """

    points: Floats
    corners: NDArray[np.intp]
    neighbours: NDArray[np.intp]
    _first: NDArray[np.intp]
    _tree: Any  # scipy.spatial.cKDTree, which has no types

    @classmethod
    def of(cls, points: Floats) -> "Mesh | None":
        """Return the triangles of points, shape (n, 2); None where they are too few, or lie on one line."""
        from scipy.spatial import Delaunay, QhullError, cKDTree

        if len(points) < _FEWEST_POINTS:
            return None
        try:
            made = Delaunay(points)
        except QhullError:
            return None
        corners = np.asarray(made.simplices, dtype=np.intp)
        first = np.full(len(points), -1, np.intp)
        first[corners.ravel()] = np.repeat(np.arange(len(corners)), 3)
        # Points that coincide with another one have no triangle of their own.
        has_one = np.flatnonzero(first >= 0)
        return cls(points, corners, np.asarray(made.neighbors, dtype=np.intp), first[has_one], cKDTree(points[has_one]))

    def triangle_at(self, places: Floats) -> NDArray[np.intp]:
        """Return the triangle of each place, -1 outside: from one at the nearest corner, over edges, to where it is."""
        _, nearest = self._tree.query(places)
        triangle: NDArray[np.intp] = np.asarray(self._first[nearest])
        active = np.arange(len(places))
        for _ in range(_MOST_STEPS):
            a, b, c = (self.points[self.corners[triangle[active], k]] for k in range(3))
            p = places[active]
            # Corners go counter-clockwise, and edge k lies opposite to corner k.
            beyond = np.stack([_cross(c - b, p - b), _cross(a - c, p - c), _cross(b - a, p - a)], axis=1)
            edge = beyond.argmin(axis=1)
            goes_on = beyond[np.arange(len(active)), edge] < -1e-12
            active, edge = active[goes_on], edge[goes_on]
            if not len(active):
                return triangle
            triangle[active] = self.neighbours[triangle[active], edge]
            active = active[triangle[active] >= 0]
        triangle[active] = -1
        return triangle


def _cross(one: Floats, two: Floats) -> Floats:
    return np.asarray(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0])
