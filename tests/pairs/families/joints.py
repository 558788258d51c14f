"""Straight walls at known places: frames with repeated slots, boards with comb joints."""

from random import Random

from tests.pairs.motions import Motion, along
from tests.pairs.operations import Contour, Operation, Pocket, Shown, Slot
from tests.pairs.part import Part, corners_of, pick
from tests.pairs.rings import RoundedRectangle


def slotted_frame(random: Random) -> Part:
    """A frame with slots that repeat, sawn from both faces: at one pitch, or each a little nearer to the next."""
    count = random.randrange(6, 25)
    ratio = random.choice((1.0, 1.0, 0.9439))  # the second as frets lie: 2 ** (-1 / 12)
    pitch = pick(random, 10, 30)
    length = pick(random, 30, 80, 1)
    thickness = pick(random, 8, 25)
    places, y = [0.0], 0.0
    for k in range(count - 1):
        y += pitch * ratio**k
        places.append(round(y, 3))
    middle = round(places[-1] / 2, 3)
    width, height = length + 40, round(places[-1] + 60, 2)
    half = round(thickness / 2 + 0.3, 2)
    ends = [((-length / 2, round(y - middle, 3)), (length / 2, round(y - middle, 3))) for y in places]
    front: list[Operation] = [Slot(pair, half, 2.0) for pair in ends]
    back: list[Operation] = [Slot(pair, half, 2.0) for pair in ends]
    edge = RoundedRectangle(0, 0, width, height, 5)
    rim = random.random() < 0.5
    front.append(Contour(edge, 1, half, 4.0, 6.0, "edge"))
    if rim:
        back.append(Contour(edge, 1, half, 4.0, 6.0, "edge"))
    if random.random() < 0.4:
        back.append(Pocket(RoundedRectangle(length / 2 + 8, middle / 2, 10, 14, 3), 4.0, 4.0, "back: hinge"))
    repeats = pitch if ratio == 1 else 0.0
    return Part(tuple(front), tuple(back), corners_of(width, height), thickness, repeats, has_rim=rim)


class _Notch(Slot):
    """An open notch at the board's end: a wall on either side and a bottom, cleared by strokes along it."""

    __slots__ = ("width",)

    def __init__(self, x: float, width: float, ends_y: tuple[float, float], depth: float, tool: float) -> None:
        super().__init__(((x, ends_y[0]), (x, ends_y[1])), depth, tool, f"notch {width}", "comb")
        object.__setattr__(self, "width", width)

    width: float

    def shown(self) -> list[Shown]:
        # The inner end; the outer one, on the board's edge, is no place that the tool marks: it shows where it opens.
        return [(self.name, *self.ends[1]), (f"edge at {self.name}", *self.ends[0])]

    def motions(self, random: Random) -> list[Motion]:
        (x, outer), (_, inner) = self.ends
        reach = self.width / 2 - self.tool_mm / 2
        sign = 1 if inner > outer else -1
        outer -= sign * random.choice((4.0, 6.0, 9.0))
        inner -= sign * self.tool_mm / 2
        found: list[Motion] = []
        for depth in (self.depth / 2, self.depth):
            points = [(x - reach, outer), (x - reach, inner), (x + reach, inner), (x + reach, outer)]
            if random.random() < 0.5:
                points.reverse()
            found += along([(a, b, -depth) for a, b in points])
        return found


def comb_board(random: Random) -> Part:
    """A board with a comb at one end or both, milled to half the thickness from each face."""
    fingers = random.randrange(3, 9)
    finger = pick(random, 8, 16)
    width, height = finger * (2 * fingers + 1), pick(random, 120, 300)
    thickness = pick(random, 12, 22)
    half = round(thickness / 2 + 0.3, 2)
    tools = (6.0, random.choice((6.0, 4.0, 5.0)))
    even = random.random() < 0.5
    notches: list[tuple[float, float, float, float]] = []
    for end in (-1, 1) if random.random() < 0.6 else (1,):
        x = -width / 2
        for _ in range(fingers):
            gap = finger if even else pick(random, 8, 14)
            notch = finger if even else pick(random, 8, 14)
            if x + gap + notch > width / 2 - 4:
                break
            outer, inner = end * height / 2, end * (height / 2 - thickness)
            notches.append((round(x + gap + notch / 2, 3), notch, outer, inner))
            x += gap + notch
    front: list[Operation] = [_Notch(x, w, (a, b), half, tools[0]) for x, w, a, b in notches]
    back: list[Operation] = [_Notch(x, w, (a, b), half, tools[1]) for x, w, a, b in notches]
    random.shuffle(back)
    return Part(tuple(front), tuple(back), corners_of(width, height), thickness, 2 * finger if even else 0.0)
