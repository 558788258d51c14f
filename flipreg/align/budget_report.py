"""What an error budget says, as values: errors at features, over the part, and what would help.

Register errors are distances in the plane, in millimetres, along X and Y of the blank frame.
"""

from dataclasses import dataclass
from math import hypot

import numpy as np
from numpy.typing import NDArray

from flipreg.align.register_model import Source
from flipreg.findings import Finding, Status

__all__ = ["BudgetReport", "Contribution", "ErrorMap", "FeatureError", "Relief"]

Floats = NDArray[np.float64]

_STANDARD_ERRORS = 4.0
"""How many of Monte Carlo's standard errors the two ways may differ: chance does that once in 16 000 times."""
_NOISE_MM = 1e-9


@dataclass(frozen=True, slots=True)
class Contribution:
    """What one source adds at a feature.

    Attributes
    ----------
    source : Source
        Where it comes from.
    shift_mm : (float, float)
        By how much it moves the error that is expected, along X and Y: what is known of it beforehand.
    standard_mm : float
        The standard uncertainty that it alone would make, X and Y together.
    share : float
        Its part of the variance, 0 to 1.
    """

    source: Source
    shift_mm: tuple[float, float]
    standard_mm: float
    share: float

    @property
    def size_mm(self) -> float:
        """Root mean square of the error that it makes: shift and spread together."""
        return hypot(*self.shift_mm, self.standard_mm)


@dataclass(frozen=True, slots=True)
class FeatureError:
    """The register error at one feature, along X and Y of the blank frame, in millimetres.

    Attributes
    ----------
    name : str
        The feature.
    at_mm : (float, float)
        Where it is.
    depth_mm : float
        How deep below the front face the cuts meet there.
    mean_mm : (float, float)
        The error to be expected: what is known of it beforehand.
    standard_mm : (float, float)
        Standard uncertainty by the law of propagation, with the terms of second order.
    expanded_mm : (float, float)
        Expanded uncertainty, 95 %, by the law of propagation: coverage factor 1.96.
    distance_mm : float
        The distance that holds 95 % of the errors, were they normal.
    drawn_mean_mm, drawn_standard_mm : (float, float)
        Mean and standard deviation by Monte Carlo.
    drawn_mean_error_mm, drawn_standard_error_mm : (float, float)
        How exactly Monte Carlo knows them: their standard errors.
    drawn_distance_mm, drawn_distance_error_mm : float
        The distance that holds 95 % of the draws, and its standard error.
    contributions : tuple of Contribution
        Largest first.
    """

    name: str
    at_mm: tuple[float, float]
    depth_mm: float
    mean_mm: tuple[float, float]
    standard_mm: tuple[float, float]
    expanded_mm: tuple[float, float]
    distance_mm: float
    drawn_mean_mm: tuple[float, float]
    drawn_standard_mm: tuple[float, float]
    drawn_mean_error_mm: tuple[float, float]
    drawn_standard_error_mm: tuple[float, float]
    drawn_distance_mm: float
    drawn_distance_error_mm: float
    contributions: tuple[Contribution, ...]

    @property
    def agrees(self) -> bool:
        """Whether law and Monte Carlo give the same means and spreads, within Monte Carlo's own error."""
        compared = (
            *zip(self.mean_mm, self.drawn_mean_mm, self.drawn_mean_error_mm, strict=True),
            *zip(self.standard_mm, self.drawn_standard_mm, self.drawn_standard_error_mm, strict=True),
        )
        return all(abs(law - drawn) <= _STANDARD_ERRORS * error + _NOISE_MM for law, drawn, error in compared)


@dataclass(frozen=True, slots=True)
class Relief:
    """What a smaller error of one source, or of all, would do at the worst feature.

    Attributes
    ----------
    source : Source or None
        The source; None for all of them alike.
    factor : float or None
        What its error, shift and spread alike, has to be multiplied by to meet the tolerance; None where even 0 would
        not do.
    without_mm : float
        The 95 % distance that would be left without it: neither its shift nor its spread.
    """

    source: Source | None
    factor: float | None
    without_mm: float


@dataclass(frozen=True, eq=False)
class ErrorMap:
    """The 95 % distance over the blank, by Monte Carlo.

    Attributes
    ----------
    x_mm, y_mm : array, shape (nx,) and (ny,)
        In the blank frame.
    distance_mm : array, shape (ny, nx)
        At half the thickness.
    """

    x_mm: Floats
    y_mm: Floats
    distance_mm: Floats


@dataclass(frozen=True, eq=False)
class BudgetReport:
    """An error budget.

    Attributes
    ----------
    tolerance_mm : float
        The largest distance that is in register.
    front, back : str
        The setups that are compared.
    features : tuple of FeatureError
        In the order they were given; where none were, the corners of the part and its middle.
    map : ErrorMap
        The error all over.
    reliefs : tuple of Relief
        What the tolerance would need, at the worst feature: all sources alike, then one by one, largest first.
    left_out : tuple of Source
        What the job says nothing about, and so counts as exact.
    draws : int
        How many draws Monte Carlo made.
    findings : tuple of Finding
        The verdict, and whether both ways agree.
    """

    tolerance_mm: float
    front: str
    back: str
    features: tuple[FeatureError, ...]
    map: ErrorMap
    reliefs: tuple[Relief, ...]
    left_out: tuple[Source, ...]
    draws: int
    findings: tuple[Finding, ...]

    @property
    def worst(self) -> FeatureError:
        """The feature with the largest error."""
        return max(self.features, key=lambda feature: feature.drawn_distance_mm)

    @property
    def within(self) -> bool | None:
        """Whether 95 % of the parts are in register at every feature; None where both ways do not agree."""
        statuses = {finding.status for finding in self.findings}
        if Status.NOT_DETERMINED in statuses:
            return None
        return Status.FAIL not in statuses
