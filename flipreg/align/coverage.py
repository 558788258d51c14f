"""How far off a position is that is uncertain in X and Y: the distance that holds 95 % of the cases."""

from functools import cache
from math import hypot, sqrt

import numpy as np
from numpy.typing import NDArray

__all__ = ["drawn_distance", "normal_distance", "position_diameter"]

Floats = NDArray[np.float64]

_SHARE = 0.95
"""The share of the cases that a distance is told for, as is usual beside an expanded uncertainty."""
_NODES = 200
_BISECTIONS = 60
_FLAT = 1e-6
"""A spread across this small against the one along is as good as none; it would divide by zero."""


def normal_distance(mean: Floats, covariance: Floats) -> float:
    """Return the distance from the origin that holds 95 percent of a normal distribution in the plane.

    Parameters
    ----------
    mean : array, shape (2,)
        The middle of the distribution.
    covariance : array, shape (2, 2)
        Its covariances, in the square of the unit of the mean.

    Examples
    --------
    >>> round(normal_distance(np.zeros(2), np.eye(2)), 4)
    2.4477
    """
    variances, axes = np.linalg.eigh(covariance)
    middle = axes.T @ mean
    size = float(np.hypot(*middle))
    wide = sqrt(max(float(variances[1]), 0.0))
    if wide <= _FLAT * size or wide == 0.0:
        return size
    narrow = max(sqrt(max(float(variances[0]), 0.0)), _FLAT * wide)
    low, high = 0.0, size + 10 * wide
    for _ in range(_BISECTIONS):
        radius = (low + high) / 2
        if _held(radius, middle, (narrow, wide)) < _SHARE:
            low = radius
        else:
            high = radius
    return high


def drawn_distance(x: Floats, y: Floats) -> tuple[float, float]:
    """Return the distance that holds 95 percent of drawn positions, and the standard error of that distance.

    The error comes from how many draws fall below it, which has a binomial distribution; no shape is assumed.
    """
    distance = np.sort(np.hypot(x, y))
    count = len(distance)
    spread = sqrt(count * _SHARE * (1 - _SHARE))
    places = np.clip(np.rint(count * _SHARE + np.array([-spread, 0.0, spread])).astype(int), 0, count - 1)
    below, middle, above = distance[places].tolist()
    return middle, (above - below) / 2


def position_diameter(dx: float, dy: float) -> float:
    """Return a position error as drawings give it: the diameter of the zone that just holds it.

    It is twice the distance. ASME Y14.5 and ISO 1101 give position tolerances so; as quoted by others.

    Examples
    --------
    >>> position_diameter(0.3, 0.4)
    1.0
    """
    return 2 * hypot(dx, dy)


@cache
def _nodes() -> tuple[Floats, Floats]:
    """Return the places and weights of the sum, which take as long to find as all the rest."""
    places, weights = np.polynomial.legendre.leggauss(_NODES)
    return places, weights


def _held(radius: float, middle: Floats, spreads: tuple[float, float]) -> float:
    """Return the share within a radius: strips across the narrow axis, summed along the wide one."""
    from scipy.special import ndtr

    narrow, wide = spreads
    nodes, weights = _nodes()
    first, last = max(-radius, middle[1] - 9 * wide), min(radius, middle[1] + 9 * wide)
    if first >= last:
        return 0.0
    # The strips shrink to nothing at both ends like a circle does; in the angle the sum converges fast.
    angle = nodes * np.pi / 2
    along = (first + last) / 2 + (last - first) / 2 * np.sin(angle)
    step = (last - first) / 2 * np.cos(angle) * weights * np.pi / 2
    half = np.sqrt(np.maximum(radius**2 - along**2, 0.0))
    strip = ndtr((half - middle[0]) / narrow) - ndtr((-half - middle[0]) / narrow)
    density = np.exp(-(((along - middle[1]) / wide) ** 2) / 2) / (wide * sqrt(2 * np.pi))
    return float((strip * density * step).sum())
