"""The error budget: how far the two faces can end up apart, what that comes from, and what would help.

Register errors are distances in the plane at points of the part, in millimetres. The law of propagation and Monte
Carlo both work them out from the model of the register; that they agree is checked each time. The tolerance is held
against Monte Carlo, which does not take the errors for normal.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from flipreg.align.budget_report import BudgetReport, Contribution, ErrorMap, FeatureError, Relief
from flipreg.align.coverage import drawn_distance, normal_distance
from flipreg.align.distribution import DIVISOR, draws
from flipreg.align.propagate import (
    Propagated,
    Quantity,
    coverage_factor,
    curvature,
    monte_carlo,
    propagate,
    standard_error_of_deviation,
)
from flipreg.align.register_model import Blank, Laid, Source, base_model, left_out, quantities, weights
from flipreg.align.remark import Remark, Verdict
from flipreg.errors import UsageError
from flipreg.job.budget import Budget, Feature
from flipreg.job.estimate import Estimate

__all__ = ["error_budget"]

Floats = NDArray[np.float64]

_COUNT = 200_000
"""Draws: the standard deviation is then known to about 0.15 % of itself; a second on a slow machine."""
_SEED = 20_140_906
"""Ours; the same job gives the same report."""
_FEW = 20_000
"""Draws for the map and for what would help: a per cent is enough there."""
_BISECTIONS = 16
"""Halvings of a factor between 0 and 1: four digits."""
_NEGLIGIBLE = 1e-3
"""Share of the variance below which what the slopes leave out is not told."""


@dataclass(frozen=True, eq=False)
class _Ways:
    """The eight numbers of the model, worked out both ways."""

    law: Propagated
    bent_shift: Floats
    bent_covariance: Floats
    drawn: Floats
    sources: tuple[Source, ...]


def error_budget(
    budget: Budget, front: Laid, back: Laid, blank: Blank, *, corners_mm: Sequence[float], tolerance_mm: float
) -> BudgetReport:
    """Work out how far the faces can end up apart.

    Parameters
    ----------
    budget : Budget
        How exactly the work is done.
    front, back : Laid
        The two setups.
    blank : Blank
        Its size and how its wood moves.
    corners_mm : xmin, ymin, xmax, ymax
        The part or the blank in the blank frame: what the map covers.
    tolerance_mm : float
        The largest distance that is in register.

    Raises
    ------
    UsageError
        If the budget says nothing at all, or the tolerance is not above 0.
    """
    named = quantities(budget, front, back)
    if not named:
        raise UsageError("the budget is empty: say at least how exactly the lines are drawn")
    if not tolerance_mm > 0:
        raise UsageError(f"the tolerance has to be above 0, got {tolerance_mm}")
    found = [quantity for quantity, _ in named]
    model = base_model(front, back, blank)
    ways = _Ways(
        propagate(model, found),
        *curvature(model, found),
        monte_carlo(model, found, count=_COUNT, seed=_SEED),
        tuple(source for _, source in named),
    )
    half = blank.size_mm[2] / 2
    features = tuple(
        _feature(feature, ways, half if feature.depth_mm is None else feature.depth_mm)
        for feature in budget.features or _corners(corners_mm)
    )
    worst = max(features, key=lambda feature: feature.drawn_distance_mm)
    return BudgetReport(
        tolerance_mm=tolerance_mm,
        front=front.name,
        back=back.name,
        features=features,
        map=_map(ways.drawn, corners_mm, half),
        reliefs=tuple(_reliefs(worst, ways, found, tolerance_mm)) if worst.drawn_distance_mm > tolerance_mm else (),
        left_out=tuple(left_out(budget)),
        draws=_COUNT,
        remarks=(_verdict(worst, tolerance_mm), _agreement(features)),
    )


def _corners(corners_mm: Sequence[float]) -> tuple[Feature, ...]:
    x0, y0, x1, y1 = corners_mm
    return (
        Feature("near left corner", (x0, y0)),
        Feature("near right corner", (x1, y0)),
        Feature("middle", ((x0 + x1) / 2, (y0 + y1) / 2)),
        Feature("far left corner", (x0, y1)),
        Feature("far right corner", (x1, y1)),
    )


def _feature(feature: Feature, ways: "_Ways", depth_mm: float) -> FeatureError:
    weight = weights(feature.at_mm, depth_mm)
    components, bent = weight @ ways.law.components, weight @ ways.bent_covariance @ weight.T
    mean = weight @ (ways.law.values + ways.bent_shift)
    covariance = components @ components.T + bent
    standard = np.sqrt(np.diag(covariance))
    here = weight @ ways.drawn
    distance, distance_error = drawn_distance(here[0], here[1])
    return FeatureError(
        name=feature.name,
        at_mm=feature.at_mm,
        depth_mm=depth_mm,
        mean_mm=_pair(mean),
        standard_mm=_pair(standard),
        expanded_mm=_pair(coverage_factor() * standard),
        distance_mm=normal_distance(mean, covariance),
        drawn_mean_mm=_pair(here.mean(axis=1)),
        drawn_standard_mm=_pair(here.std(axis=1)),
        drawn_mean_error_mm=_pair(here.std(axis=1) / sqrt(here.shape[1])),
        drawn_standard_error_mm=(standard_error_of_deviation(here[0]), standard_error_of_deviation(here[1])),
        drawn_distance_mm=distance,
        drawn_distance_error_mm=distance_error,
        contributions=_contributions(components, ways.sources, curved=float(np.trace(bent))),
    )


def _contributions(components: Floats, sources: Sequence[Source], *, curved: float) -> tuple[Contribution, ...]:
    variance = (components**2).sum(axis=0)
    parts = {source: float(variance[[each is source for each in sources]].sum()) for source in dict.fromkeys(sources)}
    whole = sum(parts.values()) + curved
    if curved > _NEGLIGIBLE * whole:
        parts[Source.CURVED] = curved
    ranked = sorted(parts.items(), key=lambda part: -part[1])
    return tuple(Contribution(source, sqrt(part), part / whole if whole else 0.0) for source, part in ranked)


def _map(drawn: Floats, corners_mm: Sequence[float], depth_mm: float) -> ErrorMap:
    x0, y0, x1, y1 = corners_mm
    x_mm, y_mm = np.linspace(x0, x1, 5), np.linspace(y0, y1, 13)
    few = drawn[:, :_FEW]
    rows = []
    for y in y_mm.tolist():
        here = (weights((x, y), depth_mm) @ few for x in x_mm.tolist())
        rows.append([drawn_distance(part[0], part[1])[0] for part in here])
    return ErrorMap(x_mm, y_mm, np.array(rows))


def _reliefs(worst: FeatureError, ways: "_Ways", found: list[Quantity], tolerance_mm: float) -> list[Relief]:
    """Return what the worst feature would gain, to the first order, with every source in the shape it has."""
    weight = weights(worst.at_mm, worst.depth_mm)
    components, random_part = weight @ ways.law.components, _standardised(found)
    middle, whole = np.array(worst.mean_mm)[:, np.newaxis], components @ random_part
    reliefs = [_relief(None, middle + 0 * whole, whole, tolerance_mm)]
    for contribution in worst.contributions:
        of_source = np.array([each is contribution.source for each in ways.sources])
        if of_source.any():
            part = components[:, of_source] @ random_part[of_source]
            reliefs.append(_relief(contribution.source, middle + whole - part, part, tolerance_mm))
    return reliefs


def _standardised(found: list[Quantity]) -> Floats:
    """Return draws of each quantity with mean 0 and standard deviation 1, shape (n, draws)."""
    random = np.random.default_rng(_SEED)
    unit = [Estimate(quantity.estimate.shape, DIVISOR[quantity.estimate.shape]) for quantity in found]
    return np.array([draws(estimate, random, _FEW) for estimate in unit])


def _relief(source: Source | None, rest: Floats, part: Floats, tolerance_mm: float) -> Relief:
    """Return by how much a part has to shrink until it meets the tolerance together with the rest."""

    def distance(factor: float) -> float:
        here = rest + factor * part
        return drawn_distance(here[0], here[1])[0]

    without = distance(0.0)
    if without > tolerance_mm:
        return Relief(source, None, without)
    low, high = 0.0, 1.0
    for _ in range(_BISECTIONS):
        factor = (low + high) / 2
        low, high = (factor, high) if distance(factor) <= tolerance_mm else (low, factor)
    return Relief(source, low, without)


def _verdict(worst: FeatureError, tolerance_mm: float) -> Remark:
    distance = worst.drawn_distance_mm
    if distance <= tolerance_mm:
        message = (
            f"19 parts in 20 will be within {distance:.3f} mm at {worst.name!r}, the worst place looked at (allowed "
            f"{tolerance_mm:g} mm), if every error is as the job file says"
        )
        return Remark("budget", Verdict.PASS, message)
    message = (
        f"only {distance:.3f} mm can be held at {worst.name!r} in 19 parts of 20, and {tolerance_mm:g} mm are allowed"
    )
    return Remark("budget", Verdict.FAIL, message)


def _agreement(features: Sequence[FeatureError]) -> Remark:
    off = [feature.name for feature in features if not feature.agrees]
    if not off:
        message = f"the law of propagation and Monte Carlo ({_COUNT} draws) agree within the latter's own error"
        return Remark("agreement", Verdict.PASS, message)
    message = (
        f"the law of propagation and Monte Carlo differ by more than chance at {', '.join(map(repr, off))}: a spread "
        "is too wide for the law's straight lines; halve the widest one, or settle the wood's moisture, and look again"
    )
    return Remark("agreement", Verdict.NOT_DETERMINED, message)


def _pair(vector: Floats) -> tuple[float, float]:
    return float(vector[0]), float(vector[1])
