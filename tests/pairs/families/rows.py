"""Parts with drilled rows: side panels at 32 mm, and boards with a few holes and nothing else in common."""

from random import Random

from tests.pairs.operations import Contour, Hole, Operation, Pocket
from tests.pairs.part import Part, corners_of, pick, scattered
from tests.pairs.rings import Circle, RoundedRectangle

ROW_MM = 32.0  # pitch of rows of shelf holes: common practice, no source


def shelf_side(random: Random) -> Part:
    """A side panel between two compartments: rows of shelf holes through it, at 32 mm."""
    count = random.randrange(5, 16)
    rows = random.choice((1, 2, 2, 3))
    width, height = pick(random, 200, 400), ROW_MM * (count + 2)
    thickness = random.choice((16.0, 18.0, 19.0))
    columns = [-width / 2 + 37, width / 2 - 37, -width / 2 + 37 + ROW_MM][:rows]
    first = pick(random, 0, 2) if random.random() < 0.5 else 0.0
    places = [(round(x, 3), round(ROW_MM * (k - (count - 1) / 2) + first, 3)) for x in columns for k in range(count)]
    if random.random() < 0.3:
        places = [place for place in places if random.random() < 0.8]
    half = thickness / 2 + 1
    front: list[Operation] = [Hole(x, y, half, 5.0) for x, y in places]
    back: list[Operation] = [Hole(x, y, half, 5.0) for x, y in places]
    for x, y in scattered(random, random.randrange(0, 3), width - 120, height - 60, 50):
        back.append(Pocket(Circle(x, y, 17.5), 13.0, 6.0, "back: hinge", "hinges"))
    for x, y in scattered(random, random.randrange(0, 4), width - 60, height - 20, 10):
        front.append(Hole(x, y, round(thickness / 3, 2), 5.0, "front: dowel", "dowels"))
    front.append(Contour(RoundedRectangle(0, 0, width, height, 0), 1, thickness + 0.3, 5.0, 8.0, "edge"))
    return Part(tuple(front), tuple(back), corners_of(width, height), thickness, ROW_MM)


def drilled_board(random: Random) -> Part:
    """A board with holes in no order, drilled from both faces; each face has others of its own."""
    width, height = pick(random, 80, 400), pick(random, 80, 400)
    thickness = pick(random, 10, 30)
    places = scattered(random, random.randrange(3, 25), width - 20, height - 20, 8)
    shared = max(3, round(len(places) * random.uniform(0.5, 1)))
    half = round(thickness / 2 + 1, 2)
    front: list[Operation] = [Hole(x, y, half, 4.0) for x, y in places[:shared]]
    back: list[Operation] = [Hole(x, y, half, 4.0) for x, y in places[:shared]]
    for x, y in places[shared:]:
        face, name = random.choice(((front, "front"), (back, "back")))
        face.append(Hole(x, y, round(thickness / 3, 2), 4.0, f"{name}: blind"))
    random.shuffle(back)
    front.append(Contour(RoundedRectangle(0, 0, width, height, 4), 1, thickness + 0.2, 5.0, 6.0, "edge"))
    return Part(tuple(front), tuple(back), corners_of(width, height), thickness)
