"""Parts as they are mostly cut: roughed with an allowance and finished, chamfered, with dog bones, hole by hole."""

import math
from dataclasses import replace

import numpy as np

from tests.workshop.bench import Bench
from tests.workshop.clearing import Clearing, pocket
from tests.workshop.cuts import FACES, Cutter
from tests.workshop.dog_bones import DogBoned
from tests.workshop.drilling import Hole, Method
from tests.workshop.layout import corners, grid, ring, row
from tests.workshop.lines import open_cut
from tests.workshop.profiling import Habit, any_habit, profile
from tests.workshop.shapes import Circle, Outline, Rectangle, Shape, blob


def roughed_and_finished(bench: Bench) -> None:
    """An edge roughed by a thick cutter with an allowance and finished by a thin one, from both faces; a pocket too."""
    rng = bench.rng
    w, h = rng.uniform(140, 260), rng.uniform(100, 180)
    shapes: list[Shape] = [Rectangle((0, 0), w, h, rng.choice([8, 20])), blob(rng, w, h, 0.15)]
    shape = rng.choice(shapes)
    finish = Cutter(rng.choice([3, 4]))
    for face, depth in bench.through_depths().items():
        habit = replace(any_habit(rng), compensated=False, allowance=0.0)
        if bench.perhaps(0.8):
            bench.add(face, profile(shape, "outside", Cutter(rng.choice([6, 8])), depth - 0.6,
                                    habit=replace(habit, tabs=0), program="rough", name="rough", step=4, kind=None,
                                    left=rng.choice([0.3, 0.5, 1.0])))
        bench.add(face, profile(shape, "outside", finish, depth, habit=habit, program="finish", name="profile",
                                step=rng.choice([3, 40])))
    for face in FACES:
        plan = Clearing(Cutter(8), bench.thickness * 0.3, "raster", rng.choice([0, 90]), allowance=0.4)
        recess = Rectangle((rng.uniform(-10, 10), 0), w * 0.45, h * 0.4, 6)
        bench.add(face, pocket(recess, plan, "rough"))
        bench.add(face, profile(recess, "inside", Cutter(4), bench.thickness * 0.3, habit=Habit(lead="line"),
                                program="finish", name="recess", step=10, kind=None))
    if bench.perhaps(0.4):
        bench.through_holes([(-w * 0.35, h * 0.3), (w * 0.35, -h * 0.3)], 5)


def chamfered(bench: Bench) -> None:
    """The edge cut from both faces, and its arris broken by a pointed tool on one or on both."""
    rng = bench.rng
    w, h = rng.uniform(90, 220), rng.uniform(70, 160)
    shapes: list[Shape] = [Rectangle((0, 0), w, h, rng.choice([6, 15])), Circle((0, 0), h / 2), blob(rng, w, h, 0.15)]
    shape = rng.choice(shapes)
    bench.profile(shape)
    for face in rng.choice([FACES[:1], FACES[1:], FACES]):
        deep, habit = rng.choice([1.5, 2, 3]), Habit(lead=rng.choice(["plunge", "arc"]))
        bench.add(face, profile(shape, "on", Cutter(12.7, "vee", 90), deep, habit=habit, program="chamfer",
                                name="chamfer", step=5, kind=None))
    if bench.perhaps(0.6):
        bench.through_holes([(-h * 0.25, h * 0.1), (h * 0.25, -h * 0.1)], rng.choice([5, 8]))
    if bench.perhaps(0.5):
        bench.letters("front", (-h * 0.2, -8), 14)


def dog_boned_mortises(bench: Bench) -> None:
    """Mortises whose corners are relieved so that square tenons go in, through from both faces."""
    rng = bench.rng
    count, tool = rng.randrange(1, 5), rng.choice([4.0, 6.0])
    for i in range(count):
        shape = DogBoned((i * 60.0, rng.choice([0, 0, 12])), rng.choice([30, 38]), rng.choice([18, 25]), tool)
        for face, depth in bench.through_depths().items():
            habit = Habit(clockwise=bench.perhaps(0.5), first_leg=rng.choice([1, 4, 7, 10]))
            bench.add(face, profile(shape, "inside", Cutter(tool), depth, habit=habit, program="mortises",
                                    name="opening", step=rng.choice([3, 6])))
    middle = ((count - 1) * 30.0, 4.0)
    if bench.perhaps(0.5):
        bench.profile(Rectangle(middle, count * 60 + 40, 70, rng.choice([0, 5])))
    if bench.perhaps(0.4):
        bench.through_holes([(-24, -22), ((count - 1) * 60 + 24, 28)], 5)
    if bench.perhaps(0.3):
        bench.pocket("back", Rectangle((middle[0], -24), 40, 8, 3), diameter=4)


def coarse_bores(bench: Bench) -> None:
    """Large holes bored by a helix of coarse chords, in one face or in both, and small drilled ones."""
    rng = bench.rng
    count, diameter = rng.randrange(2, 7), rng.choice([10, 16, 22])
    places = rng.choice([row(count, 45), ring(count, 60), [(i * 40.0, i * i * 7.0) for i in range(count)]])
    for face, depth in bench.through_depths().items():
        way = rng.choice(["coarse helix", "coarse helix", "helix", "rings"])
        method = Method(Cutter(6), "bores", way)
        for place in places:
            bench.add(face, method.cut(Hole(place, diameter, depth)))
    if bench.perhaps(0.5):
        bench.through_holes(corners(130, 90)[: rng.choice([2, 3])], 4, program="pins")
    if bench.perhaps(0.3):
        bench.profile(Rectangle((0, 0), 420, 330, 10))


def drilled_in_steps(bench: Bench) -> None:
    """Holes spotted, drilled thin, then drilled to size, in programs of their own."""
    rng = bench.rng
    count = rng.randrange(2, 8)
    places = [(rng.uniform(-120, 120), i * 28.0 + rng.uniform(-6, 6)) for i in range(count)]
    diameter = rng.choice([6, 8, 10])
    for face, depth in bench.through_depths().items():
        for x, y in places:
            spot, thin = Method(Cutter(6, "vee", 90), "spot", "plunge"), Method(Cutter(3, "drill"), "thin", "G83")
            bench.add(face, spot.cut(Hole((x, y), 6, 1, shared=False)))
            bench.add(face, thin.cut(Hole((x, y), 3, depth, shared=False)))
            bench.add(face, Method(Cutter(diameter, "drill"), "size", "G81").cut(Hole((x, y), diameter, depth)))
    if bench.perhaps(0.4):
        bench.profile(Rectangle((0, count * 14.0), 300, count * 28 + 70, 4))
    if bench.perhaps(0.4):
        bench.pocket("front", Rectangle((0, -60), 80, 24, 4))


def surfaced_and_engraved(bench: Bench) -> None:
    """Both faces surfaced right over, a border and a star engraved in the front, pins through, an edge or none."""
    rng = bench.rng
    w, h = rng.uniform(120, 240), rng.uniform(100, 180)
    for face in FACES:
        plan = Clearing(Cutter(25.4), 0.5, "raster", rng.choice([0, 90]), stepover=0.6)
        bench.add(face, pocket(Rectangle((0, 0), w + 60, h + 60), plan, "surface"))
    border = Rectangle((0, 0), w - 20, h - 20, rng.choice([0, 10]))
    bench.add("front", profile(border, "on", Cutter(6.35, "vee", 60), 0.8, habit=Habit(), program="engrave",
                               name="border", step=2, kind=None))
    points = [(r * math.cos(math.radians(36 * i + 90)), r * math.sin(math.radians(36 * i + 90)))
              for i in range(11) for r in ([30.0, 12.0][i % 2],)]
    bench.add("front", open_cut(points, Cutter(6.35, "vee", 60), 1, program="engrave", step=2))
    if bench.perhaps(0.6):
        bench.pins(w / 2 + 12, h / 2 + 12, rng.choice([2, 3, 4]))
    if bench.perhaps(0.6):
        bench.profile(Rectangle((0, 0), w, h, rng.choice([0, 10, 10])))


def tabbed_cutouts(bench: Bench) -> None:
    """Openings and an edge held by tabs, cut halfway from each face in passes of unlike number."""
    rng = bench.rng
    w, h = rng.uniform(160, 280), rng.uniform(110, 180)
    triangle = Outline(((w * 0.05, -h * 0.3), (w * 0.4, -h * 0.3), (w * 0.4, h * 0.3)))
    shapes: list[Shape] = [Rectangle((-w * 0.22, 0), w * 0.3, h * 0.55, 8), triangle]
    for shape in shapes[: rng.choice([1, 2])]:
        for face, depth in bench.through_depths().items():
            habit = replace(any_habit(rng), tabs=rng.choice([2, 3]), compensated=False, allowance=0.0, lead="plunge")
            bench.add(face, profile(shape, "inside", Cutter(4), depth, habit=habit, program="openings",
                                    name="opening", step=rng.choice([2, 4, 30])))
    if bench.perhaps(0.6):
        bench.profile(Rectangle((0, 0), w, h, rng.choice([0, 6, 25])))
    if bench.perhaps(0.4):
        bench.through_holes(grid(2, 1, w * 0.8, middle=(0, h * 0.42)), rng.choice([4, 5]))


def plugged_screw_holes(bench: Bench) -> None:
    """Holes countersunk by a pointed tool in the front, recesses for plugs in the back, over them or between."""
    rng = bench.rng
    count, pitch = rng.randrange(2, 6), rng.choice([40, 64])
    places = grid(count, 2, pitch, 70)
    bench.pitch = pitch
    bench.through_holes(places, 4.5)
    sink = Method(Cutter(12.7, "vee", 90), "sink", "plunge")
    for place in places:
        bench.add("front", sink.cut(Hole(place, 12.7, 4.5, shared=False)))
    off = np.array([pitch / 2, 0]) * rng.choice([0, 1])
    bench.recesses("back", [(x + float(off[0]), y) for x, y in places[:: rng.choice([1, 2])]], 10, 4, "plugs")
    if bench.perhaps(0.5):
        bench.profile(Rectangle((0, 0), count * pitch + 40, 110, rng.choice([0, 5])))
