"""Spreads as numbers: the standard uncertainty of an estimate, and draws from it."""

from math import sqrt

import numpy as np
from numpy.typing import NDArray

from flipreg.job.estimate import Estimate, Shape

__all__ = ["DIVISOR", "FOURTH_MOMENT", "draws", "standard_uncertainty"]

Floats = NDArray[np.float64]

DIVISOR = {
    Shape.RECTANGULAR: sqrt(3),
    Shape.TRIANGULAR: sqrt(6),
    Shape.ARCSINE: sqrt(2),
    Shape.NORMAL: 1.0,
}
"""What to divide the size of a spread by to get its standard deviation; JCGM 100:2008, 4.3, from memory."""

FOURTH_MOMENT = {
    Shape.RECTANGULAR: 9 / 5,
    Shape.TRIANGULAR: 12 / 5,
    Shape.ARCSINE: 3 / 2,
    Shape.NORMAL: 3.0,
}
"""Mean of the fourth power of the distance from the middle, with standard deviation 1; by integration."""


def standard_uncertainty(estimate: Estimate) -> float:
    """Return the standard deviation of an estimate, in its own unit."""
    return estimate.size / DIVISOR[estimate.shape]


def draws(estimate: Estimate, random: np.random.Generator, count: int) -> Floats:
    """Return random values spread as the estimate says, shape (count,), in its own unit.

    References
    ----------
    JCGM 101:2008, 6.4, from memory: the distributions and how to draw from them.
    """
    if estimate.shape is Shape.RECTANGULAR:
        unit = random.uniform(-1, 1, count)
    elif estimate.shape is Shape.TRIANGULAR:
        unit = random.triangular(-1, 0, 1, count)
    elif estimate.shape is Shape.ARCSINE:
        unit = np.sin(random.uniform(-np.pi, np.pi, count))
    else:
        unit = random.standard_normal(count)
    return estimate.value + estimate.size * unit
