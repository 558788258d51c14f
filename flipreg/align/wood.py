"""How wood moves with moisture: dimensional change coefficients, and the moisture that the air asks for.

Coefficients are fractions of the size for each percentage point of moisture content, referred to the size at 10 %
moisture content and meant for 6 to 14 %. Moisture content and relative humidity are in percent, temperature
in degrees Celsius. The numbers are averages of a species: a single board may well differ from them by a third.

References
----------
*Wood Handbook: Wood as an Engineering Material*, USDA Forest Products Laboratory, FPL-GTR-190 (2010) and
FPL-GTR-282 (2021): Table 13-5 and equation 13-2 for the movement, equation 4-5 for the equilibrium moisture content.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from types import MappingProxyType
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from flipreg.errors import UsageError

__all__ = [
    "ALONG_THE_GRAIN_PER_POINT",
    "MOVEMENT",
    "VALID_MOISTURE_PERCENT",
    "Movement",
    "Provenance",
    "equilibrium_moisture_percent",
    "movement_of",
]

VALID_MOISTURE_PERCENT = (6.0, 14.0)
"""The moisture content that the coefficients are meant for; Wood Handbook, chapter 13."""

ALONG_THE_GRAIN_PER_POINT = 0.15 / 100 / 30
"""Fraction along the grain for each point: 0.1 to 0.2 % from green to ovendry, over 30 points. Wood Handbook,
chapter 4, from memory; the middle is taken."""

_Number = TypeVar("_Number", float, NDArray[np.float64])


class Provenance(Enum):
    """How surely a number is what the table prints."""

    READ = "read in the table"
    """In the text of the Wood Handbook, FPL-GTR-190."""
    QUOTED = "as quoted by others"
    """In a text that quotes the table; the table itself was not open."""
    REMEMBERED = "from memory"
    """Neither; open the table before relying on it."""


@dataclass(frozen=True, slots=True)
class Movement:
    """The dimensional change coefficients of a species.

    Attributes
    ----------
    species : str
        The row of the table.
    radial_per_point, tangential_per_point : float
        Fraction of the size for each point of moisture content, across the growth rings and along them.
    provenance : Provenance
        Of the less sure of the two.
    """

    species: str
    radial_per_point: float
    tangential_per_point: float
    provenance: Provenance


_ROWS = (
    Movement("sugar maple", 0.00165, 0.00353, Provenance.READ),
    Movement("red maple", 0.00137, 0.00289, Provenance.READ),
    Movement("black walnut", 0.00190, 0.00274, Provenance.READ),
    Movement("black cherry", 0.00126, 0.00248, Provenance.READ),
    Movement("white ash", 0.00169, 0.00274, Provenance.READ),
    Movement("yellow birch", 0.00256, 0.00338, Provenance.READ),
    Movement("american beech", 0.00190, 0.00431, Provenance.READ),
    Movement("american basswood", 0.00230, 0.00330, Provenance.READ),
    Movement("red alder", 0.00151, 0.00256, Provenance.READ),
    Movement("american sycamore", 0.00172, 0.00296, Provenance.READ),
    Movement("red oak", 0.00158, 0.00369, Provenance.READ),
    Movement("white oak", 0.00180, 0.00365, Provenance.READ),
    Movement("sweetgum", 0.00183, 0.00365, Provenance.READ),
    Movement("butternut", 0.00116, 0.00223, Provenance.READ),
    Movement("white fir", 0.00112, 0.00245, Provenance.QUOTED),
    Movement("true hickory", 0.00259, 0.00411, Provenance.QUOTED),
    Movement("eastern white pine", 0.00071, 0.00212, Provenance.QUOTED),
    Movement("sitka spruce", 0.00148, 0.00263, Provenance.REMEMBERED),
    Movement("yellow-poplar", 0.00158, 0.00289, Provenance.REMEMBERED),
    Movement("mahogany", 0.00172, 0.00238, Provenance.REMEMBERED),
    Movement("teak", 0.00101, 0.00186, Provenance.REMEMBERED),
)

MOVEMENT: Mapping[str, Movement] = MappingProxyType({row.species: row for row in _ROWS})
"""Table 13-5 by species; red oak, white oak and true hickory are values of a group of species."""

_ALIASES = {"hard maple": "sugar maple", "soft maple": "red maple"}


def movement_of(species: str) -> Movement:
    """Return the coefficients of a species, by its name in any case.

    Raises
    ------
    UsageError
        If the table has no such row; the text lists those it has.
    """
    name = " ".join(species.lower().split())
    name = _ALIASES.get(name, name)
    if name not in MOVEMENT:
        raise UsageError(f"no movement coefficients for {species!r}; there are some for {', '.join(sorted(MOVEMENT))}")
    return MOVEMENT[name]


def equilibrium_moisture_percent(temperature_c: _Number, humidity_percent: _Number) -> _Number:
    """Return the moisture content that wood comes to in still air, in percent.

    Parameters
    ----------
    temperature_c, humidity_percent : float, array, or uncertain number
        Temperature in degrees Celsius and relative humidity from 0 to 100 %. Anything with arithmetic will
        do, so that uncertainties and draws go through the same formula.

    Returns
    -------
    same kind
        Within about 0.1 of the handbook's table; the handbook itself claims less than that.

    References
    ----------
    Wood Handbook, equation 4-5, with the constants for Celsius as quoted by others from FPL-GTR-282, page 4-3.

    Examples
    --------
    >>> round(equilibrium_moisture_percent(20.0, 50.0), 3)
    9.271
    """
    t, h = temperature_c, humidity_percent / 100
    w = 349 + 1.29 * t + 0.0135 * t * t
    k = 0.805 + 0.000736 * t - 0.00000273 * t * t
    k1 = 6.27 - 0.00938 * t - 0.000303 * t * t
    k2 = 1.91 + 0.0407 * t - 0.000293 * t * t
    kh = k * h
    hydrates = k1 * kh + 2 * k1 * k2 * kh * kh
    return 1800 / w * (kh / (1 - kh) + hydrates / (1 + k1 * kh + k1 * k2 * kh * kh))
