"""What tells where the faces lie, in parts that have little else in common: an edge, pins, or nothing."""

from tests.workshop.bench import Bench
from tests.workshop.shapes import Rectangle, blob


def edge_or_pins(bench: Bench, width: float, height: float) -> None:
    choice = bench.rng.random()
    if choice < 0.35:
        bench.profile(Rectangle((0, 0), width, height, bench.rng.choice([0, 6])))
    elif choice < 0.7:
        bench.pins(width / 2 + 10, height / 2 + 8, bench.rng.choice([2, 3, 4]))
    elif choice < 0.85:
        bench.profile(blob(bench.rng, width * 1.2, height * 1.2))
