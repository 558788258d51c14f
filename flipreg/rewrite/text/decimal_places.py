"""How many decimals rounded numbers are written with."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = ["FINE", "USUAL", "DecimalPlaces"]

_MOST = 9
"""No more are written because the source has more (chosen): a nanometre is 6 in millimetres."""


class DecimalPlaces(NamedTuple):
    """Decimals of numbers that have to be rounded.

    Attributes
    ----------
    mm, inch : int
        At least so many in each unit.
    most : int
        At least so many in both, but 9: as many as the source writes its coordinates with.
    """

    mm: int = 4
    inch: int = 5
    most: int = 0

    def of(self, inch: NDArray[np.bool_]) -> NDArray[np.int64]:
        """Return the decimals of numbers, by whether each is in inches."""
        return np.maximum(np.where(inch, self.inch, self.mm), min(self.most, _MOST))


USUAL = DecimalPlaces()
"""So that rounding stays below a fifth of a thousandth of a millimetre."""

FINE = DecimalPlaces(10, 11)
"""So that a place that is named in both units is one place for an arc: below `SAME_POINT_MM` of each other (chosen)."""
