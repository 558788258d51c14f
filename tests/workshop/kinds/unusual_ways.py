"""Parts cut in ways that look like something else: trochoids like bores, chained holes like rows, steps like edges."""

import math
from dataclasses import replace

import numpy as np

from tests.workshop.bench import Bench
from tests.workshop.cuts import FACES, Cut, Cutter, Down, Lift, Move, Over, Round, Shared, Straight
from tests.workshop.drilling import Hole, Method, depths
from tests.workshop.kinds.common_edge import edge_or_pins
from tests.workshop.layout import grid, ring
from tests.workshop.lines import open_cut
from tests.workshop.placement import Placement, Point, shift, turn
from tests.workshop.profiling import any_habit, profile
from tests.workshop.shapes import Circle, Outline, Rectangle, Shape, blob, edge_of, moved


def stepped_round_over(bench: Bench) -> None:
    """The arris rounded over by contours a little deeper and wider each, in unlike steps on both faces."""
    rng = bench.rng
    w, h = rng.uniform(100, 200), rng.uniform(80, 150)
    shapes: list[Shape] = [Rectangle((0, 0), w, h, rng.choice([12, 25])), Circle((0, 0), h / 2), blob(rng, w, h, 0.12)]
    shape, tool = rng.choice(shapes), Cutter(6)
    radius = min(rng.choice([3, 5]), bench.thickness * 0.3)
    for face in rng.choice([FACES, FACES, FACES[:1]]):
        count = rng.choice([3, 4, 6])
        habit = replace(any_habit(rng), compensated=False, allowance=0.0, tabs=0, lead="plunge")
        for i in range(1, count + 1):
            deep = radius * i / count
            inward = radius - math.sqrt(radius**2 - (radius - deep) ** 2)
            bench.add(face, profile(shape, "outside", tool, deep, habit=habit, program="round over", name="step",
                                    step=radius, kind=None, left=-inward))
    bench.profile(shape)
    if bench.perhaps(0.4):
        bench.through_holes([(-h * 0.2, h * 0.15), (h * 0.2, -h * 0.1)], 6)


def trochoidal_slots(bench: Bench) -> None:
    """Slots wider than their cutter, made by small circles one after the other, closer on one face or the other."""
    rng = bench.rng
    count, tool, wide = rng.randrange(1, 5), 4.0, rng.choice([8.0, 9.0])
    angles = [rng.choice([0, 0, 90, 30]) for _ in range(count)]
    long = rng.uniform(25, 45)
    for face, depth in bench.through_depths().items():
        step = rng.choice([0.5, 0.8, 1.2])
        for i, angle in enumerate(angles):
            place = shift(i * 70.0, 0) @ turn(angle)
            bench.add(face, _trochoid(place, long, wide, Cutter(tool), depth, step))
    edge_or_pins(bench, count * 140, 120)


def _trochoid(place: Placement, long: float, wide: float, tool: Cutter, depth: float, step: float) -> Cut:
    r = (wide - tool.diameter) / 2
    count = math.ceil(long / step)
    middles = [(-long / 2 + long * i / count, 0.0) for i in range(count + 1)]
    moves: list[Move] = [Lift(), Over(place((middles[0][0], -r)))]
    for level, z in enumerate(depths(depth, 12)):
        moves.append(Down(z) if level == 0 else Straight(place((middles[0][0], -r)), z))
        for x, _ in middles:
            centre = place((x, 0.0))
            moves += [Straight(place((x, -r)), z), Round(place((x, r)), z, centre, ccw=True),
                      Round(place((x, -r)), z, centre, ccw=True)]  # fmt: skip
    slot = Rectangle((0, 0), long + wide, wide, wide / 2)
    shared = Shared("edge", place.of(edge_of(slot)))
    return Cut("opening", tool, "slots", (*moves, Lift()), (shared,))


def chain_drilled_opening(bench: Bench) -> None:
    """An opening whose waste is weakened by a chain of holes from the front, and routed out from the back."""
    rng = bench.rng
    w, h = rng.uniform(80, 140), rng.uniform(60, 100)
    shape: Shape = Rectangle((0, 0), w, h, 15) if bench.perhaps(0.5) else blob(rng, w, h, 0.1)
    drill = Cutter(6, "drill")
    way = np.array(shape.offset(-3.8)[0].points(0.01))
    lengths = np.r_[0, np.cumsum(np.hypot(*np.diff(way, axis=0).T))]
    even = np.linspace(0, lengths[-1], int(lengths[-1] / rng.choice([5, 7, 9])))[:-1]
    for x, y in zip(np.interp(even, lengths, way[:, 0]), np.interp(even, lengths, way[:, 1]), strict=True):
        hole = Hole((float(x), float(y)), 6, bench.thickness * 0.6, shared=False)
        bench.add("front", Method(drill, "chain", "G81").cut(hole))
    routed = profile(shape, "inside", Cutter(6), bench.thickness + 0.3, habit=any_habit(rng), program="openings",
                     name="opening", step=5, kind=None)  # fmt: skip
    bench.add("back", routed)
    edge_or_pins(bench, w + 60, h + 60)


def wavy_strips(bench: Bench) -> None:
    """Strips parted by waves from end to end, through from both faces; nothing closed."""
    rng = bench.rng
    count, pitch, long = rng.randrange(1, 5), rng.choice([22, 30]), rng.uniform(150, 260)
    bench.pitch = pitch
    high, waves = rng.uniform(4, 9), rng.choice([1, 1.5, 2, 3])
    for i in range(count):
        way: list[Point] = []
        for k in range(61):
            x = -long / 2 + long * k / 60
            way.append((x, i * pitch + high * math.sin(2 * math.pi * waves * k / 60)))
        bench.open_through(way, 3, "waves")
    if bench.perhaps(0.5):
        bench.through_holes([(-long / 2 + 15, -20), (long / 2 - 15, count * pitch)], 5, program="pins")
    if bench.perhaps(0.4):
        bench.pocket("front", Rectangle((0, -24), 50, 14, 4), diameter=4)


def rounded_corners_only(bench: Bench) -> None:
    """A blank sawn to size, of which only the four corners are rounded; holes near them, or a hollow."""
    rng = bench.rng
    w, h, radius = rng.uniform(120, 260), rng.uniform(90, 180), rng.choice([12, 20, 30])
    radii = [radius] * 4 if bench.perhaps(0.6) else [radius, radius, radius / 2, radius]
    for face, depth in bench.through_depths().items():
        tool = Cutter(rng.choice([6, 6, 8]))
        for r, (sx, sy) in zip(radii, ((-1, -1), (1, -1), (1, 1), (-1, 1)), strict=True):
            place = Placement(xx=sx, yy=sy, x0=sx * (w / 2 - r), y0=sy * (h / 2 - r))
            angles = [math.radians(90 * k / 24) for k in range(25)]
            wood = [place((r * math.cos(a), r * math.sin(a))) for a in angles]
            out = r + tool.diameter / 2
            way = [(out, -tool.diameter), *((out * math.cos(a), out * math.sin(a)) for a in angles),
                   (-tool.diameter, out)]  # fmt: skip
            bench.add(face, open_cut([place(p) for p in way], tool, depth, program="corners", step=6, wood=wood))
    if bench.perhaps(0.5):
        bench.through_holes(grid(2, rng.choice([1, 2]), w * 0.6, h * 0.5), rng.choice([5, 8]))
    if bench.perhaps(0.5):
        bench.pocket("front", Rectangle((0, 0), w * 0.4, h * 0.4, 8), way="rings")


def box_side(bench: Bench) -> None:
    """A side of a finger-jointed box as one closed contour: after every second finger its ends fit themselves."""
    rng = bench.rng
    count, pitch, w, deep = rng.choice([3, 5, 7]), rng.choice([14, 18]), rng.uniform(120, 220), rng.choice([9, 12])
    bench.pitch = 2 * pitch
    right: list[Point] = []
    for i in range(count):
        x = w / 2 if i % 2 == 0 else w / 2 - deep
        right += [(x, (i - count / 2) * pitch), (x, (i + 1 - count / 2) * pitch)]
    left = [(-x, y) for x, y in right[::-1]]
    if bench.perhaps(0.3):
        left = [(-w / 2 if abs(x) > w / 2 - 1 else x - deep * 0.4, y) for x, y in left]
    bench.profile(Outline((*right, *left)))
    if bench.perhaps(0.4):
        bench.opening(Rectangle((0, count * pitch * 0.15), 70, 22, 11), 6)
    if bench.perhaps(0.5):
        bench.slot("back", (-w / 2 + 6, -count * pitch / 2 + 8), (w / 2 - 6, -count * pitch / 2 + 8), 5, 6, "groove")


def toothed_rack(bench: Bench) -> None:
    """A long straight rack of teeth that fits itself after every tooth but for its ends."""
    rng = bench.rng
    count, pitch = rng.randrange(6, 20), rng.choice([12, 16])
    bench.pitch = pitch
    edge: list[Point] = [(0, -14), (count * pitch, -14)]
    for i in range(count)[::-1]:
        edge += [(i * pitch + share * pitch, y) for share, y in ((0.95, 0), (0.7, 8), (0.45, 8), (0.2, 0))]
    bench.profile(Outline((*edge, (0, 0))))
    if bench.perhaps(0.5):
        every = rng.choice([2, 3])
        bench.through_holes([(i * pitch + pitch / 2, -7) for i in range(0, count, every)], 5)


def keyhole_plate(bench: Bench) -> None:
    """Keyholes right through, round above and narrow below; a few plain holes."""
    rng = bench.rng
    count, pitch = rng.randrange(1, 5), rng.choice([50, 64])
    bench.pitch = pitch
    arc = [math.radians(-62 + 304 * i / 40) for i in range(41)]
    drop = Outline(tuple([(7 * math.cos(a), 7 * math.sin(a)) for a in arc] + [(-3.28, -18.0), (3.28, -18.0)]))
    for x, y in grid(count, 1, pitch):
        bench.opening(moved(drop, shift(x, y) @ turn(rng.choice([0, 0, 0, 180]))), 4)
    if bench.perhaps(0.6):
        bench.through_holes(grid(2, 1, count * pitch + 30, middle=(0, rng.choice([0, -8]))), 5)
    if bench.perhaps(0.6):
        bench.profile(Rectangle((0, -4), count * pitch + 60, 60, rng.choice([0, 8])))


def dividing_plate(bench: Bench) -> None:
    """Rings of many holes about a bore, and a hole off them that says where they begin, or none."""
    rng = bench.rng
    radius = rng.uniform(50, 80)
    bench.through_holes([(0, 0)], 12, program="bore")
    for count, share in ((24, 1.0), (rng.choice([10, 15, 16, 18]), 0.7))[: rng.choice([1, 2])]:
        bench.through_holes(ring(count, radius * share), 4, program="divisions")
    if bench.perhaps(0.5):
        bench.through_holes([(radius * 0.85, 3)], 4, program="index")
    if bench.perhaps(0.6):
        bench.profile(Circle((0, 0), radius + 12))
    if bench.perhaps(0.4):
        bench.letters("front", (-radius * 0.3, 10), 8)


def close_packed_panel(bench: Bench) -> None:
    """Holes in staggered rows, as close as they can be, some left out."""
    rng = bench.rng
    pitch, columns, rows = rng.choice([14, 18]), rng.randrange(4, 10), rng.randrange(3, 8)
    bench.pitch = pitch
    places = [((i + j % 2 / 2) * pitch, j * pitch * math.sqrt(0.75)) for j in range(rows) for i in range(columns)]
    if bench.perhaps(0.5):
        places = [place for place in places if bench.perhaps(0.85)] or places
    bench.through_holes(places, rng.choice([4, 8]))
    if bench.perhaps(0.4):
        bench.profile(Rectangle((columns * pitch / 2, rows * pitch * 0.4), columns * pitch + 30, rows * pitch + 20, 6))
