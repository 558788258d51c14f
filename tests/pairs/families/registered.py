"""Jobs as they come from shops: much on each face, and only registration holes on the centre line in common."""

from collections.abc import Callable
from random import Random

import numpy as np

from tests.pairs.operations import Contour, Hole, Operation, Passes, Pocket, Slot
from tests.pairs.part import Part, corners_of, pick, scattered
from tests.pairs.rings import Circle, RoundedRectangle


def registered_job(random: Random) -> Part:
    """A job of one of the kinds below, with two or three registration holes through the blank."""
    thickness = pick(random, 18, 40)
    kinds: tuple[Kind, ...] = (_cribbage_board, _neck, _lid, _cutting_board)
    make = random.choice(kinds)
    front, back, (width, height) = make(random, thickness)
    # In the waste beyond both ends, on the centre line; a third one beside it makes the way round plain.
    ends = [(0.0, -height / 2 - 15), (0.0, height / 2 + 15)]
    if random.random() < 0.5:
        ends.append((round(width / 2 + 15, 3), pick(random, -height / 4, height / 4)))
    for x, y in ends:
        front.append(Hole(x, y, thickness + 0.5, 6.0, group="registration"))
        back.append(Hole(x, y, thickness - 2.0, 6.0, group="registration"))
    random.shuffle(front)
    random.shuffle(back)
    return Part(tuple(front), tuple(back), corners_of(width, height), thickness)


Made = tuple[list[Operation], list[Operation], tuple[float, float]]
Kind = Callable[[Random, float], Made]


def _cribbage_board(random: Random, thickness: float) -> Made:
    """A board of peg holes in fives; magnets and the outline from the back."""
    pitch, groups = 7.0, random.randrange(4, 8)
    front: list[Operation] = []
    for row in range(random.choice((2, 3, 4))):
        for group in range(groups):
            for k in range(5):
                x = round(pitch * row - 10.5, 3)
                y = round((group - groups / 2) * 40 + 6 + pitch * k, 3)
                front.append(Hole(x, y, 9.0, 3.0, "front: peg", "pegs"))
    width, height = 70.0, groups * 40.0 + 30
    back: list[Operation] = [
        Pocket(Circle(sx * 25, sy * (height / 2 - 12), 5.1), 4.0, 6.0, "back: magnet", "magnets")
        for sx in (-1, 1)
        for sy in (-1, 1)
    ]
    back.append(Contour(RoundedRectangle(0, 0, width, height, 6), 1, thickness + 0.3, 5.0, 6.0, "edge"))
    return front, back, (width, height)


def _neck(random: Random, thickness: float) -> Made:
    """A neck: slots and a rod channel from the front, the rounded back in long passes of a ball nose."""
    length, wide = pick(random, 300, 450), pick(random, 40, 60)
    front: list[Operation] = [Slot(((0.0, -length / 2 + 20), (0.0, length / 2 - 60)), 9.0, 6.0, "front: rod", "rod")]
    y, step = length / 2 - 50, 22.0
    for _ in range(10):
        ends = (-wide / 2 - 2, round(y, 3)), (wide / 2 + 2, round(y, 3))
        front.append(Slot(ends, 2.5, 0.6, "front: fret", "frets"))
        y -= step
        step *= 0.9439
    for k in range(3):
        for side in (-1, 1):
            place = side * (wide / 2 - 8), length / 2 - 8 - 14 * k
            front.append(Hole(*place, thickness + 0.5, 10.0, "front: tuner", "tuners"))
    ball, stepover = 19.05, random.choice((3.0, 15.0))
    runs = []
    for k, y in enumerate(np.arange(-length / 2 + random.uniform(0, 5), length / 2, stepover)):
        x = np.linspace(-wide / 2 - 12, wide / 2 + 12, 41)
        z = -(thickness - 6) * np.clip(np.abs(x) / (wide / 2 + 6), 0, 1) ** 2.5
        row = np.column_stack([x, np.full_like(x, y), z]).round(3).tolist()
        runs.append(tuple((p, q, r) for p, q, r in (row if k % 2 else row[::-1])))
    back: list[Operation] = [Passes(tuple(runs), ball, (), "carving")]
    return front, back, (wide + 20, length)


def _lid(random: Random, thickness: float) -> Made:
    """A lid: an inlay's recess and letters' holes from the front, a rebate and the outline from the back."""
    width, height = pick(random, 100, 220), pick(random, 100, 220)
    front: list[Operation] = [
        Pocket(Circle(pick(random, -15, 15), pick(random, -15, 15), pick(random, 15, 30)), 3.0, 4.0, "front: inlay")
    ]
    for x, y in scattered(random, random.randrange(2, 8), width - 30, height - 30, 12):
        front.append(Hole(x, y, 5.0, 4.0, "front: plug", "plugs"))
    edge = RoundedRectangle(0, 0, width, height, 10)
    back: list[Operation] = [
        Contour(RoundedRectangle(0, 0, width - 16, height - 16, 4), 1, 6.0, 3.0, 6.0, "back: rebate", "rebate"),
        Contour(edge, 1, thickness + 0.3, 6.0, 6.0, "edge"),
    ]
    for x, y in scattered(random, random.randrange(2, 6), width - 40, height - 40, 15):
        back.append(Hole(x, y, 8.0, 4.0, "back: screw", "screws"))
    return front, back, (width, height)


def _cutting_board(random: Random, thickness: float) -> Made:
    """A cutting board: a groove round the front, the outline from there too; feet and grips from the back."""
    width, height = pick(random, 200, 300), pick(random, 280, 400)
    front: list[Operation] = [
        Contour(RoundedRectangle(0, 0, width - 40, height - 40, 12), 0, 5.0, 5.0, 8.0, "front: groove", "groove"),
        Contour(RoundedRectangle(0, 0, width, height, 20), 1, thickness + 0.3, 6.0, 8.0, "edge"),
    ]
    back: list[Operation] = [
        Hole(sx * (width / 2 - 25), sy * (height / 2 - 25), 10.0, 8.0, "back: foot", "feet")
        for sx in (-1, 1)
        for sy in (-1, 1)
    ]
    for sy in (-1, 1):
        grip = RoundedRectangle(0, sy * (height / 2 - 12), 100, 20, 9)
        back.append(Pocket(grip, 8.0, 8.0, "back: grip", "grips"))
    return front, back, (width, height)
