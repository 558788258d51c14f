"""Parts of shelves and drawers: rows of holes 32 mm apart, housings, grooves and hinges."""

from tests.workshop.bench import Bench
from tests.workshop.cuts import FACES
from tests.workshop.kinds.common_edge import edge_or_pins
from tests.workshop.layout import column, corners, row
from tests.workshop.shapes import Rectangle


def drawer_front(bench: Bench) -> None:
    """A row of holes for the handle, a raised field, grooves for bottom and sides."""
    rng = bench.rng
    w, h = rng.uniform(250, 600), rng.uniform(100, 220)
    count = rng.choice([2, 2, 3, 4])
    bench.pitch = rng.choice([64, 96, 128] if count == 2 else [32, 40])
    bench.through_holes(row(count, bench.pitch, (0, rng.choice([0, h * 0.1]))), rng.choice([5, 8]))
    bench.pocket("front", Rectangle((0, 0), w * 0.8, h * 0.7, 3), way="rings", depth=4)
    if bench.perhaps(0.8):
        for x in (-w / 2 + 15, w / 2 - 15):
            bench.slot("back", (x, -h / 2 - 8), (x, h / 2 + 8), 6, 6, "grooves")
        bench.slot("back", (-w / 2 - 8, -h / 2 + 12), (w / 2 + 8, -h / 2 + 12), 6, 6, "grooves")
    if bench.perhaps(0.5):
        bench.profile(Rectangle((0, 0), w, h))


def divider(bench: Bench) -> None:
    """Blind shelf holes in both faces, staggered by half a pitch by design."""
    rng, bench.pitch = bench.rng, 32
    count = rng.randrange(5, 16)
    high = count * 32
    for x in (-100, 100):
        bench.recesses("front", column(count, 32, x, -high / 2), 5, bench.thickness * 0.55, "shelf")
        bench.recesses("back", column(count - 1, 32, x, -high / 2 + 16), 5, bench.thickness * 0.55, "shelf")
    choice = rng.random()
    if choice < 0.5:
        bench.profile(Rectangle((0, 0), 300, high + 60))
    if choice > 0.3:
        places = [(-130.0, -high / 2), (130.0, high / 2)]
        bench.through_holes(places + ([(130, -high / 2 + 10)] if bench.perhaps(0.5) else []), 8)


def cupboard_side(bench: Bench) -> None:
    """Rows of shelf holes, through or blind, a groove for the back, holes for connecting screws."""
    rng, bench.pitch = bench.rng, 32
    count = rng.randrange(6, 20)
    low = -count * 16.0
    through = bench.perhaps(0.5)
    for x in (-110, 110):
        places = column(count, 32, x, low)
        if through:
            bench.through_holes(places, 5)
        else:
            bench.recesses("front", places, 5, 12 if bench.thickness > 14 else bench.thickness * 0.6, "shelf")
    bench.slot("front", (-140, low - 40), (-140, -low + 40), 8, 6, "groove")
    if bench.perhaps(0.7):
        bench.through_holes(corners(100, -low + 25)[: rng.choice([2, 3, 4])], 7, program="screws")
    if bench.perhaps(0.5):
        bench.recesses("back", [(-60, 0), (60, 0)], 10, min(10, bench.thickness * 0.6), "dowels")
    if bench.perhaps(0.4):
        bench.profile(Rectangle((0, 0), 300, count * 32 + 100))


def hinged_door(bench: Bench) -> None:
    """Mortises for hinges in the front and for others in the back, screw holes through one pair."""
    rng = bench.rng
    long = rng.uniform(300, 700)
    for share in (-0.35, 0.35):
        bench.pocket("front", Rectangle((-30, share * long), 30, 60, 4), diameter=6, depth=3)
    for share in (-0.2, 0.2):
        bench.pocket("back", Rectangle((25, share * long), 30, 50, 4), diameter=6, depth=3)
    screws = [(-30.0 + x, share * long + y) for share in (-0.35, 0.35) for x, y in ((-6, -20), (6, 0), (-6, 20))]
    if bench.perhaps(0.7):
        bench.through_holes(screws, 4)
    else:
        bench.recesses("front", screws, 3, 8, "screws")
    if bench.perhaps(0.4):
        bench.profile(Rectangle((0, 0), 120, long))


def cup_hinged_door(bench: Bench) -> None:
    """Cups of 35 mm and their screw holes in the back, holes through for handle and catch, all of unlike diameters."""
    rng = bench.rng
    w, h = rng.uniform(250, 450), rng.uniform(350, 700)
    for y in (-h / 2 + 90, h / 2 - 90):
        bench.recesses("back", [(-w / 2 + 22, y)], 35, min(12.5, bench.thickness * 0.7), "cups")
        bench.recesses("back", [(-w / 2 + 31, y - 22.5), (-w / 2 + 31, y + 22.5)], 2.5, 6, "cup screws")
    bench.through_holes([(w / 2 - 35, -48), (w / 2 - 35, 48)], 4.5, program="handle")
    if bench.perhaps(0.6):
        bench.through_holes([(w / 2 - 20, h / 2 - rng.uniform(30, 60))], rng.choice([8, 10]), program="catch")
    if bench.perhaps(0.6):
        bench.profile(Rectangle((0, 0), w, h, rng.choice([0, 2])))
    if bench.perhaps(0.5):
        bench.pocket("front", Rectangle((0, 0), w * 0.6, h * 0.7), depth=3, way="raster and wall")


def shelf_with_unlike_rows(bench: Bench) -> None:
    """Rows of three diameters, each its own program: holes for pegs, dowels and screws."""
    rng, bench.pitch = bench.rng, 32
    count = rng.randrange(4, 12)
    low = -16.0 * count
    bench.through_holes(column(count, 32, -80, low), 5, program="pegs")
    bench.through_holes(column(count // 2, 64, 0, low + rng.choice([0, 16, 20])), 8, program="dowels")
    bench.through_holes(column(3, 32 * (count - 1) / 2, 80, low), rng.choice([6, 7]), program="screws")
    if bench.perhaps(0.5):
        bench.profile(Rectangle((0, -16), 240, count * 32 + 50, rng.choice([0, 8])))


def housed_side(bench: Bench) -> None:
    """Housings across both faces, each face its own, and something that may tell where they lie."""
    rng = bench.rng
    count, pitch, w = rng.randrange(2, 6), rng.choice([40, 64, 100]), rng.uniform(120, 240)
    apart = rng.choice([20, 20, pitch / 2])
    for i in range(count):
        for face, y in zip(FACES, (i * pitch, i * pitch + apart), strict=True):
            bench.slot(face, (-w / 2 - 8, y), (w / 2 + 8, y), bench.thickness * 0.35, 6, "housings")
    edge_or_pins(bench, w + 40, count * pitch + 60)


def staggered_rows(bench: Bench) -> None:
    """Blind rows in both faces, some millimetres apart along the row by design."""
    rng, bench.pitch = bench.rng, 32
    count, apart = rng.randrange(4, 14), rng.choice([8, 10, 12, 16, 20])
    for x in (-90, 90):
        bench.recesses("front", column(count, 32, x, -16 * count), 5, bench.thickness * 0.4, "shelf")
        bench.recesses("back", column(count, 32, x, -16 * count + apart), 5, bench.thickness * 0.4, "shelf")
    edge_or_pins(bench, 260, count * 32 + 60)


def dowelled_rail(bench: Bench) -> None:
    """Rows of blind dowel holes at opposite ends, one in each face."""
    rng, bench.pitch = bench.rng, 32
    count, long = rng.randrange(3, 9), rng.uniform(300, 600)
    bench.recesses("front", row(count, 32, (0, -long / 2 + 12)), 8, bench.thickness * 0.7, "dowels")
    bench.recesses("back", row(count, 32, (rng.choice([0, 0, 8]), long / 2 - 12)), 8, bench.thickness * 0.7, "dowels")
    edge_or_pins(bench, count * 32 + 40, long)
