"""Round things: trays, rings, bowls, rosettes, gears, polygons."""

import math

from tests.workshop.bench import Bench
from tests.workshop.cuts import FACES, Cut, Cutter, Down, Lift, Move, Over, Round, Straight
from tests.workshop.layout import ring as places_round
from tests.workshop.profiling import Habit, profile
from tests.workshop.shapes import Circle, Outline, Rectangle, regular


def round_tray(bench: Bench) -> None:
    """A hollow in the front, a line for the foot in the back."""
    rng = bench.rng
    radius = rng.uniform(80, 200)
    bench.profile(Circle((0, 0), radius))
    bench.pocket("front", Circle((0, 0), radius - 15), way="rings", diameter=8)
    if bench.perhaps(0.6):
        bench.add("back", profile(Circle((0, 0), radius * 0.8), "on", Cutter(6), 3, habit=Habit(), program="foot",
                                  name="foot", step=3, kind=None))
    if bench.perhaps(0.4):
        bench.letters("back", (-20, -10), 20)
    if bench.perhaps(0.3):
        bench.through_holes([(radius - 7, 0)], 5)


def ring(bench: Bench) -> None:
    """Two round edges, holes between them or none, a mark across the back."""
    rng = bench.rng
    outer = rng.uniform(40, 150)
    inner = outer * rng.uniform(0.4, 0.8)
    bench.profile(Circle((0, 0), outer))
    bench.profile(Circle((0, 0), inner), inside=True)
    count = rng.choice([0, 3, 4, 6])
    if count:
        places = places_round(count, (outer + inner) / 2)
        if bench.perhaps(0.5):
            bench.recesses("front", places, 5, bench.thickness * 0.5, "holes")
        else:
            bench.through_holes(places, 5)
    if bench.perhaps(0.4):
        bench.slot("back", (inner, 0), (outer, 0), 3, 3, "mark")


def many_sided(bench: Bench) -> None:
    """A regular polygon, recesses in the middle of both faces."""
    rng = bench.rng
    radius, count = rng.uniform(40, 120), rng.choice([3, 5, 6, 8])
    bench.profile(regular((0, 0), radius, count, 180 / count))
    if bench.perhaps(0.7):
        bench.pocket("front", Circle((0, 0), radius * 0.5), way="rings")
    if bench.perhaps(0.5):
        bench.letters("front", (-radius * 0.4, -8), 16)
    if bench.perhaps(0.5):
        bench.pocket("back", Circle((rng.choice([0, 5]), 0), radius * 0.4), way="rings")


def rosette(bench: Bench) -> None:
    """Holes in a circle, a recess in the middle."""
    rng = bench.rng
    count, radius = rng.choice([5, 6, 8, 12]), rng.uniform(40, 90)
    bench.through_holes(places_round(count, radius), rng.choice([6, 10, 14]))
    if bench.perhaps(0.6):
        bench.profile(Circle((0, 0), radius * 1.4))
    bench.pocket("front", Circle((0, 0), radius * 0.5), way="rings")
    if bench.perhaps(0.5):
        bench.through_holes([(0, 0)], 8)
    if bench.perhaps(0.4):
        bench.pocket("back", Rectangle((radius * 0.2, 0), radius * 0.4, radius * 0.2, 3))


def clock_face(bench: Bench) -> None:
    """A hole in the middle, twelve for the hours, a recess for the movement in the back."""
    rng = bench.rng
    radius = rng.uniform(80, 140)
    bench.through_holes([(0, 0)], 10)
    hours = places_round(12, radius * 0.8)
    if bench.perhaps(0.5):
        bench.through_holes(hours, 6)
    else:
        bench.recesses("front", hours, 6, 3, "hours")
    square = Rectangle((0, 0), 2 * radius, 2 * radius, rng.choice([0, 20]))
    bench.profile(Circle((0, 0), radius) if bench.perhaps(0.5) else square)
    bench.pocket("back", Rectangle((rng.choice([0, 0, 8]), 0), 56, 56, 4), way="rings")


def turned_bowl(bench: Bench) -> None:
    """A bowl of rings from both faces, hollow in the front and round in the back."""
    rng = bench.rng
    radius, t = rng.uniform(60, 110), bench.thickness
    tool = Cutter(rng.choice([6, 12.7]), "ball")
    for face in FACES:
        step = rng.choice([1.5, 2.3, 3.7])
        moves: list[Move] = [Lift(), Over((0.0, 0.0)), Down(-t * 0.45 if face == "front" else -0.2)]
        for number in range(1, math.ceil((radius + 3) / step)):
            r = number * step
            deep = t * 0.45 * (1 - (r / radius) ** 2) if face == "front" else t * 0.5 * (r / radius) ** 2
            z = -min(max(deep, 0.05), t * 0.55)
            moves += [Straight((r, 0), z), Round((-r, 0), z, (0, 0), ccw=True), Round((r, 0), z, (0, 0), ccw=True)]
        bench.add(face, Cut("rings", tool, "rings", (*moves, Lift())))
    if bench.perhaps(0.7):
        bench.profile(Circle((0, 0), radius + 2))
    if bench.perhaps(0.4):
        pins = [(radius + 15, 0.0), (-radius - 15, 0.0), (0.0, radius + 15)]
        bench.through_holes(pins[: rng.choice([2, 3])], 6)


def gear(bench: Bench) -> None:
    """A toothed wheel with a bore and, maybe, one hole off the middle: it fits itself after every tooth."""
    rng = bench.rng
    teeth, radius = rng.choice([9, 12, 16, 24]), rng.uniform(45, 90)
    tooth = radius * 5 / teeth / 2
    edge = [
        (r * math.cos(2 * math.pi * (i + share) / teeth), r * math.sin(2 * math.pi * (i + share) / teeth))
        for i in range(teeth)
        for share, r in ((0, radius), (0.28, radius), (0.42, radius - tooth), (0.86, radius - tooth))
    ]
    bench.profile(Outline(tuple(edge)))
    bench.through_holes([(0, 0)], rng.choice([8, 10]))
    if bench.perhaps(0.4):
        bench.through_holes([(radius * 0.5, 0)], 5, program="crank")
    if bench.perhaps(0.5):
        bench.pocket("front", Circle((0, 0), radius * 0.3), way="rings", diameter=4)
    if bench.perhaps(0.3):
        bench.recesses("back", places_round(4, radius * 0.45), 8, bench.thickness * 0.4, "recesses")


def fan_of_slots(bench: Bench) -> None:
    """Openings that point to the middle, as in a spirit burner's stand, and a round edge or none."""
    rng = bench.rng
    count, radius = rng.choice([5, 6, 7, 9]), rng.uniform(50, 100)
    for i in range(count):
        angle = 360 * i / count
        place = (radius * 0.6 * math.cos(math.radians(angle)), radius * 0.6 * math.sin(math.radians(angle)))
        bench.opening(Rectangle(place, radius * 0.5, 9, 4.5, angle), 6)
    if bench.perhaps(0.6):
        bench.profile(Circle((0, 0), radius))
    if bench.perhaps(0.4):
        bench.through_holes([(0, 0)], 6)
    if bench.perhaps(0.3):
        bench.pocket("back", Rectangle((0, 0), radius * 0.4, 12, 5), diameter=4)
