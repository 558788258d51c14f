"""Carved things: rasters of a ball nose from either face, with unequal stepovers."""

import numpy as np
from shapely import Point as Disc

from tests.workshop.bench import Bench
from tests.workshop.cuts import FACES, Cutter
from tests.workshop.layout import corners
from tests.workshop.lines import Surface, carving
from tests.workshop.placement import Point, Points
from tests.workshop.shapes import Circle, Rectangle, Shape, blob, spline


def paddle(bench: Bench) -> None:
    """An oval carved from both faces alike, beyond its edge; the profile too, or the carving alone."""
    rng = bench.rng
    long, w, crooked = rng.uniform(150, 320), rng.uniform(60, 140), bench.perhaps(0.3)
    t = bench.thickness

    def surface(x: Points, y: Points) -> Points:
        share = (2 * x / w) ** 2 + (2 * y / long) ** 2 + (0.2 * x / w * y / long if crooked else 0)
        return -np.clip(1 + (t * 0.5 - 0.5) * share, 0.3, t * 0.56)

    beyond = rng.choice([3, 6])
    field = Rectangle((0, 0), w + 2 * beyond, long + 2 * beyond, min(w, long) * 0.45).polygon
    for face in FACES:
        bench.add(face, carving(
            surface, field, Cutter(rng.choice([6, 12.7, 19.05]), "ball"), along=rng.choice(["x", "y"]),
            stepover=rng.choice([0.8, 1.3, 2, 4, 7]), first=rng.uniform(0, 2)))
    if bench.perhaps(0.5):
        bench.profile(Rectangle((0, 0), w, long, min(w, long) * 0.45))
    if bench.perhaps(0.3):
        bench.pins(w / 2 + 20, long / 2 + 20, 2)


def spoon(bench: Bench) -> None:
    """A spoon: its edge, the bowl carved in the front, the belly in the back."""
    rng = bench.rng
    long, w = rng.uniform(180, 300), rng.uniform(45, 70)
    right: list[Point] = [(w * 0.35, 8), (w * 0.5, 35), (w * 0.3, 70), (9, 95), (8, long - 30), (10, long - 8)]
    left = [(-x, y) for x, y in right[::-1]]
    if bench.perhaps(0.4):
        right = [(x + 6 if 30 < y < 80 else x, y) for x, y in right]
    shape = spline([(0, 0), *right, (0, long), *left], 10)
    bench.profile(shape)
    reach = w * 0.33
    bench.add("front", carving(_dish(8, reach, 36), Disc(0, 36).buffer(reach), Cutter(6, "ball"), along="x",
                               stepover=rng.choice([0.8, 1.5, 3]), sample=2, program="bowl"))
    belly: Surface = lambda x, _: -np.clip(0.3 + (x / 12) ** 2, 0, bench.thickness * 0.5)  # noqa: E731
    bench.add("back", carving(belly, shape.polygon.buffer(-1), Cutter(8, "ball"), along=rng.choice(["x", "y"]),
                              stepover=rng.choice([1, 2, 4]), program="belly"))


def stool_seat(bench: Bench) -> None:
    """A seat with a hollow for the sitter, and holes for four legs, through or blind."""
    rng = bench.rng
    w = rng.uniform(280, 400)
    shapes: list[Shape] = [Circle((0, 0), w / 2), Rectangle((0, 0), w, w * rng.uniform(0.7, 1), w * 0.25),
                           blob(rng, w, w * 0.9)]
    bench.profile(rng.choice(shapes))
    a = rng.uniform(0.25, 0.33) * w
    legs = [(-a, -a * 0.9), (a, -a * 0.9), (-a * 0.9, a), (a * 0.9, a)]
    if bench.perhaps(0.6):
        bench.through_holes(legs, rng.choice([16, 22, 25]))
    else:
        bench.recesses("back", legs, 22, bench.thickness * 0.7, "sockets")
    if bench.perhaps(0.6):
        reach = w * 0.33
        bench.add("front", carving(_dish(6, reach, 0), Disc(0, 0).buffer(reach), Cutter(12.7, "ball"),
                                   along=rng.choice(["x", "y"]), stepover=rng.choice([2, 4, 6]), sample=4,
                                   program="dish"))


def roughed_relief(bench: Bench) -> None:
    """A relief in the front roughed in wide steps with an allowance and finished by a ball; the back is hollowed."""
    rng = bench.rng
    w, h = rng.uniform(100, 200), rng.uniform(80, 150)
    field = Rectangle((0, 0), w, h).polygon
    t, phase = bench.thickness, rng.uniform(0, 6)

    def relief(x: Points, y: Points) -> Points:
        return -t * 0.25 * (1 + 0.5 * np.sin(x / 14 + phase) + 0.5 * np.cos(y / 11))

    bench.add("front", carving(lambda x, y: np.minimum(relief(x, y) + 1, -0.1), field, Cutter(8), along="x",
                               stepover=5, program="rough"))
    bench.add("front", carving(relief, field, Cutter(6, "ball"), along=rng.choice(["x", "y"]),
                               stepover=rng.choice([0.8, 1.5]), program="finish"))
    bench.pocket("back", Rectangle((0, 0), w * 0.7, h * 0.7, 6), depth=t * 0.2, way="rings")
    if bench.perhaps(0.7):
        bench.profile(Rectangle((0, 0), w + 24, h + 24, rng.choice([0, 8])))
    if bench.perhaps(0.4):
        bench.through_holes(corners(w / 2 + 20, h / 2 + 20)[: rng.choice([2, 3])], 6, program="pins")


def pillowed_block(bench: Bench) -> None:
    """A block rounded over on both faces, one along and one across."""
    rng = bench.rng
    w, h, t = rng.uniform(80, 160), rng.uniform(60, 120), bench.thickness
    fall = rng.choice([0.25, 0.35])

    def pillow(x: Points, y: Points) -> Points:
        return -np.clip(t * fall * ((2 * x / w) ** 4 + (2 * y / h) ** 4), 0.2, t * 0.5)

    for face in FACES:
        bench.add(face, carving(
            pillow, Rectangle((0, 0), w + 8, h + 8).polygon, Cutter(rng.choice([6, 10]), "ball"),
            along="x" if face == "front" else "y", stepover=rng.choice([1, 2.5, 5]), first=rng.uniform(0, 1)))
    if bench.perhaps(0.4):
        bench.profile(Rectangle((0, 0), w, h, rng.choice([2, 10])))
    if bench.perhaps(0.4):
        bench.through_holes([(0, 0)] if bench.perhaps(0.5) else [(-w * 0.2, 0), (w * 0.3, 0)], 8)


def dished_handle(bench: Bench) -> None:
    """A grip with a thumb's hollow in the front, rounded in the back, two rivets."""
    rng = bench.rng
    long, w = rng.uniform(100, 150), rng.uniform(26, 38)
    bench.profile(spline([(-long / 2, -w * 0.4), (-long / 5, -w * 0.5), (long / 2, -w * 0.45), (long / 2, w * 0.42),
                          (long / 8, w * 0.3), (-long / 2, w * 0.45)]))
    bench.through_holes([(-long * 0.33, 0), (long * 0.3, rng.choice([0, 2]))], rng.choice([4, 6]), program="rivets")
    bench.add("front", carving(_dish(3, w * 0.3, 0), Disc(0, 0).buffer(w * 0.3), Cutter(6, "ball"), along="x",
                               stepover=rng.choice([0.7, 1.5]), sample=1.5, program="thumb"))


def _dish(depth: float, radius: float, y0: float) -> Surface:
    """Return a hollow about a place on the Y axis."""
    return lambda x, y: -np.clip(depth * (1 - (x**2 + (y - y0) ** 2) / radius**2), 0.01, None)
