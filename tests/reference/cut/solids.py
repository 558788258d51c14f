"""What cutters sweep, as solids of the manifold library: meshes that lie inside and outside the true solid.

Cutters are convex. A mesh of flat faces is made either inside its round solid or outside it, and stays so when it is
swept (the hull of both ends of a straight motion), united and cut off at the blank's face. So the true volume lies
between two volumes, and nothing has to be assumed about how good a mesh is. Nothing of the library under test is used
here.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from manifold3d import CrossSection, Manifold, OpType
from numpy.typing import NDArray

__all__ = ["Between", "Silhouette", "Sweep", "between", "plunged", "removed_mm3", "straight", "turn", "united"]

Floats = NDArray[np.float64]

_SEGMENTS = 192
"""Sides of a full turn; a radius is right to R (1 - cos(pi / 192)), 0.4 micrometres a millimetre either way."""
_OUT = 1.0 / math.cos(math.pi / _SEGMENTS)
"""Radius of the corners of a polygon round a circle, as a share of the circle's."""
_ROUND = 40
"""Chords of a quarter round."""
_FAR_MM = 1000.0
_UP_MM = 40.0
"""Height of a cutter: more than any cut here is deep, for cutters are taken as cutting upwards without end."""


@dataclass(frozen=True, slots=True)
class Silhouette:
    """Half the outline of a cutter: a flat tip, then a quarter round or a straight flank, up to the radius."""

    radius_mm: float
    tip_mm: float
    corner_mm: float = 0.0
    cone_mm: float = 0.0

    def points(self, *, outside: bool) -> Floats:
        """Return corners (r, z) from the axis to the rim, on the outline or outside it."""
        if self.corner_mm == 0.0:
            return np.array([[0.0, 0.0], [self.tip_mm, 0.0], [self.radius_mm, self.cone_mm]])
        # Tangents meet half-way between the points where they touch, a little farther out.
        turn = np.linspace(0.0, math.pi / 2, _ROUND + 1)
        out = 1.0
        if outside:
            half = math.pi / 4 / _ROUND
            turn, out = np.concatenate([[0.0], turn[:-1] + half, [math.pi / 2]]), 1.0 / math.cos(half)
        far = np.full(len(turn), self.corner_mm * out)
        if outside:
            far[[0, -1]] = self.corner_mm
        rounded = np.column_stack([self.tip_mm + far * np.sin(turn), self.corner_mm - far * np.cos(turn)])
        return np.concatenate([[[0.0, 0.0]], rounded])


Sweep = Callable[[bool], Manifold]
"""Makes the mesh outside the true solid, or the one inside it."""


@dataclass(frozen=True, slots=True)
class Between:
    """Two volumes between which the true one lies."""

    least_mm3: float
    most_mm3: float

    @property
    def middle_mm3(self) -> float:
        return 0.5 * (self.least_mm3 + self.most_mm3)

    @property
    def half_mm3(self) -> float:
        return 0.5 * (self.most_mm3 - self.least_mm3)


def plunged(silhouette: Silhouette, at_mm: Sequence[float]) -> Sweep:
    """Return the cutter with its tip at a point."""

    def make(outside: bool) -> Manifold:  # noqa: FBT001 - the one thing a Sweep is asked
        corners = silhouette.points(outside=outside) * [_OUT if outside else 1.0, 1.0]
        up = [[corners[-1, 0], _UP_MM], [0.0, _UP_MM]]
        return _revolved(np.concatenate([corners, up])).translate([float(c) for c in at_mm])

    return make


def straight(silhouette: Silhouette, start_mm: Sequence[float], end_mm: Sequence[float]) -> Sweep:
    """Return what the cutter sweeps on a straight motion: the hull of its first and last place."""
    ends = plunged(silhouette, start_mm), plunged(silhouette, end_mm)
    return lambda outside: Manifold.batch_hull([end(outside) for end in ends])


def turn(silhouette: Silhouette, centre_mm: Sequence[float], around_mm: float, angle_deg: float) -> Sweep:
    """Return the cutter's whole outline turned about a middle, from the direction of +X, without its two ends.

    The angle is a multiple of 360 / 192 degrees, so that the mesh has the sides of a full turn's. The inner wall is
    round the other way: the mesh that lies inside the solid has the larger hole.
    """

    def make(outside: bool) -> Manifold:  # noqa: FBT001 - the one thing a Sweep is asked
        right = silhouette.points(outside=outside)
        left = right[1:] * [-1.0, 1.0]
        right, left = right + [around_mm, 0.0], left + [around_mm, 0.0]  # noqa: RUF005 - arrays, not lists
        grown = right if outside else left
        grown[:, 0] *= _OUT
        up = [[right[-1, 0], _UP_MM], [left[-1, 0], _UP_MM]]
        outline = np.concatenate([right, up, left[::-1]])
        return _revolved(outline, angle_deg).translate([float(c) for c in centre_mm])

    return make


def united(sweeps: Sequence[Sweep]) -> Sweep:
    """Return what all of them sweep together."""
    return lambda outside: Manifold.batch_boolean([sweep(outside) for sweep in sweeps], OpType.Add)


def between(sweep: Sweep, inside_of: Manifold) -> Between:
    """Return the volume that a sweep has in common with a solid."""
    return Between((sweep(False) ^ inside_of).volume(), (sweep(True) ^ inside_of).volume())  # noqa: FBT003 - a Sweep


def removed_mm3(sweep: Sweep) -> Between:
    """Return the volume below a face at Z 0."""
    below = Manifold.cube([_FAR_MM, _FAR_MM, _FAR_MM], True).translate([0.0, 0.0, -_FAR_MM / 2])  # noqa: FBT003
    return between(sweep, below)


def _revolved(outline: Floats, angle_deg: float = 360.0) -> Manifold:
    # Corners with the same place would be no polygon.
    kept = outline[np.concatenate([[True], np.abs(np.diff(outline, axis=0)).max(axis=1) > 0.0])]
    return Manifold.revolve(CrossSection([kept]), _SEGMENTS, angle_deg)
