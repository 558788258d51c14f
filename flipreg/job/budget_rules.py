"""What can be wrong with a budget: features that are not on the wood, and air that there is not."""

from collections.abc import Iterator

from flipreg.job.bend import Bend
from flipreg.job.blank import BlankFace
from flipreg.job.budget import Air, Budget, Feature
from flipreg.job.estimate import Estimate, Shape
from flipreg.job.job import Job
from flipreg.job.layout import Layout
from flipreg.job.problem import Problem
from flipreg.units import Shown

__all__ = ["budget_rules"]

_BELL = 3.0
"""How many standard deviations of a spread without limits have to be possible values (chosen)."""

_NOISE_MM = 1e-6
"""A feature on an edge counts as on the blank: converting its unit may have moved it by this much."""

_TEMPERATURES_C = (-20.0, 60.0)
"""No shed is colder and no loft hotter (chosen). The formula of the wood's moisture is for such air."""


def budget_rules(job: Job) -> Iterator[Problem]:
    """Yield what contradicts the blank, or cannot be, in the budget of a job."""
    if job.budget is None:
        return
    yield from _doubled(job.budget)
    layout = Layout.of(job)
    for index, feature in enumerate(job.budget.features):
        yield from _off_the_wood(layout, index, feature)
    if isinstance(job.budget.wood, Air):
        yield from _air(job.budget.wood)
    if job.budget.coefficient_percent is not None and _limits(job.budget.coefficient_percent)[0] <= -100.0:
        yield Problem(("budget", "board"), "a board that moves by 100 % less than its species does not move at all")


def _doubled(budget: Budget) -> Iterator[Problem]:
    names = [feature.name for feature in budget.features]
    places = [(feature.at_mm, feature.depth_mm) for feature in budget.features]
    for index, feature in enumerate(budget.features):
        if feature.name in names[:index]:
            first = names.index(feature.name)
            message = f"the name {feature.name!r} is taken by $.budget.features[{first}] already"
            yield Problem(("budget", "features", index, "name"), message)
        if places[index] in places[:index]:
            other = names[places.index(places[index])]
            yield Problem(("budget", "features", index, "at"), f"{feature.name!r} is the same place as {other!r}")


def _off_the_wood(layout: Layout, index: int, feature: Feature) -> Iterator[Problem]:
    job, thickness_mm = layout.job, layout.thickness_mm
    bare = Shown(job.inch).bare
    (x_mm, y_mm), off = feature.at_mm, f"feature {feature.name!r} is off the blank:"
    low_x, high_x = job.blank.x_range_mm
    path = ("budget", "features", index)
    if not low_x - _NOISE_MM <= x_mm <= high_x + _NOISE_MM:
        yield Problem((*path, "at"), f"{off} X {bare(x_mm)}, and its edges are at {bare(low_x)} and {bare(high_x)}")
    depth_mm = thickness_mm / 2 if feature.depth_mm is None else feature.depth_mm
    if depth_mm > thickness_mm + _NOISE_MM:
        yield Problem(
            (*path, "depth"),
            f"feature {feature.name!r} is {bare(depth_mm)} deep, and the blank is {bare(thickness_mm)} thick",
        )
        return
    low_y, high_y = layout.y_range_mm
    for bend, end_mm, sign in ((layout.near, low_y, -1.0), (layout.far, high_y, 1.0)):
        limit_mm = end_mm if bend is None else _corner_at(bend, depth_mm)
        if sign * (y_mm - limit_mm) > _NOISE_MM:
            words = f"{off} Y {bare(y_mm)}, and its end is at {bare(limit_mm)}"
            if bend is not None:
                words = (
                    f"feature {feature.name!r} is beyond the hinge: Y {bare(y_mm)}, and the straight section, "
                    f"which the budget is for, ends at {bare(limit_mm)}"
                )
            yield Problem((*path, "at"), words)


def _corner_at(bend: Bend, depth_mm: float) -> float:
    """Return where the straight section ends at a depth: on the line from the front's corner to the back's."""
    front_mm, back_mm = (bend.corner(face)[0] for face in BlankFace)
    return front_mm + (back_mm - front_mm) * depth_mm / bend.thickness_mm


def _air(air: Air) -> Iterator[Problem]:
    for name, temperature, humidity in (
        ("air_before", air.temperature_before_c, air.humidity_before_percent),
        ("air_after", air.temperature_after_c, air.humidity_after_percent),
    ):
        low, high = _limits(humidity)
        if not (low >= 0.0 and high <= 100.0):
            message = f"a relative humidity is 0 to 100 %, and this spreads from {low:g} to {high:g} %"
            yield Problem(("budget", name, "humidity"), message)
        low, high = _limits(temperature)
        if not (low >= _TEMPERATURES_C[0] and high <= _TEMPERATURES_C[1]):
            message = (
                f"the air of a workshop is {_TEMPERATURES_C[0]:g} to {_TEMPERATURES_C[1]:g} °C, and this spreads from "
                f"{low:g} to {high:g} °C"
            )
            yield Problem(("budget", name, "temperature"), message)


def _limits(estimate: Estimate) -> tuple[float, float]:
    """Return the limits of a spread; of a bell, which has none, three standard deviations either way."""
    reach = estimate.size * (_BELL if estimate.shape is Shape.NORMAL else 1.0)
    return estimate.value - reach, estimate.value + reach
