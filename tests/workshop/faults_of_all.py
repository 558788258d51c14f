"""Faults of the whole back: not mirrored, turned, or at another zero."""

from math import degrees, hypot

from tests.workshop.faults import Fault, Right, Spoilt
from tests.workshop.placement import Placement, flip, shift, stretch, swap, turn


def _all(right: Right, placement: Placement) -> Spoilt:
    detail = f"all moved by {placement}"
    return Spoilt(tuple(cut.moved(placement) for cut in right.back), placement, detail)


def not_mirrored(right: Right) -> Spoilt:
    """The program was made without the mirror, and its zero put where it roughly fits, or not."""
    (x, y), (ax, ay) = right.flip(right.middle), right.middle
    fitted = shift(x - ax, y - ay) if right.rng.random() < 0.6 else shift(0, 0)
    return _all(right, right.flip.inverse() @ fitted)


def other_axis(right: Right) -> Spoilt:
    other = flip("x" if right.axis == "y" else "y", (0, 0))
    (x, y), (ax, ay) = right.flip(right.middle), other(right.middle)
    return _all(right, right.flip.inverse() @ shift(x - ax, y - ay) @ other)


def half_turn(right: Right) -> Spoilt:
    x, y = right.middle
    return _all(right, turn(180, (x if right.rng.random() < 0.6 else x + right.rng.uniform(-5, 5), y)))


def small_turn(right: Right) -> Spoilt:
    angle = right.rng.choice([-1, 1]) * right.rng.uniform(0.1, 1.5)
    return _all(right, turn(angle, right.rng.choice([right.middle, right.low])))


def tiny_turn(right: Right) -> Spoilt:
    """Turned about its middle so that its corners are off by two to five times the tolerance."""
    reach = hypot(right.high[0] - right.low[0], right.high[1] - right.low[1]) / 2
    angle = right.rng.choice([-1, 1]) * degrees(right.tolerance * right.rng.uniform(2, 5) / reach)
    return _all(right, turn(angle, right.middle))


def large_turn(right: Right) -> Spoilt:
    return _all(right, turn(right.rng.choice([90, -90, 45, 5]), right.middle))


def x_for_y(right: Right) -> Spoilt:
    return _all(right, right.flip.inverse() @ swap() @ right.flip)


def off_by_a_radius(right: Right) -> Spoilt:
    return _all(right, shift(*right.any_way(right.rng.choice([cut.cutter.diameter for cut in right.back]) / 2)))


def off_by_a_diameter(right: Right) -> Spoilt:
    return _all(right, shift(*right.any_way(right.rng.choice([cut.cutter.diameter for cut in right.back]))))


def off_by_a_pitch(right: Right) -> Spoilt:
    pitch = right.pitch or 20
    return _all(right, shift(*right.rng.choice([(pitch, 0), (0, pitch), (-pitch, 0), (0, -pitch), (pitch / 2, 0)])))


def off_by_millimetres(right: Right) -> Spoilt:
    return _all(right, shift(right.rng.choice([1, 2, 5, 10, -1, -3]), right.rng.choice([0, 0, 1, -5])))


def slightly_off(right: Right) -> Spoilt:
    return _all(right, shift(*right.any_way(right.clearly())))


def off_by_an_inch(right: Right) -> Spoilt:
    return _all(right, shift(*right.any_way(right.rng.choice([25.4, 2.54, 12.7]))))


def from_another_edge(right: Right) -> Spoilt:
    """The zero was measured from an edge that isn't where the plan has it."""
    off = right.rng.uniform(3, 30)
    return _all(right, shift(off, 0) if right.axis == "y" else shift(0, off))


def turned_and_off(right: Right) -> Spoilt:
    """The blank lies askew and was touched off at one corner: two mistakes that come together."""
    angle = right.rng.choice([-1, 1]) * right.rng.uniform(0.15, 0.8)
    return _all(right, shift(*right.any_way(right.rng.choice([1, 2, 5]))) @ turn(angle, right.low))


def stretched(right: Right) -> Spoilt | None:
    """One axis of the machine goes too far, or not far enough, by some thousandths of its way."""
    reach = max(right.high[0] - right.low[0], right.high[1] - right.low[1])
    share = right.rng.choice([-1, 1]) * right.tolerance * right.rng.uniform(4, 8) / reach
    long = right.high[0] - right.low[0] >= right.high[1] - right.low[1]
    placement = stretch(1 + share if long else 1, 1 if long else 1 + share, right.middle)
    return Spoilt(tuple(cut.in_chords().moved(placement) for cut in right.back), None, f"stretched by {share:.5f}")


def wrong_unit(right: Right) -> Spoilt:
    """The program says that its numbers are of the other unit."""
    return Spoilt(right.back, None, "the back's unit word is wrong", wrong_unit=True)


OF_ALL: tuple[Fault, ...] = (
    not_mirrored, other_axis, half_turn, small_turn, tiny_turn, large_turn, x_for_y, off_by_a_radius,
    off_by_a_diameter, off_by_a_pitch, off_by_millimetres, slightly_off, off_by_an_inch, from_another_edge,
    turned_and_off, stretched, wrong_unit,
)  # fmt: skip
