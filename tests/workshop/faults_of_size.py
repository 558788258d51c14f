"""Faults of size, number and depth: another part, a missing hole, a profile too large, a cut too shallow."""

from dataclasses import replace

from tests.workshop.cuts import Compensated, Cut, Lift, Over
from tests.workshop.faults import Fault, Right, Spoilt
from tests.workshop.placement import Placement, shift


def _profiles_grown(right: Right, by_diameters: float) -> Spoilt | None:
    numbers = [i for i, cut in enumerate(right.back) if cut.is_profile]
    if not numbers:
        return None
    back = list(right.back)
    for i in numbers:
        back[i] = _grown(back[i], by_diameters * back[i].cutter.diameter)
    return Spoilt(tuple(back), None, f"profiles larger by {by_diameters:g} diameters all in all")


def _grown(cut: Cut, by: float) -> Cut:
    """Return a profile scaled about its middle, so that its longer side grows by a length."""
    points = cut.shared[0].points
    low, high = points.min(axis=0), points.max(axis=0)
    size = 1 + by / float((high - low).max())
    x, y = ((low + high) / 2).tolist()
    return cut.moved(Placement(xx=size, yy=size, x0=x * (1 - size), y0=y * (1 - size)))


def profiles_a_radius_too_large(right: Right) -> Spoilt | None:
    """The tool's radius was left out of the profiles of the back, or added twice."""
    return _profiles_grown(right, 1)


def profiles_on_the_wrong_side(right: Right) -> Spoilt | None:
    """The tool goes round inside the line: the part gets smaller by a diameter at each side."""
    return _profiles_grown(right, -2)


def missing_hole(right: Right) -> Spoilt | None:
    """One hole was forgotten: no part is spoilt that the front hasn't got right."""
    numbers = [i for i, cut in enumerate(right.back) if cut.is_hole]
    if len(numbers) < 2:
        return None
    number = right.rng.choice(numbers)
    place = right.back[number].shared[0].points[0]
    back = [cut for i, cut in enumerate(right.back) if i != number]
    return Spoilt(tuple(back), None, f"without {place}", missing=((float(place[0]), float(place[1])),))


def extra_hole(right: Right) -> Spoilt | None:
    """There is one hole more than in the front."""
    numbers = [i for i, cut in enumerate(right.back) if cut.is_hole]
    if not numbers:
        return None
    more = right.back[right.rng.choice(numbers)].moved(shift(*right.any_way(right.rng.uniform(15, 40))))
    return Spoilt((*right.back, replace(more, shared=())), None, f"one more at {more.shared[0].points[0]}")


def another_part(right: Right) -> Spoilt | None:
    other = right.other()
    return Spoilt(other, None, "the back of another part") if any(cut.shared for cut in other) else None


def too_shallow(right: Right) -> Spoilt | None:
    """What should go through from both faces is cut to a third of its depth in the back."""
    if not any(cut.shared for cut in right.back):
        return None
    return Spoilt(tuple(_shallow(cut) if cut.shared else cut for cut in right.back), None, "cut to 0.3 of the depth")


def _shallow(cut: Cut) -> Cut:
    return replace(cut, moves=tuple(
        move if isinstance(move, Lift | Over | Compensated) else replace(move, z=move.z * 0.3) for move in cut.moves
    ))


OF_SIZE: tuple[Fault, ...] = (
    profiles_a_radius_too_large, profiles_on_the_wrong_side, missing_hole, extra_hole, another_part, too_shallow,
)  # fmt: skip
