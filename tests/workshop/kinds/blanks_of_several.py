"""Several parts in one blank: nests of like ones, and of unlike ones that lie at any angle."""

from tests.workshop.bench import Bench
from tests.workshop.layout import grid
from tests.workshop.placement import Placement, Point, shift, turn
from tests.workshop.shapes import Circle, Outline, Rectangle, Shape, blob, moved


def nest(bench: Bench) -> None:
    """Like parts in columns and rows, each with a hole or two."""
    rng = bench.rng
    columns, rows, w, h = rng.randrange(1, 4), rng.randrange(2, 4), rng.uniform(40, 90), rng.uniform(30, 70)
    bench.pitch = w + 16
    kind, curved = rng.choice(["rounded", "round", "triangle", "any"]), blob(rng, w, h)
    blind = bench.perhaps(0.5)
    for bench.part, (x, y) in enumerate(grid(columns, rows, w + 16, h + 16)):
        shapes: dict[str, Shape] = {
            "rounded": Rectangle((x, y), w, h, 6),
            "round": Circle((x, y), min(w, h) / 2),
            "triangle": Outline(((x - w / 2, y - h / 2), (x + w / 2, y - h / 2), (x - w / 4, y + h / 2))),
            "any": moved(curved, shift(x, y)),
        }
        bench.profile(shapes[kind])
        if blind:
            bench.recesses("front", [(x + (0 if kind == "round" else 3), y)], 8, bench.thickness * 0.4, "holes")
        elif bench.perhaps(0.7):
            bench.through_holes([(x - 5, y), (x + 5, y)], 4)


def dominoes(bench: Bench) -> None:
    """Small parts with pips in the front and a bar in the back."""
    rng, bench.pitch = bench.rng, 34
    for bench.part, (x, y) in enumerate(grid(rng.randrange(2, 5), rng.randrange(1, 4), 34, 58)):
        bench.profile(Rectangle((x, y), 24, 48, 3))
        pips = {(x + rng.choice([-7, 0, 7]), y + 6 + rng.choice([0, 6, 12])) for _ in range(rng.randrange(1, 7))}
        bench.recesses("front", sorted(pips), 5, 1.5, "pips")
        bench.slot("back", (x - 8, y), (x + 8, y), 1, 3, "bar")


def unlike_parts_at_angles(bench: Bench) -> None:
    """Two to four unlike parts, each turned as it fits, with tabs or without, drilled and engraved."""
    rng = bench.rng
    for part in range(rng.randrange(2, 5)):
        bench.part = part
        place = shift(part * 130.0, rng.uniform(-15, 15)) @ turn(rng.choice([0, 90, 30, -45, rng.uniform(-80, 80)]))
        w, h = rng.uniform(60, 95), rng.uniform(40, 70)
        corners: list[Point] = [(-w / 2, -h / 2), (w / 2, -h / 2), (w / 2, h / 4), (w / 5, h / 2), (-w / 2, h / 2)]
        shape = Outline(tuple(corners)) if bench.perhaps(0.5) else blob(rng, w, h)
        bench.profile(moved(shape, place))
        if bench.perhaps(0.7):
            bench.through_holes(_placed(place, [(-w * 0.2, 0), (w * 0.15, h * 0.1)][: rng.choice([1, 2])]), 5)
        if bench.perhaps(0.4):
            bench.recesses("back", _placed(place, [(0, -h * 0.2)]), 8, bench.thickness * 0.4, "recesses")
        if bench.perhaps(0.3):
            bench.letters("front", place((-w * 0.3, -h * 0.3)), 8)


def left_and_right_pair(bench: Bench) -> None:
    """A part and its mirror image side by side, as the two ends of a shelf are cut."""
    rng = bench.rng
    w, h = rng.uniform(70, 120), rng.uniform(90, 160)
    corners: list[Point] = [(-w / 2, -h / 2), (w / 2, -h / 2), (w / 2, h * 0.2), (w * 0.1, h / 2), (-w / 2, h / 2)]
    shape, hole = Outline(tuple(corners)), (w * 0.2, -h * 0.25)
    gap = w / 2 + 12
    for part, place in enumerate((shift(-gap, 0), Placement(xx=-1.0, x0=gap))):
        bench.part = part
        bench.profile(moved(shape, place))
        if bench.perhaps(0.85):
            bench.through_holes([place(hole), place((-w * 0.3, h * 0.3))], rng.choice([5, 8]))
        bench.slot("back", place((-w * 0.3, -h * 0.1)), place((w * 0.3, -h * 0.1)), bench.thickness * 0.3, 6, "housing")


def strip_of_tags(bench: Bench) -> None:
    """A strip of small tags at one pitch, a hole in each, lettered on one face or on both."""
    rng = bench.rng
    count, pitch = rng.randrange(3, 8), rng.choice([34, 40])
    bench.pitch = pitch
    for bench.part, (x, y) in enumerate(grid(count, 1, pitch)):
        bench.profile(Rectangle((x, y), 24, 54, rng.choice([4, 12])))
        bench.through_holes([(x, y + 20)], 4)
        bench.letters("front", (x - 6, -14), 8, 90)
        if bench.perhaps(0.3):
            bench.letters("back", (x + 6, -14), 8, 90)


def _placed(place: Placement, points: list[Point]) -> list[Point]:
    return [place(point) for point in points]
