"""A number that is not known exactly: its value, and in what shape the truth spreads around it.

Units are those of the quantity that is estimated; the name of the field that holds the estimate says them.
"""

from dataclasses import dataclass
from enum import Enum
from math import isfinite

from flipreg.arguments import checks_fields

__all__ = ["Estimate", "Shape"]


class Shape(Enum):
    """How likely the values around an estimate are; the value is the word of the job file."""

    RECTANGULAR = "rectangular"
    """Anywhere within the limits, all alike: nothing but the limits is known."""
    TRIANGULAR = "triangular"
    """Within the limits, most likely in the middle: somebody aims at it."""
    ARCSINE = "arcsine"
    """Within the limits, most likely near them: something swings to and fro, such as the air of a workshop."""
    NORMAL = "normal"
    """Without limits, in the bell shape that repeated measurements show."""


@checks_fields
@dataclass(frozen=True, slots=True)
class Estimate:
    """A value and the spread around it.

    Attributes
    ----------
    shape : Shape
        How the truth spreads.
    size : float
        Half the width between the limits; for the normal shape, which has no limits, the standard deviation.
        0 where the value is exact.
    value : float
        The best guess, the middle of the spread.

    Raises
    ------
    ValueError
        If a number is not finite, or the size is negative.
    """

    shape: Shape
    size: float
    value: float = 0.0

    def __post_init__(self) -> None:
        if not (isfinite(self.size) and isfinite(self.value)):
            raise ValueError(f"an estimate needs finite numbers, got value {self.value} and size {self.size}")
        if self.size < 0:
            raise ValueError(f"the size of a spread is 0 or more, got {self.size}")
