"""Parts of string instruments."""

import numpy as np
from shapely import Polygon

from tests.workshop.bench import Bench
from tests.workshop.cuts import Cutter
from tests.workshop.layout import column
from tests.workshop.lines import carving
from tests.workshop.placement import Point, stretch
from tests.workshop.shapes import Outline, Rectangle, moved, spline

_BODY: list[Point] = [
    (0, -200), (110, -190), (150, -110), (95, -20), (120, 70), (105, 150), (70, 120), (35, 135),
    (-30, 130), (-60, 165), (-115, 140), (-110, 60), (-92, -20), (-160, -100), (-115, -190),
]  # fmt: skip
_SCROLL: list[Point] = [
    (0, 30), (-22, 20), (-30, -4), (-18, -27), (4, -38), (24, -56), (36, -80), (64, -74), (56, -44), (40, -22),
    (34, 2), (22, 22),
]  # fmt: skip


def body(bench: Bench) -> None:
    """A solid body: an outline without symmetry, cavities in both faces, holes for the neck's screws."""
    rng = bench.rng
    k = rng.uniform(0.6, 1.1)
    bench.profile(moved(spline(_BODY, 10), stretch(k, k)))
    bench.pocket("front", Rectangle((0, -60 * k), 80 * k, 40 * k, 6))
    bench.pocket("front", Rectangle((0, 20 * k), 80 * k, 40 * k, 6))
    bench.pocket("front", Rectangle((0, 100 * k), 56 * k, 90 * k, 5))
    bench.pocket("back", Outline(tuple((x * k, y * k) for x, y in ((60, -150), (120, -140), (100, -80), (50, -90)))))
    bench.through_holes([(x * k, y * k) for x, y in ((-20, 85), (20, 85), (-20, 130), (20, 130))], 4)
    if bench.perhaps(0.5):
        bench.recesses("front", [(60 * k, -110 * k), (80 * k, -90 * k)], 9, bench.thickness * 0.9, "controls")


def neck(bench: Bench) -> None:
    """A long neck with its head: holes for tuners, a slot for the rod in the front, the back carved round."""
    rng = bench.rng
    long, nut, heel = rng.uniform(350, 480), 44, 58
    head_right = rng.choice([40, 34])
    bench.profile(Outline(((-nut / 2, 0), (-38, 30), (-40, 170), (head_right, 170), (38, 30), (nut / 2, 0),
                           (heel / 2, -long), (-heel / 2, -long))))
    tuners = rng.choice([9.5, 10])
    for x in (-29, 29):
        bench.through_holes(column(3, 40, x, 45), tuners)
    bench.slot("front", (0, -8), (0, -long * 0.9), min(9, bench.thickness * 0.5), 6, "rod")
    if bench.perhaps(0.7):
        field = Polygon([(-nut / 2, -10), (nut / 2, -10), (heel / 2, -long * 0.8), (-heel / 2, -long * 0.8)])
        bench.add("back", carving(
            lambda x, y: -np.clip(0.2 + (x / 16) ** 2 * 6, 0.05, bench.thickness * 0.55), field, Cutter(12.7, "ball"),
            along=rng.choice(["x", "y"]), stepover=rng.choice([1, 2, 4]), sample=4))


def fretboard(bench: Bench) -> None:
    """Fret slots that end in the air, dots for the eye, a groove in the back; a profile, pins, or both."""
    rng = bench.rng
    scale, count, w = rng.choice([628, 648, 330]), rng.choice([12, 19, 22]), 52
    tool = rng.choice([0.6, 0.6, 1])
    for i in range(count):
        y = _fret(scale, i + 1)
        bench.slot("front", (-w / 2 - 5, y), (w / 2 + 5, y), 2.5, tool, "frets")
    bench.slot("back", (0, 10), (0, scale * 0.6), bench.thickness * 0.4, 6, "groove")
    choice = rng.random()
    if choice < 0.5:
        pins = [(-w / 2 - 15, 20), (w / 2 + 15, scale * 0.6), (w / 2 + 15, 20)]
        bench.through_holes(pins[: rng.choice([2, 3])], 6, program="pins")
    if choice > 0.3:
        end = scale * 0.72
        bench.profile(Outline(((-21, 0), (21, 0), (28, end), (-28, end))))
    bench.recesses("front", [(0, _fret(scale, i - 0.5)) for i in (3, 5, 7, 9)], 6, 2, "dots")


def bridge(bench: Bench) -> None:
    """A low bridge: string holes, a slot for the saddle, wings carved in the front, the edge from both faces."""
    rng = bench.rng
    w = rng.uniform(140, 190)
    strings = [(-27 + 10.8 * i, rng.choice([4, 4, 5])) for i in range(6)]
    bench.through_holes(strings, rng.choice([3, 5]), program="strings")
    bench.slot("front", (-36, -6), (36, -6 + rng.choice([0, 2.5])), bench.thickness * 0.5, 3, "saddle")
    bench.profile(Rectangle((0, 0), w, 32, rng.choice([4, 10])))
    if bench.perhaps(0.6):
        for side in (-1, 1):
            field = Rectangle((side * (w / 2 - 18), 0), 36, 40).polygon
            bench.add("front", carving(
                lambda x, _: -np.clip((np.abs(x) - w / 2 + 36) / 36 * bench.thickness * 0.4, 0.1, None), field,
                Cutter(6, "ball"), along="y", stepover=rng.choice([1, 1.5, 3]), program="wings"))


def tuning_peg_plate(bench: Bench) -> None:
    """A plate with two rows of holes of unlike diameters, not quite opposite each other, and letters on both faces."""
    rng = bench.rng
    for x, apart in ((-24, 0), (24, rng.choice([0, 4, 7]))):
        bench.through_holes(column(3, 36, x, -36 + apart), 10, program="bushings")
        bench.through_holes(column(3, 36, x * 0.55, -30 + apart), 3, program="screws")
    bench.profile(Rectangle((0, 0), 84, 150, rng.choice([6, 20])))
    if bench.perhaps(0.5):
        bench.letters("front", (-16, 52), 10)
    if bench.perhaps(0.5):
        bench.letters("back", (16, -60), 8)


def scroll_head(bench: Bench) -> None:
    """A head that curls over, cut out and drilled at its eye; nothing in it is symmetric."""
    rng = bench.rng
    size = rng.uniform(0.9, 1.3)
    bench.profile(moved(spline(_SCROLL), stretch(size, size)))
    bench.through_holes([(0, 0)], rng.choice([6, 8]), program="eye")
    if bench.perhaps(0.6):
        bench.through_holes([(48, -62)], 6, program="eye")
    if bench.perhaps(0.5):
        bench.pocket("back", Rectangle((14, -24), 24, 10, 4), diameter=4)


def _fret(scale: float, number: float) -> float:
    """Return the place of a fret: each shortens the string by a twelfth of an octave."""
    return scale - scale / 2 ** (number / 12)
