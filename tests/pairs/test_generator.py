"""The made pairs are what they say: read from their programs' text, plainly and slowly."""

from itertools import product
from math import hypot

import numpy as np
import pytest
from shapely import Point, Polygon

from tests.pairs.equal import common, equal_placements, places, shown_by
from tests.pairs.families import FAMILIES
from tests.pairs.operations import ALLOWANCE_MM, Contour, Hole
from tests.pairs.pair import Pair, make
from tests.pairs.placement import EIGHT, HALF_TURN, Placement, farthest, flip, shift, turn
from tests.pairs.plain_reader import Step, steps
from tests.pairs.treatments import TREATMENTS
from tests.pairs.truth import truth


def drilled(pair: Pair, face: str) -> list[tuple[float, float]]:
    """Return where a face's programs of holes plunge, in the blank's frame."""
    placed = pair.posted.placed if face == "back" else pair.setting.front
    found = []
    for made in pair.back if face == "back" else pair.front:
        if made.name.startswith(f"{face}-holes"):
            before: Step | None = None
            for step in steps(made.text):
                if step.code == "81" or (before and step.code == "1" and step.z < 0):
                    found.append((~placed).point(step.x, step.y))
                before = step
    return found


def apart(family: str, treatment: str) -> list[Pair]:
    """Return pairs whose programs have one tool each, so that their names say what they make."""
    pairs = [make(family, seed, treatment) for seed in range(8)]
    return [pair for pair in pairs if "front.nc" not in names(pair) and "back.nc" not in names(pair)][:4]


def names(pair: Pair) -> set[str]:
    return {made.name for made in (*pair.front, *pair.back)}


@pytest.mark.parametrize("treatment", ["right", "forgotten mirror", "half turn", "small turn", "inch, right"])
@pytest.mark.parametrize("family", ["rows", "drilled", "letters"])
def test_the_planted_placement_maps_every_shared_hole_of_the_back_onto_one_of_the_front(
    family: str, treatment: str
) -> None:
    pairs = apart(family, treatment)
    assert len(pairs) > 1
    for pair in pairs:
        front, back = drilled(pair, "front"), drilled(pair, "back")
        shared = {(hole.x, hole.y) for hole in pair.part.holes()}
        assert len(back) == sum(isinstance(o, Hole) and o.group == "holes" for o in pair.part.back)
        for place in shared:
            for holes in (front, back):
                assert min(hypot(place[0] - x, place[1] - y) for x, y in holes) < 0.003


@pytest.mark.parametrize("family", ["pockets", "outline", "bowl"])
def test_each_face_runs_round_the_edge_at_its_own_cutters_radius(family: str) -> None:
    pairs = apart(family, "right")
    assert len(pairs) > 1
    for face, operations, placed in [
        side
        for pair in pairs
        for side in (
            (pair.front, pair.part.front, pair.setting.front),
            (pair.back, pair.part.back, pair.posted.placed),
        )
    ]:
        for contour in (o for o in operations if isinstance(o, Contour)):
            edge = contour.shape.polygon().exterior
            made = next(m for m in face if f"profile-{contour.tool_mm:g}" in m.name)
            cut = [(~placed).point(step.x, step.y) for step in steps(made.text) if step.z < 0 and step.code != "0"]
            beside = [edge.distance(Point(place)) - contour.tool_mm / 2 for place in cut]
            # It never cuts into the edge; where it doesn't run along it, it roughs beside it or comes in from there.
            assert all(-0.02 < away < contour.tool_mm + ALLOWANCE_MM + 0.02 for away in beside)
            assert sum(abs(away) < 0.02 for away in beside) >= 2
            assert not any(Polygon(edge).buffer(-0.02).contains(Point(place)) for place in cut)


@pytest.mark.parametrize("seed", range(6))
def test_no_placement_that_fits_as_well_is_left_out(seed: int) -> None:
    pair = make("drilled", seed, "right")
    front, back = places(shown_by(pair.part.front)), places(shown_by(pair.part.back))
    fits = {(p.xx, p.xy, p.yx, p.yy, round(p.dx, 3), round(p.dy, 3)) for p in pair.equal}
    name = "hole"
    assert name in common(front, back)
    best = len({tuple(p) for p in front[name].tolist()} & {tuple(p) for p in back[name].tolist()})
    for rows, one, other in product(EIGHT, front[name].tolist(), back[name].tolist()):
        turned = np.array(rows).reshape(2, 2)
        move = np.array(one) - turned @ np.array(other)
        there = {tuple(turned @ np.array(p) + move) for p in back[name].tolist()}
        if len(there & {tuple(p) for p in front[name].tolist()}) >= best:
            assert (*rows, *(move / 1000).round(3).tolist()) in fits


def test_a_square_of_holes_fits_eight_ways_round() -> None:
    square = places([("hole", x, y) for x in (-10.0, 10.0) for y in (-10.0, 10.0)])
    assert len(set(equal_placements(square, square, [Placement()]))) == 8


@pytest.mark.parametrize("family", FAMILIES)
def test_a_family_makes_the_same_pair_of_the_same_seed(family: str) -> None:
    once, again = make(family, 3), make(family, 3)
    assert (once.front, once.back, once.told) == (again.front, again.back, again.told)


@pytest.mark.parametrize("family", FAMILIES)
def test_a_right_pair_is_not_out(family: str) -> None:
    for seed in range(3):
        known = truth(make(family, seed, "right"))
        assert known.part_mm == pytest.approx(0, abs=1e-6)
        assert known.shown_mm == pytest.approx(0, abs=1e-6)


def test_blunders_are_out_by_what_was_planted() -> None:
    tried = 0
    for seed in range(12):
        pair = make("drilled", seed, "shifted")
        if pair.told.datum is None:
            assert truth(pair).shown_mm == pytest.approx(0, abs=1e-6)
            continue
        move = pair.posted.placed @ ~pair.setting.back
        assert truth(pair).shown_mm == pytest.approx(hypot(move.dx, move.dy), abs=1e-3)
        tried += 1
    assert tried > 3


@pytest.mark.parametrize("treatment", TREATMENTS)
def test_every_treatment_changes_the_back_but_the_right_ones(treatment: str) -> None:
    right, treated = make("drilled", 5, "right"), make("drilled", 5, treatment)
    if treated.treatment == "right":
        return
    assert [made.text for made in sorted(right.back, key=lambda m: m.name)] != [
        made.text for made in sorted(treated.back, key=lambda m: m.name)
    ]


def test_placements_compose_and_invert() -> None:
    some = flip("y", (20.0, 3.0)) @ turn(30.0, (1.0, 2.0)) @ shift(4.0, 5.0)
    points = np.array([(0.0, 0.0), (100.0, -20.0)])
    assert farthest(~some @ some, Placement(), points) < 1e-9
    assert flip("y", (20.0, 3.0)).point(5.0, 10.0) == (15.0, 7.0)
    assert flip("x", (20.0, 3.0)).point(5.0, 10.0) == (-15.0, -7.0)
    assert HALF_TURN.point(1.0, 2.0) == (-1.0, -2.0)
