"""Boxes, jigs, moulds, brackets, beams: parts that are screwed, glued or used in the shop."""

from tests.workshop.bench import Bench
from tests.workshop.layout import grid, row
from tests.workshop.placement import Point
from tests.workshop.shapes import Outline, Rectangle, Shape, blob, spline


def box_lid(bench: Bench) -> None:
    """Recesses in the front, a hollow in the back that leaves a rim."""
    rng = bench.rng
    w, h = rng.uniform(120, 300), rng.uniform(100, 220)
    bench.profile(Rectangle((0, 0), w, h, rng.choice([3, 8, 15])))
    count = rng.randrange(2, 5)
    for place in grid(count, 2, w * 0.85 / count, h * 0.4):
        bench.pocket("front", Rectangle(place, w * 0.6 / count, h * 0.3, 4))
    if bench.perhaps(0.7):
        bench.pocket("back", Rectangle((0, 0), w - 24, h - 24, 6), way="rings")
    if bench.perhaps(0.5):
        bench.letters("back", (20, -10), 20)


def jig(bench: Bench) -> None:
    """Slots at any angle, a few holes, letters."""
    rng = bench.rng
    w, h = rng.uniform(120, 260), rng.uniform(80, 180)
    for i in range(rng.randrange(1, 5)):
        place = (rng.uniform(-w * 0.3, w * 0.3), -h * 0.35 + i * h * 0.2)
        bench.opening(Rectangle(place, rng.uniform(30, w * 0.4), 9, 4.5, rng.choice([0, 0, 90, 30])), 6)
    places = [(rng.uniform(-w * 0.4, w * 0.4), rng.uniform(h * 0.3, h * 0.45)) for _ in range(rng.randrange(0, 4))]
    bench.through_holes(places, 6)
    if bench.perhaps(0.5):
        bench.profile(Rectangle((0, 0), w, h, 5))
    bench.letters("front", (-w * 0.4, -h * 0.45), 10)
    if bench.perhaps(0.5):
        bench.pocket("back", Rectangle((0, 0), w * 0.5, 14), way="raster")


def puzzle(bench: Bench) -> None:
    """Knobbed cuts from edge to edge, through from both faces."""
    rng = bench.rng
    columns, rows, size = rng.randrange(2, 5), rng.randrange(2, 4), rng.uniform(30, 50)
    for across, cuts, pieces in ((False, columns, rows), (True, rows, columns)):
        for i in range(1, cuts):
            way: list[Point] = []
            for j in range(pieces):
                knob = rng.choice([-1, 1]) * rng.uniform(0.12, 0.2) * size
                for share, out in ((0, 0), (0.35, 0), (0.3, 1), (0.5, 1.35), (0.7, 1), (0.65, 0)):
                    way.append((i * size + knob * out, (j + share) * size))
            way.append((i * size, pieces * size))
            bench.open_through([(y, x) for x, y in way] if across else way, 2, "cuts")
    w, h = columns * size, rows * size
    if bench.perhaps(0.6):
        bench.profile(Rectangle((w / 2, h / 2), w, h, rng.choice([0, 5])))
    if bench.perhaps(0.4):
        bench.letters("front", (5, 5), size * 0.5)


def inlay(bench: Bench) -> None:
    """A recess of any shape in the front, another in the back or none."""
    rng = bench.rng
    w, h = rng.uniform(100, 250), rng.uniform(80, 160)
    bench.pocket("front", blob(rng, w * 0.6, h * 0.6, 0.5), way="rings", diameter=3)
    if bench.perhaps(0.5):
        bench.pocket("back", blob(rng, w * 0.5, h * 0.5, 0.5), way="rings", diameter=3)
    if bench.perhaps(0.7):
        bench.pins(w / 2, h / 2, rng.choice([2, 3, 4]))
    if bench.perhaps(0.4):
        bench.profile(Rectangle((0, 0), w + 30, h + 30, 10))


def bracket(bench: Bench) -> None:
    """The shape of an L, with one to three holes."""
    rng = bench.rng
    a, b, k = rng.uniform(100, 200), rng.uniform(80, 180), rng.uniform(25, 50)
    bench.profile(Outline(((0, 0), (a, 0), (a, k), (k, k), (k, b), (0, b))))
    places = [(k / 2, k / 2), (a - k / 2, k / 2), (k / 2, b - k / 2)]
    bench.through_holes(places[: rng.randrange(1, 4)], rng.choice([5, 6, 8]))
    if bench.perhaps(0.5):
        bench.pocket("front", Rectangle((a * 0.5, k / 2), a * 0.3, k * 0.4, 3))
    if bench.perhaps(0.5):
        bench.pocket("back", Rectangle((k / 2, b * 0.55), k * 0.4, b * 0.3, 3))


def beam(bench: Bench) -> None:
    """Mortises along a beam, evenly or nearly, holes between them."""
    rng = bench.rng
    long, w, count = rng.uniform(600, 1800), rng.uniform(40, 90), rng.randrange(2, 7)
    for i in range(count):
        x = long * (i + 0.5) / count + rng.choice([0, rng.uniform(-10, 10)])
        bench.opening(Rectangle((x, 0), rng.choice([40, 50]), w * 0.4, rng.choice([3, 4])), 6)
    if bench.perhaps(0.5):
        bench.through_holes([(long * (i + 1) / count, rng.choice([0, 8])) for i in range(count - 1)], 8)
    if bench.perhaps(0.4):
        bench.profile(Rectangle((long / 2, 0), long, w))
    if bench.perhaps(0.4):
        bench.slot("front", (-8, w * 0.35), (long + 8, w * 0.35), 3, 4, "bead")


def handle(bench: Bench) -> None:
    """A long grip with two or three holes."""
    rng = bench.rng
    long, w = rng.uniform(120, 260), rng.uniform(25, 40)
    curved = spline([(-long / 2, -w * 0.4), (0, -w * 0.5), (long / 2, -w * 0.45), (long / 2, w * 0.45), (0, w * 0.3),
                     (-long / 2, w * 0.4)], 14)
    shape: Shape = Rectangle((0, 0), long, w, w / 2) if bench.perhaps(0.5) else curved
    bench.profile(shape)
    even: list[Point] = [(-long * 0.38, 0), (long * 0.38, 0)]
    bench.through_holes(even if bench.perhaps(0.6) else [(-long * 0.38, 0), (0, 0), (long * 0.3, 0)],
                        rng.choice([4, 5, 6]))
    if bench.perhaps(0.5):
        bench.letters("front", (-20, -6), 12)


def pegboard(bench: Bench) -> None:
    """Holes at random places, an unlike pocket beside them in each face."""
    rng = bench.rng
    count, w, h = rng.randrange(4, 20), rng.uniform(100, 300), rng.uniform(80, 200)
    places: list[Point] = []
    for _ in range(2000):
        x, y = round(rng.uniform(-w / 2, w / 2), 2), round(rng.uniform(-h / 2, h / 2), 2)
        if len(places) < count and all((x - a) ** 2 + (y - b) ** 2 > 14**2 for a, b in places):
            places.append((x, y))
    bench.through_holes(places, rng.choice([4, 6, 8]))
    if bench.perhaps(0.5):
        bench.pocket("front", Rectangle((w, 0), 40, 30, 5))
    if bench.perhaps(0.5):
        bench.pocket("back", Rectangle((-w, 10), 60, 30, 5))


def row_beside_pockets(bench: Bench) -> None:
    """A row of holes, and pockets that have nothing in common."""
    rng = bench.rng
    count, pitch = rng.randrange(3, 9), rng.choice([25, 32, 40])
    bench.pitch = pitch
    bench.through_holes(row(count, pitch), rng.choice([5, 6, 8]))
    for i in range(rng.randrange(1, 4)):
        bench.pocket("front", Rectangle((rng.uniform(-60, 60), 30 + 30 * i), rng.uniform(20, 60), 18, 4))
    for i in range(rng.randrange(1, 4)):
        bench.pocket("back", Rectangle((rng.uniform(-60, 60), -30 - 30 * i), rng.uniform(20, 60), 18, 4))


def knob_plate(bench: Bench) -> None:
    """A few holes, counterbored from one face."""
    rng = bench.rng
    count = rng.randrange(2, 6)
    places = [(rng.uniform(-100, 100), i * 35 + rng.uniform(-8, 8)) for i in range(count)]
    bench.through_holes(places, 6)
    bench.recesses("front" if bench.perhaps(0.5) else "back", places, 14, bench.thickness * 0.3, "counterbores")
    if bench.perhaps(0.5):
        bench.profile(blob(rng, 280, count * 35 + 120))


def mould(bench: Bench) -> None:
    """Cavities of their own in both faces, and two or three locating bores."""
    rng = bench.rng
    w, h = rng.uniform(120, 200), rng.uniform(100, 160)
    bench.pocket("front", blob(rng, w * 0.6, h * 0.6), way="rings", diameter=4)
    bench.pocket("back", blob(rng, w * 0.6, h * 0.6), way="rings", diameter=4)
    bores: list[Point] = [(-w / 2, -h / 2), (w / 2, -h / 2), (w / 2, h / 2)]
    bench.through_holes(bores[: rng.choice([2, 3])], rng.choice([6, 8, 10]))
    bench.recesses("front", [(0, 0)], 10, bench.thickness * 0.7, "sprue")
    bench.recesses("back", [(w * 0.1, 0)], 10, bench.thickness * 0.2, "vent")
