"""Joints: combs, fingers, dovetails, laps, tenons, and saw cuts that part the wood."""

from tests.workshop.bench import Bench
from tests.workshop.cuts import FACES, Cutter
from tests.workshop.layout import grid
from tests.workshop.lines import open_cut
from tests.workshop.placement import Point
from tests.workshop.shapes import Outline, Rectangle


def finger_joint(bench: Bench) -> None:
    """Open notches along one side or two, with cutters that may differ."""
    rng = bench.rng
    count, pitch = rng.randrange(3, 8), rng.choice([16, 20, 24])
    bench.pitch = 2 * pitch
    w, deep = rng.uniform(120, 300), rng.choice([12, 18])
    tools = [rng.choice([6, 8]), rng.choice([6, 8])]
    if bench.perhaps(0.7):
        tools[1] = tools[0]
    sides = rng.choice([(-1,), (-1, 1)])
    for (face, depth), tool in zip(bench.through_depths().items(), tools, strict=True):
        for side in sides:
            for i in range(count):
                low = (2 * i + 1) * pitch - (2 * count + 1) * pitch / 2
                end, floor, r = side * w / 2, side * (w / 2 - deep), tool / 2
                wood: list[Point] = [(end, low), (floor, low), (floor, low + pitch), (end, low + pitch)]
                out, inner = end + side * tool, floor + side * r
                way = [(out, low + r), (inner, low + r), (inner, low + pitch - r), (out, low + pitch - r)]
                bench.add(face, open_cut(way, Cutter(tool), depth, program="fingers", step=tool, wood=wood))
    if bench.perhaps(0.5):
        bench.through_holes([(-w * 0.3, 0), (w * 0.3, pitch)], 6)
    if bench.perhaps(0.4):
        bench.pocket("front", Rectangle((0, 0), w * 0.3, (2 * count + 1) * pitch * 0.4, 6))


def dovetails(bench: Bench) -> None:
    """Sockets that are wider inside, open at both ends of the board."""
    rng = bench.rng
    count, pitch, w, tool = rng.randrange(3, 6), rng.choice([30, 40]), rng.uniform(140, 240), 6
    bench.pitch = pitch
    for face, depth in bench.through_depths().items():
        for side in (-1, 1):
            for _, y in grid(1, count, 0, pitch):
                out, floor = side * (w / 2 + tool), side * (w / 2 - 12)
                narrow, wide = pitch * 0.2 - 3, pitch * 0.3 - 3
                way = [(out, y - narrow), (floor, y - wide), (floor, y + wide), (out, y + narrow)]
                bench.add(face, open_cut(way, Cutter(tool), depth, program="tails", step=6, wood=way))
    if bench.perhaps(0.4):
        bench.through_holes([(0, -20), (30, 30), (-30, 30)][: rng.choice([2, 3])], 5)
    if bench.perhaps(0.4):
        bench.pocket("front", Rectangle((0, 0), 60, 60, 6))


def comb(bench: Bench) -> None:
    """Many narrow slots, open at one end."""
    rng = bench.rng
    count, pitch, long = rng.randrange(6, 20), rng.choice([6, 8, 10]), rng.uniform(40, 80)
    bench.pitch = pitch
    width = rng.choice([2, 3])
    for x, _ in grid(count, 1, pitch):
        bench.saw((x, -10), (x, long), width, "slots")
    if bench.perhaps(0.5):
        bench.profile(Rectangle((0, long / 2 + 10), count * pitch + 20, long + 40, 6))
    if bench.perhaps(0.4):
        places = [(0.0, long + 15)]
        bench.through_holes(places + ([(count * pitch * 0.3, long + 15)] if bench.perhaps(0.5) else []), 5)


def half_laps(bench: Bench) -> None:
    """A lattice of strips: laps along in the front, across in the back."""
    rng = bench.rng
    count, pitch, width = rng.randrange(3, 7), rng.uniform(25, 40), rng.choice([3, 6])
    bench.pitch = pitch
    end = count * pitch / 2 + 10
    for q, _ in grid(count, 1, pitch):
        bench.slot("front", (q, -end), (q, end), bench.thickness / 2, width, "laps")
        bench.slot("back", (-end, q), (end, q), bench.thickness / 2, width, "laps")
    if bench.perhaps(0.7):
        bench.pins(count * pitch / 2 + 20, count * pitch / 2 + 25, rng.choice([2, 3]))
    if bench.perhaps(0.4):
        bench.profile(Rectangle((0, 0), count * pitch + 50, count * pitch + 60))


def cross_lap_stand(bench: Bench) -> None:
    """Two unlike parts in one blank, each with a deep open slot into which the other goes."""
    rng = bench.rng
    slot = rng.choice([9, 12, 18])
    for part, (x, h) in enumerate(((0.0, rng.uniform(120, 200)), (rng.uniform(150, 220), rng.uniform(90, 160)))):
        bench.part = part
        w = rng.uniform(90, 130)
        a, b = x + w / 2 - slot / 2, x + w / 2 + slot / 2
        below: list[Point] = [(x, 0), (a, 0), (a, h / 2), (b, h / 2), (b, 0), (x + w, 0), (x + w, h * 0.8), (x, h)]
        above: list[Point] = [(x, 0), (x + w, 0), (x + w * 0.9, h), (b, h), (b, h / 2), (a, h / 2), (a, h),
                              (x + w * 0.1, h)]
        bench.profile(Outline(tuple(above if part else below)))
    if bench.perhaps(0.4):
        bench.letters("front", (15, 100), 14)


def tenoned_rail(bench: Bench) -> None:
    """Shoulders cleared at both ends from both faces, a mortise in the middle."""
    rng = bench.rng
    long, w, tenon = rng.uniform(200, 500), rng.uniform(40, 70), rng.uniform(20, 35)
    for face in FACES:
        for side in (-1, 1):
            shoulder = Rectangle((side * (long / 2 - tenon / 2 + 3), 0), tenon + 6, w + 16)
            bench.pocket(face, shoulder, depth=bench.thickness / 3, way="raster", diameter=6, program="shoulders")
    if bench.perhaps(0.6):
        bench.opening(Rectangle((0, 0), 40, w * 0.4, 3), 6)
    if bench.perhaps(0.6):
        bench.through_holes([(-long * 0.3, 0), (long * 0.3, 0)], 6)
    if bench.perhaps(0.3):
        bench.profile(Rectangle((0, 0), long, w))


def saw_cuts(bench: Bench) -> None:
    """Open saw cuts through the blank that part it into slats; nothing closed."""
    rng = bench.rng
    count, pitch, long = rng.randrange(3, 9), rng.uniform(18, 40), rng.uniform(150, 400)
    bench.pitch = pitch
    width = rng.choice([3, 4])
    even = [i * pitch for i in range(count)]
    heights = even if bench.perhaps(0.6) else sorted(rng.uniform(0, count * pitch) for _ in range(count))
    for y in heights:
        bench.saw((-long / 2 - 6, y), (long / 2 + 6, y), width)
    if bench.perhaps(0.5):
        for x in (-long / 2, long / 2):
            bench.saw((x, heights[0] - 15), (x, heights[-1] + 15), width)
    if bench.perhaps(0.4):
        bench.through_holes([(-long * 0.4, heights[0] + pitch * 0.4), (long * 0.3, heights[0] + pitch * 0.5)], 5)
    if bench.perhaps(0.5):
        bench.pocket("front", Rectangle((0, heights[0] + pitch / 2), long * 0.3, pitch * 0.3, 2), diameter=3)


def rebated_saw_cuts(bench: Bench) -> None:
    """Saw cuts from both faces, with wider rebates at some of them in the back."""
    rng = bench.rng
    count, pitch, long = rng.randrange(2, 6), rng.uniform(30, 60), rng.uniform(120, 250)
    for i in range(count):
        bench.saw((-long / 2 - 6, i * pitch), (long / 2 + 6, i * pitch), 4)
        if bench.perhaps(0.6):
            bench.slot("back", (-long / 2 - 6, i * pitch + 4), (long / 2 + 6, i * pitch + 4), 3, 8, "rebates")
    if bench.perhaps(0.5):
        bench.through_holes([(-long * 0.3, pitch / 2), (long * 0.3, pitch / 2)], 5)
    for k in range(rng.randrange(0, 3)):
        bench.pocket("front", Rectangle((k * 40, -30), 24, 18, 4), diameter=4)


def bending_kerfs(bench: Bench) -> None:
    """Kerfs so that a strip bends, in the front and between them in the back; none goes through."""
    rng = bench.rng
    count, pitch, w = rng.randrange(6, 20), rng.choice([6, 8, 10]), rng.uniform(60, 140)
    bench.pitch = pitch
    for i in range(count):
        bench.slot("front", (i * pitch, -w / 2 - 5), (i * pitch, w / 2 + 5), bench.thickness * 0.7, 2, "kerfs")
        if i + 1 < count and bench.perhaps(0.9):
            x = (i + 0.5) * pitch
            bench.slot("back", (x, -w / 2 - 5), (x, w / 2 + 5), bench.thickness * 0.7, 2, "kerfs")
    middle = ((count - 1) * pitch / 2, 0.0)
    if bench.perhaps(0.5):
        bench.profile(Rectangle(middle, count * pitch + 80, w))
    if bench.perhaps(0.5):
        ends = [(-20.0, -w * 0.3), (middle[0] * 2 + 20, w * 0.3), (-20.0, w * 0.3)]
        bench.through_holes(ends[: rng.choice([2, 3])], 5)
