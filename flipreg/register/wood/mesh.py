"""Delaunay triangles of points in the plane, and a way to find the one that a place lies in.

scipy's own search takes a hundred times as long where passes make slivers, for it then looks at every triangle.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Mesh"]

Floats = NDArray[np.float64]

_THIN_MM = 1e-6
"""Points that lie within a strip so narrow lie on one line, in millimetres (chosen): what rounding does to them."""
_FEWEST_POINTS = 12
"""Fewer points make no surface (chosen)."""
_MOST_STEPS = 50
"""Triangles passed from the nearest corner on; a place that needs more lies among slivers and counts as outside."""
_ON_EDGE_MM2 = 1e-10
"""A place less than this beyond an edge lies on it: far from zero, rounding is as large."""


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """Triangles between points.

    Attributes
    ----------
    corners : intp, shape (m, 3)
        Points of each triangle, counter-clockwise.
    neighbours : intp, shape (m, 3)
        The triangle over the edge opposite to each corner, -1 where there is none.
    """

    corners: NDArray[np.intp]
    neighbours: NDArray[np.intp]
    _edges: Floats
    _first: NDArray[np.intp]
    _tree: Any  # scipy.spatial.cKDTree, which has no types

    @classmethod
    def of(cls, points: Floats) -> "Mesh | None":
        """Return the triangles of points, shape (n, 2); None where they are too few, or lie on one line."""
        from scipy.spatial import Delaunay, QhullError, cKDTree

        if len(points) < _FEWEST_POINTS or _on_one_line(points):
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
        neighbours = np.asarray(made.neighbors, dtype=np.intp)
        return cls(corners, neighbours, _edges(points[corners]), first[has_one], cKDTree(points[has_one]))

    def triangle_at(
        self, places: Floats, near: NDArray[np.intp] | None = None
    ) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
        """Find the triangle that each place lies in: from a triangle near it, over edges, to where it is.

        Parameters
        ----------
        places : array, shape (n, 2)
            Where to look.
        near : intp array, shape (n,), optional
            Triangles to begin with; without it, one at the nearest corner.

        Returns
        -------
        triangle : intp array, shape (n,)
            The last triangle that was looked at: a good one to begin with for a place nearby.
        inside : bool array, shape (n,)
            Whether the place lies in it.
        """
        triangle = self._first[self._tree.query(places)[1]] if near is None else near.copy()
        inside = np.ones(len(places), np.bool_)
        active = np.arange(len(places))
        x_mm, y_mm = np.ascontiguousarray(places.T)
        for _ in range(_MOST_STEPS):
            at, x, y = triangle.take(active), x_mm.take(active), y_mm.take(active)
            over = [of_x.take(at) * x + of_y.take(at) * y + constant.take(at) for of_x, of_y, constant in self._edges]
            # Many rows of three: numpy looks for their least one by one, and for that of three columns at once.
            goes_on = np.flatnonzero(np.minimum(np.minimum(over[0], over[1]), over[2]) < -_ON_EDGE_MM2)
            active = active[goes_on]
            edge = np.stack([column[goes_on] for column in over]).argmin(axis=0)
            following = self.neighbours[at[goes_on], edge]
            leaves = following < 0
            inside[active[leaves]] = False
            active = active[~leaves]
            if not len(active):
                return triangle, inside
            triangle[active] = following[~leaves]
        inside[active] = False
        return triangle, inside


def _on_one_line(points: Floats) -> bool:
    """Return whether points lie on one line but for rounding, of which Qhull makes triangles with corners nowhere."""
    off = points - points.mean(axis=0)
    across = np.linalg.eigh(off.T @ off)[1][:, 0]
    return float(np.ptp(off @ across)) <= _THIN_MM


def _edges(corners: Floats) -> Floats:
    """Return what makes, times `(x, y, 1)`, twice the area between each edge and a place: below 0 beyond the edge.

    Parameters
    ----------
    corners : array, shape (m, 3, 2)
        Counter-clockwise.

    Returns
    -------
    array, shape (3, 3, m)
        The edge that lies opposite to corner `k`: what is times x, what is times y, and what is added.
    """
    start = np.roll(corners, -1, axis=1)
    step = np.roll(corners, -2, axis=1) - start
    constant = step[..., 1] * start[..., 0] - step[..., 0] * start[..., 1]
    return np.ascontiguousarray(np.stack([-step[..., 1], step[..., 0], constant], axis=2).T.swapaxes(0, 1))
