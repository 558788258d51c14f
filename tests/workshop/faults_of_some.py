"""Faults of one feature, of some, of one program, one tool or one part of several."""

import math
from collections.abc import Callable, Sequence

import numpy as np

from tests.workshop.cuts import Cut
from tests.workshop.faults import Fault, Right, Spoilt
from tests.workshop.placement import Placement, Point, shift, stretch, turn


def _moved(right: Right, numbers: Sequence[int], placement: Placement) -> Spoilt:
    back = [cut.moved(placement) if i in numbers else cut for i, cut in enumerate(right.back)]
    which = [f"{right.back[i].name} at {_middle(right.back[i])}" for i in numbers[:3]]
    return Spoilt(tuple(back), None, f"{len(numbers)} moved by {placement}: {', '.join(which)}")


def _middle(cut: Cut) -> Point:
    points = np.vstack([one.points for one in cut.shared]) if cut.shared else cut.places()
    low, high = points.min(axis=0), points.max(axis=0)
    return round(float(low[0] + high[0]) / 2, 3), round(float(low[1] + high[1]) / 2, 3)


def _shared(right: Right, wanted: Callable[[Cut], bool] = lambda _: True) -> list[int]:
    return [i for i, cut in enumerate(right.back) if cut.shared and wanted(cut)]


def _holes(right: Right) -> list[int]:
    return _shared(right, lambda cut: cut.is_hole)


def _openings(right: Right) -> list[int]:
    return _shared(right, lambda cut: cut.name == "opening")


def one_feature(right: Right) -> Spoilt | None:
    far = right.clearly() if right.rng.random() < 0.4 else right.far()
    return _some(right, _shared(right), 1, far)


def two_features(right: Right) -> Spoilt | None:
    return _some(right, _shared(right), 2, right.far())


def one_hole(right: Right) -> Spoilt | None:
    return _some(right, _holes(right), 1, right.clearly())


def slightly_one_hole(right: Right) -> Spoilt | None:
    return _some(right, _holes(right), 1, right.slightly())


def slightly_one_feature(right: Right) -> Spoilt | None:
    return _some(right, _shared(right), 1, right.slightly())


def a_third_of_the_holes(right: Right) -> Spoilt | None:
    numbers = _holes(right)
    return _some(right, numbers, max(1, len(numbers) // 3), right.slightly())


def _some(right: Right, numbers: list[int], count: int, far: float) -> Spoilt | None:
    if not numbers:
        return None
    return _moved(right, sorted(right.rng.sample(numbers, min(count, len(numbers)))), shift(*right.any_way(far)))


def one_hole_and_all(right: Right) -> Spoilt | None:
    """One hole is off by a little, and everything by a lot."""
    one = slightly_one_hole(right)
    if one is None:
        return None
    whole = shift(*right.any_way(right.rng.choice([2, 5, 10])))
    return Spoilt(tuple(cut.moved(whole) for cut in one.back), whole, f"{one.detail}; all by {whole}")


def one_hole_a_pitch_on(right: Right) -> Spoilt | None:
    """One hole lies a pitch or half a pitch on, where there is no other: on another it would only be missing."""
    numbers = _holes(right)
    if len(numbers) < 3 or not right.pitch:
        return None
    number = right.rng.choice(numbers)
    places = [_middle(right.back[i]) for i in numbers]
    for _ in range(8):
        step = shift(*right.any_way(right.pitch * right.rng.choice([0.5, 1])))
        if min(math.dist(step(_middle(right.back[number])), place) for place in places) > right.pitch / 4:
            return _moved(right, [number], step)
    return None


def one_opening_turned(right: Right) -> Spoilt | None:
    numbers = _openings(right)
    if not numbers:
        return None
    number = right.rng.choice(numbers)
    angle = right.rng.choice([-1, 1]) * right.rng.uniform(1, 6)
    return _moved(right, [number], turn(angle, _middle(right.back[number])))


def one_opening_mirrored(right: Right) -> Spoilt | None:
    """One opening was left as it is for the front, in its right place."""
    numbers = _openings(right)
    if not numbers:
        return None
    number = right.rng.choice(numbers)
    hand = stretch(-1, 1, _middle(right.back[number]))
    return _moved(right, [number], hand)


def one_program(right: Right) -> Spoilt | None:
    return _program(right, shift(*right.any_way(right.rng.choice([right.clearly(), right.far()]))))


def slightly_one_program(right: Right) -> Spoilt | None:
    return _program(right, shift(*right.any_way(right.slightly())))


def one_program_turned(right: Right) -> Spoilt | None:
    return _program(right, turn(right.rng.uniform(0.2, 2), right.low))


def one_program_not_mirrored(right: Right) -> Spoilt | None:
    (x, y), (ax, ay) = right.flip(right.middle), right.middle
    return _program(right, right.flip.inverse() @ shift(x - ax, y - ay))


def _program(right: Right, placement: Placement) -> Spoilt | None:
    return _group(right, [cut.program for cut in right.back], placement)


def one_tool(right: Right) -> Spoilt | None:
    """The zero was lost when a tool was changed."""
    tools = [f"{cut.cutter.diameter:g} {cut.cutter.shape}" for cut in right.back]
    return _group(right, tools, shift(*right.any_way(right.rng.choice([right.clearly(), right.far()]))))


def one_part_of_several(right: Right) -> Spoilt | None:
    parts = [str(cut.part) for cut in right.back]
    return _group(right, parts, shift(*right.any_way(right.rng.choice([right.clearly(), right.far()]))))


def _group(right: Right, names: list[str], placement: Placement) -> Spoilt | None:
    """Move one group of several that has something to share."""
    able = sorted({name for name, cut in zip(names, right.back, strict=True) if cut.shared})
    if not able or len(set(names)) < 2:
        return None
    chosen = right.rng.choice(able)
    spoilt = _moved(right, [i for i, name in enumerate(names) if name == chosen], placement)
    return Spoilt(spoilt.back, None, f"of {chosen}: {spoilt.detail}")


OF_SOME: tuple[Fault, ...] = (
    one_feature, two_features, one_hole, slightly_one_hole, slightly_one_feature, a_third_of_the_holes,
    one_hole_and_all, one_hole_a_pitch_on, one_opening_turned, one_opening_mirrored, one_program,
    slightly_one_program, one_program_turned, one_program_not_mirrored, one_tool, one_part_of_several,
)  # fmt: skip
