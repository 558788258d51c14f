"""Judge of `flip --keep-climb`: the mirror's cuts, each closed contour the other way round, and a right count."""

import itertools
import math
import re
from collections import Counter
from collections.abc import Iterator

from tests.machine.compare import TOLERANCE_MM, Fault
from tests.machine.judge_moved import Move, moved_place
from tests.machine.shops import Place
from tests.machine.simulator import run
from tests.machine.state import Event, Point

__all__ = ["Loop", "judge_climb", "loops"]

# A closed contour: the cells of its way, its lowest height, the area it goes round (positive: counter-clockwise), its
# last line, and where it is closed.
Loop = tuple[frozenset[tuple[int, int]], int, float, int, tuple[int, int, int]]
_CELL_MM = 0.5


def judge_climb(source: str, out: str, move: Move, places: list[Place], said: str) -> list[Fault]:
    """Return what is wrong with a flipped program whose closed contours were to be run the other way round."""
    faults: list[Fault] = []
    for place in places:
        there = moved_place(place, move)
        before = run(source, place.shop, place.start).events
        after = run(out, there.shop, there.start).events
        found = [*_same_cuts(before, after, move), *_directions(before, after, move, said)]
        found += _heights(before, after, move)
        faults += [Fault(fault.kind, fault.line, f"{fault.message} ({place.name})") for fault in found]
    return faults


_ASIDE = (0.3137, 0.7713)
"""Parts of a cell that cells are moved by, so that round numbers don't lie between two, twice: what lies between two of
them one way doesn't the other."""


def _cell(point: Point, aside: float = _ASIDE[0]) -> tuple[int, int, int]:
    return round(point[0] / 0.01 + aside), round(point[1] / 0.01 + aside), round(point[2] / 0.01 + aside)


def _cuts(events: list[Event], move: Move | None, aside: float) -> Counter[tuple[object, ...]]:
    """Count cuts that go across, each without its direction."""
    found: Counter[tuple[object, ...]] = Counter()
    for event in events:
        way = [move.point(point) if move else point for point in event.way]
        across = max(abs(way[0][axis] - way[len(way) // 2][axis]) for axis in (0, 1)) > TOLERANCE_MM
        across = across or max(abs(way[0][axis] - way[-1][axis]) for axis in (0, 1)) > TOLERANCE_MM
        if event.kind in {"feed", "arc"} and across:
            ends = sorted([_cell(way[0], aside), _cell(way[-1], aside)])
            state = event.state
            on = (state.spindle, state.speed, state.mist, state.flood, state.overrides, state.path, state.tool)
            found[(event.kind, *ends, _near(way[len(way) // 2], aside), on)] += 1
    return found


def _near(point: Point, aside: float) -> tuple[int, int]:
    return round(point[0] / 0.02 + aside), round(point[1] / 0.02 + aside)


def _same_cuts(before: list[Event], after: list[Event], move: Move) -> Iterator[Fault]:
    found = [list(_cuts_apart(before, after, move, aside)) for aside in _ASIDE]
    if all(found):
        yield from found[0]


def _cuts_apart(before: list[Event], after: list[Event], move: Move, aside: float) -> Iterator[Fault]:
    one, two = _cuts(before, move, aside), _cuts(after, None, aside)
    # A line's middle point is one of its ends; which one depends on its direction, so lines are compared by ends.
    for kind in ("feed", "arc"):
        mine = Counter({(*key[:3], key[4] if kind == "feed" else key[3:]): 0 for key in one if key[0] == kind})
        for key, count in one.items():
            if key[0] == kind:
                mine[(*key[:3], key[4] if kind == "feed" else key[3:])] += count
        for key, count in two.items():
            if key[0] == kind:
                mine[(*key[:3], key[4] if kind == "feed" else key[3:])] -= count
        wrong = [key for key, count in mine.items() if count]
        if wrong:
            yield Fault("cuts", 0, f"{len(wrong)} cuts differ from the mirror's, such as {wrong[0]}")


def loops(events: list[Event], move: Move | None = None) -> list[Loop]:
    """Return the closed contours of a run: ways of cuts that come back to where they were, tabs crossed upright."""
    found: list[Loop] = []
    chain: list[tuple[Point, int]] = []
    for event in events:
        way = [move.point(point) if move else point for point in event.way]
        across = any(max(abs(p[axis] - way[0][axis]) for axis in (0, 1)) > TOLERANCE_MM for p in way)
        if event.moves and event.kind == "rapid" and across:
            chain = []
        if event.kind not in {"feed", "arc"} or not across:
            continue
        if not chain:
            chain = [(way[0], event.line)]
        for point in way[1:]:
            same = next((at for at, (p, _) in enumerate(chain) if math.dist(p[:2], point[:2]) < 0.005), None)
            chain.append((point, event.line))
            if same is not None:
                loop = chain[same:]
                del chain[same + 1 :]
                chain[same] = (point, event.line)
                area = sum(a[0] * b[1] - a[1] * b[0] for (a, _), (b, _) in itertools.pairwise(loop)) / 2
                if abs(area) > 0.5:
                    # Some way aside here too: a shop's origin adds noise to round numbers.
                    cells = frozenset(
                        (round(p[0] / _CELL_MM + 0.3137), round(p[1] / _CELL_MM + 0.3137)) for p, _ in loop
                    )
                    low = round(min(p[2] for p, _ in loop) / 0.01)
                    found.append((cells, low, area, loop[-1][1], _cell(loop[0][0])))
    return found


def _directions(before: list[Event], after: list[Event], move: Move, said: str) -> Iterator[Fault]:
    wanted, got = loops(before, move), loops(after)
    if len(wanted) != len(got):
        yield Fault("contours", 0, f"{len(got)} closed contours, expected {len(wanted)}")
        return
    left = list(wanted)
    turned = 0
    spots: list[tuple[int, int, int]] = []
    for cells, low, area, line, spot in got:
        same = [other for other in left if other[1] == low and len(other[0] ^ cells) <= 2]
        if not same:
            yield Fault("contours", line, "a closed contour that the mirror doesn't have")
            continue
        left.remove(same[0])
        if area * same[0][2] < 0:
            turned += 1
            spots.append(spot)
        elif not _named(same[0][3], line, said):
            yield Fault("direction", line, "a closed contour was left as the mirror has it, and nothing is said of it")
    claim = re.search(r"(\d+) closed contours? runs? the other way round", said)
    claimed = int(claim[1]) if claim else 0
    # Contours that touch in their first point may be called one.
    least = len([spot for at, spot in enumerate(spots) if at == 0 or spots[at - 1] != spot])
    if not least <= claimed <= turned:
        yield Fault("count", 0, f"{claimed} contours are said to be turned, {turned} are")


def _named(source_line: int, out_line: int, said: str) -> bool:
    """Return whether a line is named after the words about what is left."""
    about = "\n".join(text for text in said.splitlines() if "not turned" in text or "stay" in text)
    spans = [(int(a), int(b or a)) for a, b in re.findall(r"(\d+)(?:-(\d+))?", about)]
    return any(a - 1 <= line <= b + 1 for a, b in spans for line in (source_line, out_line))


def _heights(before: list[Event], after: list[Event], move: Move) -> Iterator[Fault]:
    """Find traverses that the mirror doesn't have, lower than all its own from or to that place."""
    own = [[move.point(point) for point in event.way] for event in before if event.kind == "rapid"]
    lowest = min((min(p[2] for p in way) for way in own), default=0.0)
    for event in after:
        if event.kind == "rapid" and min(point[2] for point in event.way) < lowest - TOLERANCE_MM:
            yield Fault("plunge", event.line, "a traverse lower than all of the source's")
