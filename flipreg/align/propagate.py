"""Uncertainty of what is worked out from uncertain quantities, in two ways that share nothing but the model.

The law of propagation takes each quantity's standard uncertainty through the slope of the model. Monte Carlo
draws every quantity anew many times and looks at what comes out. A model is an ordinary function: it has to make do
with arithmetic and powers, so that uncertain numbers and arrays of draws can both go through it.

References
----------
JCGM 100:2008 (GUM), clause 5 and annex G; JCGM 101:2008 (supplement 1). Neither was open; the check values come from
the documents of others, see the tests.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import inf, isfinite
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flipreg.align.distribution import FOURTH_MOMENT, draws, standard_uncertainty
from flipreg.errors import UsageError
from flipreg.job.estimate import Estimate

__all__ = [
    "Model",
    "Propagated",
    "Quantity",
    "coverage_factor",
    "curvature",
    "drawn_inputs",
    "propagate",
    "results_of",
    "standard_error_of_deviation",
]

Floats = NDArray[np.float64]

_AT_ONCE = 8_192
"""Draws that a model is worked out for at once (chosen, measured): all of them take several times as long."""

Model = Callable[[Mapping[str, Floats]], Sequence[Floats]]
"""From the quantities by name to the results. Uncertain numbers stand in for arrays when slopes are wanted."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """An input of a model.

    Attributes
    ----------
    name : str
        What the model calls it.
    estimate : Estimate
        Its value and spread, in the unit that the model expects.
    degrees_of_freedom : float
        How many readings the spread was worked out from, less one; infinite for limits that somebody states.
    """

    name: str
    estimate: Estimate
    degrees_of_freedom: float = inf


@dataclass(frozen=True, eq=False)
class Propagated:
    """Results of the law of propagation, in the units of the model.

    Attributes
    ----------
    values : array, shape (m,)
        The model at the quantities' values.
    components : array, shape (m, n)
        Slope times standard uncertainty of each quantity, with its sign.
    degrees_of_freedom : array, shape (m,)
        By the Welch-Satterthwaite formula.
    names : tuple of str
        The quantities, in the order of the columns.
    """

    values: Floats
    components: Floats
    degrees_of_freedom: Floats
    names: tuple[str, ...]

    @property
    def covariance(self) -> Floats:
        """Covariances of the results, shape (m, m); the quantities are independent of each other."""
        return np.asarray(self.components @ self.components.T, dtype=np.float64)

    @property
    def standard(self) -> Floats:
        """Combined standard uncertainty of each result, shape (m,)."""
        return np.asarray(np.sqrt((self.components**2).sum(axis=1)), dtype=np.float64)


def propagate(model: Model, quantities: Sequence[Quantity]) -> Propagated:
    """Take uncertainties through a model by the law of propagation, to the first order.

    Raises
    ------
    UsageError
        If a quantity has no degree of freedom left.
    """
    # 0.6 s to import, and only this command needs it.
    import GTC

    for quantity in quantities:
        if not quantity.degrees_of_freedom >= 1:
            raise UsageError(f"{quantity.name!r} needs at least two readings")
    inputs: dict[str, Any] = {
        quantity.name: GTC.ureal(
            quantity.estimate.value, standard_uncertainty(quantity.estimate), quantity.degrees_of_freedom
        )
        for quantity in quantities
    }
    # Adding an exact zero makes uncertain numbers of results that depend on nothing.
    results = [result + GTC.constant(0.0) for result in model(inputs)]
    return Propagated(
        values=np.array([GTC.value(result) for result in results], dtype=np.float64),
        components=np.array(
            [[GTC.rp.u_component(result, each) for each in inputs.values()] for result in results], dtype=np.float64
        ).reshape(len(results), len(inputs)),
        degrees_of_freedom=np.array([GTC.dof(result) for result in results], dtype=np.float64),
        names=tuple(inputs),
    )


def curvature(model: Model, quantities: Sequence[Quantity]) -> tuple[Floats, Floats]:
    """Return what the law's first order leaves out where a model is curved: shifts of the values, and covariances.

    Second differences over one standard uncertainty either way stand in for second derivatives. Products of two
    uncertain quantities are the usual reason for them to matter.

    Returns
    -------
    shift : array, shape (m,)
        To be added to the model at the quantities' values.
    covariance : array, shape (m, m)
        To be added to the covariances of the first order.

    References
    ----------
    JCGM 100:2008, 5.1.2, note, from memory: the terms of next higher order; here with the fourth moment of each
    quantity's own shape in place of the normal one's, and without third derivatives.
    """
    steps = np.array([standard_uncertainty(quantity.estimate) for quantity in quantities])
    count = len(steps)
    first, second = np.triu_indices(count, 1)
    one = np.eye(count)
    a, b = one[first], one[second]
    moves = np.concatenate([np.zeros((1, count)), one, -one, a + b, a - b, b - a, -a - b])
    inputs = {
        quantity.name: quantity.estimate.value + moves[:, column] * steps[column]
        for column, quantity in enumerate(quantities)
    }
    results = np.array([np.broadcast_to(result, len(moves)) for result in model(inputs)])
    ends = np.cumsum([1, count, count, *[len(first)] * 3]).tolist()
    middle, up, down, both, one_way, other_way, neither = np.split(results, ends, axis=1)
    bend = up + down - 2 * middle
    twist = (both - one_way - other_way + neither) / 4
    flatness = np.array([FOURTH_MOMENT[quantity.estimate.shape] - 1 for quantity in quantities])
    return bend.sum(axis=1) / 2, twist @ twist.T + (bend * flatness / 4) @ bend.T


def coverage_factor(degrees_of_freedom: float = inf, *, percent: float = 95.0) -> float:
    """Return by how much to multiply a standard uncertainty so that the interval holds `percent` of the values.

    The degrees of freedom are taken as they are, not cut down to a whole number.

    Examples
    --------
    >>> round(coverage_factor(), 2)
    1.96
    """
    import GTC

    return float(GTC.rp.k_factor(degrees_of_freedom, percent))


def drawn_inputs(quantities: Sequence[Quantity], *, count: int, seed: int) -> dict[str, Floats]:
    """Draw every quantity `count` times, by name; the same seed draws the same numbers.

    Raises
    ------
    UsageError
        If a quantity comes from few readings: what is drawn for it would spread wider than its standard uncertainty.
    """
    random = np.random.default_rng(seed)
    inputs: dict[str, Floats] = {}
    for quantity in quantities:
        if isfinite(quantity.degrees_of_freedom):
            raise UsageError(f"{quantity.name!r} comes from few readings; Monte Carlo needs its spread as a shape")
        inputs[quantity.name] = draws(quantity.estimate, random, count)
    return inputs


def results_of(model: Model, inputs: Mapping[str, Floats], count: int) -> Floats:
    """Return what a model makes of drawn inputs, shape (m, count), some draws at a time: each stands for itself."""
    parts = []
    for first in range(0, count, _AT_ONCE):
        size = min(_AT_ONCE, count - first)
        some = {name: column[first : first + size] for name, column in inputs.items()}
        parts.append(np.array([np.broadcast_to(result, size) for result in model(some)]))
    return np.concatenate(parts, axis=1)


def standard_error_of_deviation(values: Floats) -> float:
    """Return how exactly the standard deviation of draws is known, as a standard uncertainty.

    From the fourth moment, because what is drawn here need not be normal.
    """
    squares = (values - values.mean()) ** 2
    square = float(squares.mean())
    if square == 0:
        return 0.0
    fourth = float((squares * squares).mean())
    return float(np.sqrt(max(fourth - square**2, 0.0) / (4 * len(values) * square)))
