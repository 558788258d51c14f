"""Flat things: signs, game boards, cutting boards, racks and panels."""

import math

from tests.workshop.bench import Bench
from tests.workshop.cuts import FACES, Cutter
from tests.workshop.layout import corners, grid, row
from tests.workshop.placement import Point
from tests.workshop.profiling import Habit, profile
from tests.workshop.shapes import Outline, Rectangle, blob


def well_rack(bench: Bench) -> None:
    """Wells in the front, some small holes through, a groove in the back."""
    rng = bench.rng
    columns, rows, pitch = rng.randrange(3, 9), rng.randrange(1, 4), rng.choice([20, 22.5, 25, 30])
    bench.pitch = pitch
    w, h = columns * pitch + 20, rows * pitch + 20
    if bench.perhaps(0.6):
        bench.profile(Rectangle((0, 0), w, h, rng.choice([0, 5, 10])))
    bench.recesses("front", grid(columns, rows, pitch), pitch * 0.7, bench.thickness * 0.6, "wells")
    bench.through_holes(row(columns, pitch, (0, h / 2 - 5))[:: rng.choice([1, 2])], rng.choice([3, 4, 5]))
    if bench.perhaps(0.5):
        bench.pocket("back", Rectangle((0, 0), w * 0.8, 12, 4), program="groove")
    if bench.perhaps(0.3):
        bench.pins(w / 2 + 8, h / 2 + 8, 2)


def sign(bench: Bench) -> None:
    """Letters in the front, keyholes to hang it by in the back."""
    rng = bench.rng
    w, h = rng.uniform(200, 500), rng.uniform(80, 160)
    shape = Rectangle((0, 0), w, h, rng.choice([10, h / 2])) if bench.perhaps(0.6) else blob(rng, w, h)
    if bench.perhaps(0.75):
        bench.profile(shape)
    bench.letters("front", (-w * 0.35, -20), 40)
    deep = min(8, bench.thickness * 0.6)
    for x in (-w * 0.3, w * 0.3):
        bench.recesses("back", [(x, h * 0.25)], 9.5, deep, "keyholes")
        bench.slot("back", (x, h * 0.25), (x, h * 0.25 + 12), deep, 4, "keyholes")
    if bench.perhaps(0.5):
        bench.pins(w / 2 + 12, h / 2 + 12, rng.choice([2, 3, 4]))


def two_sided_sign(bench: Bench) -> None:
    """A raised field and letters on both faces, each its own."""
    rng = bench.rng
    w, h = rng.uniform(160, 300), rng.uniform(80, 140)
    for face, x in zip(FACES, (-30, 30), strict=True):
        island = Rectangle((rng.uniform(-30, 30), 0), 40, 30, 4)
        bench.pocket(face, Rectangle((0, 0), w - 30, h - 30, 6), way="raster", diameter=6, depth=3, islands=[island])
        bench.letters(face, (x, -8), 16)
    if bench.perhaps(0.5):
        bench.profile(Rectangle((0, 0), w, h, rng.choice([0, 6])))
    else:
        bench.pins(w / 2 + 10, h / 2 + 8, rng.choice([2, 3]))


def peg_game_board(bench: Bench) -> None:
    """Rows of blind peg holes in groups of five; a profile, holes at the corners, or both."""
    rng = bench.rng
    count, pitch, rows = rng.choice([20, 30]), rng.choice([7.5, 8]), rng.choice([3, 4])
    bench.pitch = pitch
    places = [(i * pitch + i // 5 * 3, j * 8.0) for j in range(rows) for i in range(count)]
    bench.recesses("front", places, 3.2, min(8, bench.thickness * 0.6), "pegs")
    long = count * pitch + count / 5 * 3
    bench.pocket("back", Rectangle((long / 2, 12), long * 0.5, 18, 9))
    choice = rng.random()
    if choice < 0.4:
        bench.profile(Rectangle((long / 2, 12), long + 30, 60, rng.choice([8, 30])))
    if choice > 0.3:
        ends = [(-10.0, -12.0), (long + 6, -12.0), (-10.0, 36.0), (long + 6, 36.0)]
        bench.through_holes(ends[: rng.choice([2, 3, 4])], rng.choice([4, 6]), program="corners")
    if bench.perhaps(0.3):
        bench.through_holes([(x, -10) for x, y in places if y == 0][::3], 3.2)


def cutting_board(bench: Bench) -> None:
    """A groove for the juice, an opening to hold it by, a recess in the back."""
    rng = bench.rng
    w, h = rng.uniform(250, 420), rng.uniform(180, 280)
    bench.profile(Rectangle((0, 0), w, h, rng.choice([12, 20])))
    groove = Rectangle((0, 0), w - 40, h - 40, 15)
    bench.add("front", profile(groove, "on", Cutter(10, "ball"), min(5, bench.thickness * 0.4),
                               habit=Habit(lead="ramp"), program="juice", name="groove", step=5, kind=None))
    bench.opening(Rectangle((0, h / 2 - 28), 90, 26, 13))
    if bench.perhaps(0.5):
        bench.pocket("back", Rectangle((-w / 2 + 20, 0), 30, 90, 8))
    if bench.perhaps(0.5):
        bench.letters("back", (w * 0.3, -h * 0.3), 20)


def chess_box(bench: Bench) -> None:
    """Squares engraved in the front, stores and hinges in the back, sawn through in the middle or not."""
    rng = bench.rng
    square = rng.choice([20, 25, 30])
    bench.pitch = square
    for i in range(9):
        q = (i - 4) * square
        bench.slot("front", (q, -4 * square), (q, 4 * square), 0.8, 3.175, "board")
        bench.slot("front", (-4 * square, q), (4 * square, q), 0.8, 3.175, "board")
    for side in (-1, 1):
        bench.pocket("back", Rectangle((0, side * 2.5 * square), 24, 16, 3), diameter=4, program="hinges")
        store = Rectangle((side * 2.2 * square, 0), 3.4 * square, 7 * square, 5)
        bench.pocket("back", store, diameter=6, program="store")
    if bench.perhaps(0.6):
        bench.saw((0, -5.5 * square), (0, 5.5 * square), 3, "part")
    if bench.perhaps(0.6):
        bench.profile(Rectangle((0, 0), 9 * square, 9 * square, rng.choice([0, 4])))
    if bench.perhaps(0.3):
        bench.through_holes([(-4.3 * square, 4.3 * square), (4.3 * square, 4.3 * square)], 4)


def coat_rack(bench: Bench) -> None:
    """A row of holes for pegs, recesses to hang it by, letters."""
    rng = bench.rng
    count, pitch = rng.randrange(3, 8), rng.choice([50, 80, 100])
    bench.pitch = pitch
    bench.through_holes(row(count, pitch), rng.choice([6, 10, 12]))
    long = count * pitch
    if bench.perhaps(0.6):
        bench.profile(Rectangle((0, 0), long + 40, 80, rng.choice([0, 10, 40])))
    for x in (-long * 0.35, long * 0.35):
        bench.pocket("back", Rectangle((x, 22), 30, 12, 6), way="rings")
    if bench.perhaps(0.5):
        bench.letters("front", (-60, 12), 18)
    if bench.perhaps(0.4):
        bench.slot("front", (-long / 2, -25), (long / 2, -25), 3, 6, "bead")


def perforated_panel(bench: Bench) -> None:
    """A lattice of holes, some left out or none, grooves between the rows."""
    rng = bench.rng
    pitch, columns, rows = rng.choice([16, 20, 25.4, 32]), rng.randrange(4, 12), rng.randrange(3, 9)
    bench.pitch = pitch
    places = grid(columns, rows, pitch)
    if bench.perhaps(0.3):
        places = [place for place in places if bench.perhaps(0.8)] or places
    bench.through_holes(places, rng.choice([4, 6, 8]))
    end = columns * pitch / 2 + 10
    for i in range(rng.randrange(0, 5)):
        bench.slot("front", (-end, (i - 1.5) * pitch), (end, (i - 1.5) * pitch), 4, 3, "grooves")
    if bench.perhaps(0.4):
        bench.profile(Rectangle((0, 0), columns * pitch + 20, rows * pitch + 20, 5))


def tool_holder(bench: Bench) -> None:
    """Holes of unlike diameters in a row."""
    rng = bench.rng
    x = 0.0
    for _ in range(rng.randrange(3, 8)):
        diameter = rng.choice([8, 12, 16, 22])
        x += diameter / 2 + 8
        bench.through_holes([(x, 0)], diameter)
        x += diameter / 2 + 8
    if bench.perhaps(0.5):
        bench.profile(Rectangle((x / 2, 0), x + 20, 60, 6))
    if bench.perhaps(0.5):
        bench.letters("front", (10, 14), 10)
    if bench.perhaps(0.6):
        bench.pocket("back", Rectangle((x / 2, 0), x * 0.7, 16, 3))


def bottle_rack(bench: Bench) -> None:
    """Half round hollows along one edge, open to the outside, screw holes between them."""
    rng = bench.rng
    count, pitch = rng.randrange(2, 6), rng.choice([70, 85])
    bench.pitch = pitch
    long, radius = count * pitch + 30, pitch * 0.38
    half_round = [math.radians(180 * i / 40) for i in range(41)]
    edge: list[Point] = [(-long / 2, -40), (long / 2, -40), (long / 2, 30)]
    for x, _ in row(count, pitch)[::-1]:
        edge += [(x + radius * math.cos(a), 30 - radius * math.sin(a)) for a in half_round]
    bench.profile(Outline((*edge, (-long / 2, 30))))
    if bench.perhaps(0.6):
        bench.through_holes([(x, -25) for x, _ in row(count + 1, pitch)], 5)
    if bench.perhaps(0.4):
        bench.slot("back", (-long / 2 - 6, -18), (long / 2 + 6, -18), 4, 6, "groove")


def ladder_rail(bench: Bench) -> None:
    """Square mortises and round ones in turn along a rail, far from its ends."""
    rng = bench.rng
    count, pitch = rng.randrange(2, 6), rng.choice([150, 220])
    bench.pitch = pitch
    for i, (x, _) in enumerate(row(count, pitch)):
        if i % 2 or bench.perhaps(0.3):
            bench.through_holes([(x, 0)], 22, program="rungs")
        else:
            bench.opening(Rectangle((x, 0), 24, 18, rng.choice([3, 4])), 6, program="rungs")
    if bench.perhaps(0.5):
        bench.profile(Rectangle((0, 0), count * pitch + 60, 58, rng.choice([0, 6])))
    if bench.perhaps(0.5):
        bench.through_holes(corners(count * pitch / 2 + 20, 18)[: rng.choice([2, 4])], 5, program="screws")
