"""Size, centre and shape of closed contours: moments of the area that they enclose.

The shape is told by two complex numbers that neither place nor size changes: one of the second order, whose angle is
twice that of the long principal axis, and one of the third order, whose angle is that of the heavy end. A mirror
conjugates both, which is what makes the handedness of a contour show.

References
----------
C. Steger, On the calculation of arbitrary moments of polygons, 1996 (the integrals over triangles).
J. Flusser, On the independence of rotation moment invariants, Pattern Recognition 33 (2000) (complex moments).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Moments", "moments_of", "seen_by"]

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]


@dataclass(frozen=True, slots=True, eq=False)
class Moments:
    """Moments of closed contours, one row each.

    Attributes
    ----------
    centre_mm : float64, shape (n, 2)
        Centroid of the enclosed area.
    area_mm2 : float64, shape (n,)
        Enclosed area.
    second : complex128, shape (n,)
        Central moment of z squared over the area squared; 0 for a circle or a square.
    third : complex128, shape (n,)
        Central moment of z times |z| squared over the area to the power of 2.5; 0 where half a turn changes nothing.
    width_mm : float64, shape (n, 2)
        Longer and shorter side of the rectangle that has the same second moments.
    """

    centre_mm: Floats
    area_mm2: Floats
    second: Complexes
    third: Complexes
    width_mm: Floats


def moments_of(rings_mm: Sequence[Floats]) -> Moments:
    """Return the moments of closed contours.

    Parameters
    ----------
    rings_mm : sequence of arrays, shape (k, 2)
        Corners of each contour, at least 3, in either direction, the first one not repeated.
    """
    if not rings_mm:
        none = np.empty(0, np.complex128)
        return Moments(np.empty((0, 2)), np.empty(0), none, none, np.empty((0, 2)))
    count = np.array([len(ring) for ring in rings_mm])
    begin = np.cumsum(count) - count
    points = np.concatenate(list(rings_mm))
    z = points[:, 0] + 1j * points[:, 1]
    # Near their own origin the sums keep their digits.
    origin = z[begin]
    z = z - np.repeat(origin, count)
    after = np.arange(len(z)) + 1
    after[begin + count - 1] = begin

    def summed(values: NDArray[np.generic]) -> NDArray[np.complex128]:
        return np.asarray(np.add.reduceat(values, begin), np.complex128)

    def cross(a: Complexes, b: Complexes) -> Floats:
        return np.asarray(a.real * b.imag - a.imag * b.real)

    b = z[after]
    twice = cross(z, b)
    area = summed(twice).real / 2.0
    safe = np.where(area == 0.0, 1.0, area)
    centre = summed(twice * (z + b)) / (6.0 * safe)
    a, b = z - np.repeat(centre, count), b - np.repeat(centre, count)
    twice = cross(a, b)
    size = np.abs(safe)
    sign = np.sign(safe)
    second = summed(twice * (a * a + a * b + b * b)) / 12.0 * sign / size**2
    both = summed(twice * (abs(a) ** 2 + abs(b) ** 2 + (a * b.conj()).real)).real / 12.0 * sign / size
    width = np.sqrt(np.maximum(6.0 * (both + np.array([[1.0], [-1.0]]) * np.abs(second) * size), 0.0)).T
    mixed = 3.0 * (abs(a) ** 2 * a + abs(b) ** 2 * b) + a * a * b.conj() + b * b * a.conj()
    mixed = mixed + 2.0 * (abs(a) ** 2 * b + abs(b) ** 2 * a)
    third = summed(twice * mixed) / 60.0 * sign / size**2.5
    placed = centre + origin
    return Moments(np.column_stack([placed.real, placed.imag]), np.abs(area), second, third, width)


def seen_by(matrix: Floats, values: Complexes, order: int) -> Complexes:
    """Return moments as another frame sees them.

    Parameters
    ----------
    matrix : array, shape (2, 2)
        Orthogonal: maps directions of the contours' frame to the other one.
    values : array, shape (n,)
        Moments that a turn by an angle multiplies by `order` times the angle: 2 for `second`, 1 for `third`.
    order : int
        Of the rotation.
    """
    turn = complex(matrix[0, 0], matrix[1, 0])
    mirrored = matrix[0, 0] * matrix[1, 1] - matrix[0, 1] * matrix[1, 0] < 0
    return np.asarray((values.conj() if mirrored else values) * turn**order)
