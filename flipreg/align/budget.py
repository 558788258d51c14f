"""The error budget: how far the two faces can end up apart, what that comes from, and what would help.

Register errors are distances in the plane at points of the part, in millimetres. The law of propagation and Monte
Carlo both work them out from the model of the register; that they agree is checked each time. The tolerance is held
against Monte Carlo, which does not take the errors for normal.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from flipreg.align.budget_report import BudgetReport, Contribution, ErrorMap, FeatureError, Relief
from flipreg.align.coverage import drawn_distance, normal_distance
from flipreg.align.propagate import (
    Model,
    Propagated,
    Quantity,
    coverage_factor,
    curvature,
    drawn_inputs,
    propagate,
    results_of,
    standard_error_of_deviation,
)
from flipreg.align.register_model import BlankModel, Laid, Source, base_model, left_out, quantities, weights
from flipreg.errors import UsageError
from flipreg.findings import Finding, Status
from flipreg.job.budget import Budget, Feature
from flipreg.units import length_text, limit_text

__all__ = ["error_budget"]

Floats = NDArray[np.float64]

_COUNT = 200_000
"""Draws: the standard deviation is then known to about 0.15 % of itself; a second on a slow machine."""
_SEED = 20_140_906
"""Chosen; the same job gives the same report."""
_FEW = 20_000
"""Draws for the map and for what would help: a per cent is enough there."""
_BISECTIONS = 16
"""Halvings of a factor between 0 and 1: four digits."""
_NEGLIGIBLE = 1e-3
"""Share of the variance below which what the slopes leave out is not told."""


@dataclass(frozen=True, eq=False)
class _Ways:
    """The eight numbers of the model, worked out both ways, and what they are without a source."""

    model: Model
    named: tuple[tuple[Quantity, Source], ...]
    law: Propagated
    bent_shift: Floats
    bent_covariance: Floats
    inputs: Mapping[str, Floats]
    drawn: Floats

    @classmethod
    def of(cls, model: Model, named: Sequence[tuple[Quantity, Source]]) -> "_Ways":
        """Work out the numbers of a model whose quantities come from sources."""
        found = [quantity for quantity, _ in named]
        inputs = drawn_inputs(found, count=_COUNT, seed=_SEED)
        drawn = results_of(model, inputs, _COUNT)
        return cls(model, tuple(named), propagate(model, found), *curvature(model, found), inputs, drawn)

    @property
    def sources(self) -> tuple[Source, ...]:
        """The source of each quantity."""
        return tuple(source for _, source in self.named)

    def values_without(self, source: Source) -> Floats:
        """Return the numbers at the quantities' values where a source does nothing, shape (8,)."""
        values = {quantity.name: np.array([quantity.estimate.value]) for quantity, _ in self.named}
        return np.asarray(self._without(source, values, 1)[:, 0])

    def drawn_without(self, source: Source) -> Floats:
        """Return the numbers draw by draw where a source does nothing, shape (8, draws)."""
        return self._without(source, self.inputs, _COUNT)

    def _without(self, source: Source, given: Mapping[str, Floats], count: int) -> Floats:
        """Return the numbers without the quantities of a source: the model takes what it isn't given for exact."""
        kept = {quantity.name: given[quantity.name] for quantity, its in self.named if its is not source}
        return results_of(self.model, kept, count)


def error_budget(
    budget: Budget, front: Laid, back: Laid, blank: BlankModel, *, corners_mm: Sequence[float], tolerance_mm: float
) -> BudgetReport:
    """Work out how far the faces can end up apart.

    Parameters
    ----------
    budget : Budget
        How exactly the work is done.
    front, back : Laid
        The two setups.
    blank : BlankModel
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
    ways = _Ways.of(base_model(front, back, blank), named)
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
        reliefs=tuple(_reliefs(worst, ways, tolerance_mm)) if worst.drawn_distance_mm > tolerance_mm else (),
        left_out=tuple(left_out(budget)),
        draws=_COUNT,
        findings=(_verdict(worst, tolerance_mm), _agreement(features)),
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
        contributions=_contributions(weight, components, ways, curved=float(np.trace(bent))),
    )


def _contributions(weight: Floats, components: Floats, ways: _Ways, *, curved: float) -> tuple[Contribution, ...]:
    variance = (components**2).sum(axis=0)
    sources = dict.fromkeys(ways.sources)
    parts = {source: float(variance[[each is source for each in ways.sources]].sum()) for source in sources}
    shifts = {source: weight @ (ways.law.values - ways.values_without(source)) for source in sources}
    whole = sum(parts.values()) + curved
    if curved > _NEGLIGIBLE * whole:
        parts[Source.CURVED], shifts[Source.CURVED] = curved, weight @ ways.bent_shift
    made = [
        Contribution(source, _pair(shifts[source]), sqrt(part), part / whole if whole else 0.0)
        for source, part in parts.items()
    ]
    return tuple(sorted(made, key=lambda contribution: -contribution.size_mm))


def _map(drawn: Floats, corners_mm: Sequence[float], depth_mm: float) -> ErrorMap:
    x0, y0, x1, y1 = corners_mm
    x_mm, y_mm = np.linspace(x0, x1, 5), np.linspace(y0, y1, 13)
    few = drawn[:, :_FEW]
    rows = []
    for y in y_mm.tolist():
        here = (weights((x, y), depth_mm) @ few for x in x_mm.tolist())
        rows.append([drawn_distance(part[0], part[1])[0] for part in here])
    return ErrorMap(x_mm, y_mm, np.array(rows))


def _reliefs(worst: FeatureError, ways: _Ways, tolerance_mm: float) -> list[Relief]:
    """Return what the worst feature would gain where a source did less, or nothing: draw by draw, shift and spread."""
    weight = weights(worst.at_mm, worst.depth_mm)
    whole = weight @ ways.drawn
    reliefs = [_relief(None, np.zeros_like(whole), whole, tolerance_mm)]
    for contribution in worst.contributions:
        if contribution.source in ways.sources:
            rest = weight @ ways.drawn_without(contribution.source)
            reliefs.append(_relief(contribution.source, rest, whole - rest, tolerance_mm))
    return reliefs


def _relief(source: Source | None, rest: Floats, part: Floats, tolerance_mm: float) -> Relief:
    """Return by how much a part of the error has to shrink until it meets the tolerance together with the rest."""
    without_mm, _ = drawn_distance(rest[0], rest[1])
    if without_mm > tolerance_mm:
        return Relief(source, None, without_mm)
    few_rest, few_part = rest[:, :_FEW], part[:, :_FEW]
    low, high = 0.0, 1.0
    for _ in range(_BISECTIONS):
        factor = (low + high) / 2
        here = few_rest + factor * few_part
        low, high = (factor, high) if drawn_distance(here[0], here[1])[0] <= tolerance_mm else (low, factor)
    return Relief(source, low, without_mm)


def _verdict(worst: FeatureError, tolerance_mm: float) -> Finding:
    distance = worst.drawn_distance_mm
    if distance <= tolerance_mm:
        message = (
            f"19 parts in 20 will be within {length_text(distance, 3)} at {worst.name!r}, the worst place looked at "
            f"(allowed {limit_text(tolerance_mm)}), if every error is as the job file says"
        )
        return Finding("budget", Status.PASS, message)
    message = (
        f"only {length_text(distance, 3)} can be held at {worst.name!r} in 19 parts of 20, and "
        f"{limit_text(tolerance_mm)} are allowed"
    )
    return Finding("budget", Status.FAIL, message)


def _agreement(features: Sequence[FeatureError]) -> Finding:
    off = [feature.name for feature in features if not feature.agrees]
    if not off:
        message = f"the law of propagation and Monte Carlo ({_COUNT} draws) agree within the latter's own error"
        return Finding("agreement", Status.PASS, message)
    message = (
        f"the law of propagation and Monte Carlo differ by more than chance at {', '.join(map(repr, off))}: a spread "
        "is too wide for the law's straight lines; halve the widest one, or settle the wood's moisture, and look again"
    )
    return Finding("agreement", Status.NOT_DETERMINED, message)


def _pair(vector: Floats) -> tuple[float, float]:
    return float(vector[0]), float(vector[1])
