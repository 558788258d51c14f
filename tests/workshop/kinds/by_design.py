"""Parts whose faces differ by design, so that a check may not call them wrong."""

from dataclasses import replace

from tests.workshop.bench import Bench
from tests.workshop.cuts import Cutter
from tests.workshop.kinds.common_edge import edge_or_pins
from tests.workshop.layout import grid
from tests.workshop.profiling import any_habit, profile
from tests.workshop.shapes import Rectangle


def counterbored_panel(bench: Bench) -> None:
    """Holes drilled from the front alone, counterbored from the back, all of them or every other one."""
    rng = bench.rng
    count, pitch = rng.randrange(2, 7), rng.choice([30, 40, 50])
    bench.pitch = pitch
    places = grid(count, rng.choice([1, 2]), pitch)
    bench.through_holes(places, 5, faces=["front"])
    bench.recesses("back", places if bench.perhaps(0.6) else places[::2], 12, bench.thickness * 0.4, "counterbores")
    edge_or_pins(bench, count * pitch + 30, 100)


def twin_pockets(bench: Bench) -> None:
    """Pockets of one size in both faces, at other places."""
    rng = bench.rng
    w, h, a, b = rng.uniform(150, 300), rng.uniform(100, 200), rng.uniform(30, 60), rng.uniform(20, 50)
    count, deep = rng.randrange(1, 4), bench.thickness * 0.4
    for i in range(count):
        upper = Rectangle((-w * 0.3 + i * w * 0.3, h * 0.2), a, b, 5)
        bench.pocket("front", upper, way="rings", depth=deep, diameter=6)
    for i in range(count):
        lower = Rectangle((-w * 0.25 + i * w * 0.3 + rng.uniform(-8, 8), -h * 0.2), a, b, 5)
        bench.pocket("back", lower, way="rings", depth=deep, diameter=6)
    edge_or_pins(bench, w, h)


def one_word_on_both_faces(bench: Bench) -> None:
    """The same word engraved on each face, to be read there."""
    rng = bench.rng
    state = rng.getstate()
    bench.letters("front", (-40, -10), 20)
    rng.setstate(state)
    bench.letters("back", (rng.choice([40, 44]), -10), 20)
    edge_or_pins(bench, 160, 80)


def lipped_lid(bench: Bench) -> None:
    """The front's profile goes right through; the back's goes round further in, halfway, and leaves a lip."""
    rng = bench.rng
    w, h, lip, corner = rng.uniform(80, 200), rng.uniform(60, 160), rng.choice([1.5, 2, 3, 5, 8]), rng.choice([6, 12])
    habit = replace(any_habit(rng), compensated=False, tabs=0)
    for deep in (bench.thickness / 3, bench.thickness + 0.3):
        bench.add("front", profile(Rectangle((0, 0), w, h, corner), "outside", Cutter(6), deep, habit=habit,
                                   program="profile", name="profile", step=3, kind=None))
    inner = Rectangle((0, 0), w - 2 * lip, h - 2 * lip, max(1, corner - lip))
    bench.add("back", profile(inner, "outside", Cutter(6), bench.thickness * 0.6, habit=habit, program="rebate",
                              name="rebate", step=3, kind=None))
    if bench.perhaps(0.6):
        bench.through_holes([(-w * 0.3, 0), (w * 0.3, 0)], 5)
    if bench.perhaps(0.4):
        bench.letters("front", (-20, -5), 12)


def coin_tray(bench: Bench) -> None:
    """Wells in both faces, over one another or beside."""
    rng = bench.rng
    pitch, columns, rows = rng.choice([30, 36]), rng.randrange(2, 6), rng.randrange(2, 5)
    bench.pitch = pitch
    apart = rng.choice([(0, 0), (pitch / 2, pitch / 2), (5, 0)])
    deep = bench.thickness * 0.35
    bench.recesses("front", grid(columns, rows, pitch), pitch * 0.75, deep, "wells")
    bench.recesses("back", grid(columns, rows, pitch, middle=apart), pitch * rng.choice([0.75, 0.5]), deep, "wells")
    edge_or_pins(bench, columns * pitch + 30, rows * pitch + 30)


def finished_from_the_front(bench: Bench) -> None:
    """All that goes through is cut from the front; the back has recesses, a pocket and letters of its own."""
    rng = bench.rng
    w, h = rng.uniform(150, 300), rng.uniform(100, 200)
    bench.add("front", profile(Rectangle((0, 0), w, h, 8), "outside", Cutter(6), bench.thickness + 0.3,
                               habit=any_habit(rng), program="profile", name="profile", step=4, kind=None))
    places = [(rng.uniform(-w * 0.4, w * 0.4), rng.uniform(-h * 0.4, h * 0.4)) for _ in range(rng.randrange(1, 7))]
    bench.recesses("front", places, 6, bench.thickness + 0.5, "holes")
    if bench.perhaps(0.6):
        beside = [(x + rng.choice([0, 6, 12]), y + rng.choice([0, 7])) for x, y in places[: rng.randrange(1, 4)]]
        bench.recesses("back", beside, rng.choice([6, 10]), bench.thickness * 0.3, "recesses")
    bench.pocket("back", Rectangle((0, 0), w * 0.5, h * 0.4, 6))
    bench.letters("back", (0, h * 0.3), 14)
