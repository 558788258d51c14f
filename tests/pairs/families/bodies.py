"""Bodies: cavities from one face and the outline from the other; pockets of one size on both; letters."""

from random import Random

from tests.pairs.operations import Contour, Hole, Operation, Pocket, Strokes
from tests.pairs.part import Part, corners_of, pick, scattered
from tests.pairs.rings import Circle, RoundedRectangle


def cavity_body(random: Random) -> Part:
    """A body: cavities from the front, the outline from the back; some have holes that go through from both."""
    width, height = pick(random, 150, 350), pick(random, 200, 450)
    thickness = pick(random, 30, 45)
    front: list[Operation] = []
    for x, y in scattered(random, random.randrange(1, 4), width - 120, height - 120, 90):
        size = pick(random, 20, 70, 1), pick(random, 20, 70, 1)
        front.append(Pocket(RoundedRectangle(x, y, *size, 6), pick(random, 10, 25), 6.0, "front: cavity"))
    back: list[Operation] = [
        Contour(RoundedRectangle(0, 0, width, height, pick(random, 10, 40)), 1, thickness + 0.3, 8.0, 10.0, "edge")
    ]
    if random.random() < 0.5:
        x, y = pick(random, -40, 40), pick(random, -80, 80)
        back.append(Pocket(RoundedRectangle(x, y, 60, 40, 6), 15.0, 6.0, "back: cavity"))
    count = random.choice((0, 0, 2, 3, 4, 6))
    for x, y in scattered(random, count, width - 20, height - 20, 15):
        front.append(Hole(x, y, thickness / 2 + 1, 6.0))
        back.append(Hole(x, y, thickness / 2 + 1, 6.0))
    return Part(tuple(front), tuple(back), corners_of(width, height), thickness)


def twin_pockets(random: Random) -> Part:
    """A part profiled from both faces, with a pocket of one size in each face that don't lie over one another."""
    width, height = pick(random, 120, 260, 1), pick(random, 120, 260, 1)
    thickness = pick(random, 20, 40)
    size = pick(random, 30, 60, 1), pick(random, 30, 60, 1)
    off = pick(random, -20, 20), pick(random, 3, 20)
    tools = (6.0, random.choice((6.0, 8.0)))
    edge = RoundedRectangle(0, 0, width, height, pick(random, 5, 20))
    depth = round(thickness / 2 + 0.5, 2)
    front: list[Operation] = [
        Contour(edge, 1, depth, 6.0, tools[0], "edge"),
        Pocket(RoundedRectangle(0, 0, *size, 6), thickness / 4, 6.0, "front: pocket"),
    ]
    back: list[Operation] = [
        Contour(edge, 1, depth, 6.0, tools[1], "edge"),
        Pocket(RoundedRectangle(*off, *size, 6), thickness / 4, 6.0, "back: pocket"),
    ]
    return Part(tuple(front), tuple(back), corners_of(width, height), thickness, lure=(-off[0], -off[1]), has_rim=True)


def like_recesses(random: Random) -> Part:
    """A part with the same recesses in the same order in both faces, elsewhere in each: magnets, for example.

    What goes through, the edge or registration holes, says how the faces lie, and the recesses say otherwise.
    """
    width, height = pick(random, 160, 300, 1), pick(random, 160, 300, 1)
    thickness = pick(random, 20, 40)
    half = round(thickness / 2 + 0.5, 2)
    count, radius = random.randrange(2, 6), pick(random, 4, 9)
    off = pick(random, 3, 12), pick(random, -12, 12)
    places = scattered(random, count, width - 80, height - 80, 2 * radius + 4)
    front: list[Operation] = [Pocket(Circle(x, y, radius), 5.0, 4.0, "front: recess", "recesses") for x, y in places]
    back: list[Operation] = [
        Pocket(Circle(round(x + off[0], 3), round(y + off[1], 3), radius), 5.0, 4.0, "back: recess", "recesses")
        for x, y in places
    ]
    rim = random.random() < 0.6
    edge = Contour(RoundedRectangle(0, 0, width, height, 8), 1, half if rim else thickness + 0.3, 6.0, 6.0, "edge")
    front.append(edge)
    if rim:
        back.append(edge)
    for x, y in scattered(random, 0 if rim else 3, width - 16, height - 16, 60):
        front.append(Hole(x, y, thickness + 0.5, 6.0))
        back.append(Hole(x, y, thickness - 1.0, 6.0))
    return Part(
        tuple(front), tuple(back), corners_of(width, height), thickness, lure=(-off[0], -off[1]), has_rim=rim
    )  # fmt: skip


# Strokes on a square of 1, our own hand: one-line capitals, and two letters with dots.
LETTERS = {
    "L": (((0.0, 1.0), (0.0, 0.0), (0.6, 0.0)),),
    "T": (((0.0, 1.0), (0.7, 1.0)), ((0.35, 1.0), (0.35, 0.0))),
    "V": (((0.0, 1.0), (0.35, 0.0), (0.7, 1.0)),),
    "N": (((0.0, 0.0), (0.0, 1.0), (0.6, 0.0), (0.6, 1.0)),),
    "E": (((0.6, 1.0), (0.0, 1.0), (0.0, 0.0), (0.6, 0.0)), ((0.0, 0.5), (0.5, 0.5))),
    "I": (((0.3, 0.7), (0.3, 0.0)), ((0.3, 1.0),)),
    "O": (((0.6, 0.5), (0.3, 1.0), (0.0, 0.5), (0.3, 0.0), (0.6, 0.5)),),
    "U:": (((0.0, 0.7), (0.0, 0.0), (0.6, 0.0), (0.6, 0.7)), ((0.15, 1.0),), ((0.45, 1.0),)),
}


def lettered_sign(random: Random) -> Part:
    """A sign: letters engraved in the front, other ones in the back, registration holes through both."""
    width, height = pick(random, 150, 400), pick(random, 60, 150)
    thickness = pick(random, 10, 20)
    front: list[Operation] = _line(random, "front: letters", width - 40, random.randrange(4, 10))
    back: list[Operation] = []
    if random.random() < 0.6:
        back += _line(random, "back: letters", width - 60, random.randrange(3, 8))
    for x, y in scattered(random, random.randrange(3, 5), width - 16, height - 16, 35):
        front.append(Hole(x, y, thickness / 2 + 1, 6.0))
        back.append(Hole(x, y, thickness / 2 + 1, 6.0))
    front.append(Contour(RoundedRectangle(0, 0, width, height, 8), 1, thickness + 0.2, 4.0, 6.0, "edge"))
    return Part(tuple(front), tuple(back), corners_of(width, height), thickness)


def _line(random: Random, name: str, width: float, count: int) -> list[Operation]:
    step = width / count
    high = round(step * 0.8, 2)
    low = pick(random, -10, 10)
    found: list[Operation] = []
    for k in range(count):
        strokes = LETTERS[random.choice(sorted(LETTERS))]
        left = -width / 2 + k * step
        found.append(Strokes(
            tuple(tuple((round(left + high * x, 3), round(low + high * (y - 0.5), 3)) for x, y in stroke)
                  for stroke in strokes),
            1.0, 3.0, name,
        ))  # fmt: skip
    return found
