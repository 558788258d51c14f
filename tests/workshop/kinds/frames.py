"""Frames and whatever has openings through it: windows, louvres, grilles, vents."""

import math

from tests.workshop.bench import Bench
from tests.workshop.clearing import Way
from tests.workshop.cuts import Cutter
from tests.workshop.layout import corners, grid, ring
from tests.workshop.profiling import Habit, profile
from tests.workshop.shapes import Circle, Outline, Rectangle, regular, spline


def shutter(bench: Bench) -> None:
    """A row of equal openings for louvres."""
    rng = bench.rng
    count, pitch, long = rng.randrange(4, 14), rng.choice([25, 30, 40]), rng.uniform(60, 200)
    bench.pitch = pitch
    for _, y in grid(1, count, 0, pitch):
        bench.opening(Rectangle((0, y), long, 8, 4), 6)
    if bench.perhaps(0.6):
        bench.profile(Rectangle((0, 0), long + 80, count * pitch + 60, rng.choice([0, 6])))
    if bench.perhaps(0.5):
        bench.pins(long / 2 + 25, count * pitch / 2 + 15, rng.choice([2, 4]))


def mirror_frame(bench: Bench) -> None:
    """A frame: its edge, the opening, and a rebate round that in the back."""
    rng = bench.rng
    w, h, wide = rng.uniform(180, 400), rng.uniform(150, 300), rng.uniform(30, 50)
    corner = rng.choice([5, min(w, h) / 2])
    bench.profile(Rectangle((0, 0), w, h, corner))
    bench.opening(Rectangle((0, 0), w - 2 * wide, h - 2 * wide, max(4, corner - wide)))
    rebate = Rectangle((0, 0), w - 2 * wide + 16, h - 2 * wide + 16, max(4, corner - wide + 8))
    bench.pocket("back", rebate, way="rings", depth=5, diameter=6)
    if bench.perhaps(0.5):
        bench.recesses("back", [(0, h / 2 - wide / 2)], 8, min(8, bench.thickness * 0.6), "hanger")


def honeycomb(bench: Bench) -> None:
    """A screen of six-sided openings."""
    rng = bench.rng
    pitch, columns, rows = rng.uniform(24, 36), rng.randrange(3, 6), rng.randrange(2, 5)
    bench.pitch = pitch
    for j in range(rows):
        shorter = j % 2 if bench.perhaps(0.5) else 0
        for i in range(columns - shorter):
            bench.opening(regular(((i + j % 2 / 2) * pitch, j * pitch * math.sqrt(0.75)), pitch * 0.45, 6, 30), 4)
    if bench.perhaps(0.5):
        middle = (columns * pitch / 2 - pitch / 2, (rows - 1) * pitch * 0.43)
        bench.profile(Rectangle(middle, columns * pitch + 20, rows * pitch + 16, 4))


def vents(bench: Bench) -> None:
    """A row of upright slots with round ends, and screw holes at the corners."""
    rng = bench.rng
    count, pitch, long = rng.randrange(4, 12), rng.choice([12, 15, 20]), rng.uniform(30, 90)
    bench.pitch = pitch
    for x, _ in grid(count, 1, pitch):
        bench.opening(Rectangle((x, 0), 6, long, 3), 4)
    if bench.perhaps(0.6):
        bench.through_holes(corners(count * pitch / 2 + 12, long / 2), 4)
    if bench.perhaps(0.6):
        bench.profile(Rectangle((0, 0), count * pitch + 50, long + 40, 6))


def grille(bench: Bench) -> None:
    """A lattice of openings that stand on their corners."""
    rng = bench.rng
    pitch, columns, rows = rng.choice([24, 30]), rng.randrange(3, 7), rng.randrange(2, 5)
    bench.pitch = pitch
    for place in grid(columns, rows, pitch):
        bench.opening(regular(place, pitch * 0.38, 4), 3)
    choice = rng.random()
    if choice < 0.5:
        bench.profile(Rectangle((0, 0), columns * pitch + 30, rows * pitch + 30, 8))
    elif choice < 0.8:
        bench.pins(columns * pitch / 2 + 12, rows * pitch / 2 + 12, rng.choice([2, 3, 4]))


def angled_louvre(bench: Bench) -> None:
    """Openings at unlike angles, and a pocket beside them in each face."""
    rng = bench.rng
    count = rng.randrange(2, 6)
    for i in range(count):
        bench.opening(Rectangle((i * 45, 0), 60, 12, 6, rng.choice([30, 45, 60])), 6)
    bench.pocket("front", Rectangle((count * 22, 60), 60, 25, 5))
    bench.pocket("back", Rectangle((count * 20, -60), 40, 30, 5))


def chair_back(bench: Bench) -> None:
    """Slats between curved openings."""
    rng = bench.rng
    count = rng.randrange(2, 5)
    for x, _ in grid(count, 1, 42):
        left = [(x - 10 - x * 0.00001 * (y - 60) ** 2, float(y)) for y in range(0, 201, 20)]
        right = [(px + 20, py) for px, py in left[::-1]]
        bench.opening(Outline((*left, *right)), 6)
    half = count * 25
    if bench.perhaps(0.6):
        knots = [(-half, -30), (half, -30), (count * 28 + 10, 120), (count * 20, 240), (0, 255)]
        bench.profile(spline([*knots, (-count * 20, 240), (-count * 28 - 10, 120)]))
    if bench.perhaps(0.4):
        bench.through_holes([(-count * 20, -18), (count * 20, -18)], 6)


def cane_seat(bench: Bench) -> None:
    """Many holes along an oval, round an opening."""
    rng = bench.rng
    a, b, count = rng.uniform(120, 180), rng.uniform(100, 160), rng.choice([40, 48, 60])
    bench.through_holes(ring(count, a + 14, b + 14), 5)
    if bench.perhaps(0.6):
        bench.opening(Outline(tuple(ring(90, a, b)), smooth=True), 6)
    if bench.perhaps(0.5):
        bench.profile(Outline(tuple(ring(90, a + 50, b + 50)), smooth=True))
    if bench.perhaps(0.3):
        groove = Outline(tuple(ring(90, a + 14, b + 14)), smooth=True)
        bench.add("front", profile(groove, "on", Cutter(4, "ball"), 3, habit=Habit(), program="groove",
                                   name="groove", step=3, kind=None))


def wheel(bench: Bench) -> None:
    """A round part with a bore and round openings about it."""
    rng = bench.rng
    radius, count = rng.uniform(60, 140), rng.choice([3, 4, 5, 6])
    bench.profile(Circle((0, 0), radius))
    bench.through_holes([(0, 0)], rng.choice([8, 12]))
    for place in ring(count, radius * 0.55):
        bench.opening(Circle(place, radius * 0.22), 6)
    if bench.perhaps(0.5):
        bench.pocket("front", Circle((0, 0), radius * 0.25), way="rings", diameter=4)


def rings_and_rasters(bench: Bench) -> None:
    """Openings that one face clears by rings and the other by a raster, so that nothing but the wall is alike."""
    rng = bench.rng
    w, h = rng.uniform(160, 300), rng.uniform(110, 200)
    shapes = [Rectangle((-w * 0.22, 0), w * 0.3, h * 0.5, rng.choice([5, 9])),
              Rectangle((w * 0.24, h * 0.1), w * 0.2, h * 0.35, 5, rng.choice([0, 0, 20, 90]))]
    for shape in shapes[: rng.choice([1, 2, 2])]:
        ways: list[Way] = ["rings", "raster and wall"]
        rng.shuffle(ways)
        bench.cleared_opening(shape, ways)
    if bench.perhaps(0.6):
        bench.profile(Rectangle((0, 0), w, h, rng.choice([0, 12])))
    if bench.perhaps(0.4):
        bench.pins(w / 2 + 10, h / 2 + 10, rng.choice([2, 3]))


def lattice_trivet(bench: Bench) -> None:
    """Grooves along in the front and across in the back, each deeper than half: where they cross, it is open."""
    rng = bench.rng
    count, pitch, wide = rng.randrange(3, 8), rng.choice([16, 20, 24]), rng.choice([6.0, 8.0])
    bench.pitch = pitch
    end = count * pitch / 2 + rng.choice([-4, 14])
    for q, _ in grid(count, 1, pitch):
        bench.slot("front", (q, -end), (q, end), bench.thickness * 0.55, wide, "grooves")
        bench.slot("back", (-end, q), (end, q), bench.thickness * 0.55, wide, "grooves")
    choice = rng.random()
    if choice < 0.6:
        bench.profile(Circle((0, 0), count * pitch * 0.8) if choice < 0.2 else
                      Rectangle((0, 0), count * pitch + 40, count * pitch + 30, rng.choice([0, 10])))
    if choice > 0.45:
        bench.pins(count * pitch / 2 + 26, count * pitch / 2 + 20, rng.choice([2, 3]))
