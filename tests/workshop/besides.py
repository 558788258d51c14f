"""What any job may have besides its part: a surfaced face, hold-down screws, a test cut in the waste."""

from dataclasses import replace

from tests.workshop.bench import Bench
from tests.workshop.clearing import Clearing, pocket
from tests.workshop.cuts import FACES, Cut, Cutter, Face, reach
from tests.workshop.drilling import Hole, Method
from tests.workshop.lines import slot
from tests.workshop.shapes import Rectangle


def add_besides(bench: Bench) -> None:
    """Add what is cut before the part; screws go into one face only, for in both they would be holes of the part."""
    rng = bench.rng
    (x0, y0), (x1, y1) = ((float(x), float(y)) for x, y in reach([*bench.cuts["front"], *bench.cuts["back"]]))
    if bench.perhaps(0.07):
        margin = rng.uniform(0, 15)
        whole = Rectangle(((x0 + x1) / 2, (y0 + y1) / 2), x1 - x0 + 2 * margin, y1 - y0 + 2 * margin)
        for face in rng.choice([FACES[:1], FACES[1:], FACES]):
            plan = Clearing(Cutter(25.4), 0.5, "raster", rng.choice([0, 90]), stepover=rng.uniform(0.3, 0.8))
            surfacing = pocket(whole, plan, "surface")
            _first(bench, face, [surfacing] if surfacing else [])
    if bench.perhaps(0.07):
        margin = rng.uniform(8, 25)
        method = Method(Cutter(3.5, "drill"), "screws", "G81")
        places = [(x, y) for x in (x0 - margin, x1 + margin) for y in (y0 - margin, y1 + margin)]
        screws = [method.cut(Hole(place, 3.5, bench.thickness * 0.8, shared=False)) for place in places]
        _first(bench, rng.choice(FACES), screws)
    if bench.perhaps(0.05):
        test = slot((x1 + 12, y0), (x1 + 12, y0 + 40), Cutter(6), 2, program="test", step=2)
        _first(bench, rng.choice(FACES), [test])


def _first(bench: Bench, face: Face, cuts: list[Cut]) -> None:
    bench.cuts[face] = [*(replace(cut, part=-1) for cut in cuts), *bench.cuts[face]]
