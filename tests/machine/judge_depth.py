"""Judge of `depth`: what the floor's passes became, how deep each bite is, and that all else is as it was."""

import itertools
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field

from tests.machine.compare import TOLERANCE_MM, Fault, same_state
from tests.machine.shops import Place
from tests.machine.simulator import run
from tests.machine.state import Event, Point, State, Trace
from tests.machine.verbs import without_header

__all__ = ["Asked", "judge_depth"]

Cell = tuple[int, int]
# Cells are small, and samples of the same way fall into the same ones; half a cell aside keeps round numbers inside.
_CELL_MM = 0.25
_SAMPLE_MM = 0.2
_COARSE = 1e-2


@dataclass(frozen=True)
class Asked:
    """Where the floor is and shall be, in millimetres of the program's numbers, and the step-down that was named."""

    level: float
    floor: float
    step: float | None = None
    top: float = 0.0


@dataclass
class _Ground:
    """How deep each cell is cut, and the deepest single bite there was, in the program's numbers."""

    top: float
    depth: dict[Cell, float] = field(default_factory=dict)
    holes: dict[Cell, float] = field(default_factory=dict)
    bite: dict[Cell, float] = field(default_factory=lambda: defaultdict(float))
    low_traverse: dict[Cell, float] = field(default_factory=dict)


def judge_depth(source: str, out: str, asked: Asked, places: list[Place]) -> list[Fault]:
    """Return what is wrong with a program whose floor was moved."""
    if abs(asked.level - asked.floor) < 1e-9 and asked.step is None and without_header(out) != source:
        return [Fault("no-op", 0, "nothing was to change, and the program isn't the source byte for byte")]
    faults: list[Fault] = []
    ground: dict[tuple[object, ...], list[Fault]] = {}
    for place in places:
        before = run(source, place.shop, place.start)
        after = run(out, place.shop, place.start)
        # In the program's own numbers all places cut the same ground, unless a cut depends on the start.
        numbers = _numbers(before, place, asked.top), _numbers(after, place, asked.top)
        if numbers not in ground:
            ground[numbers] = list(_ground(before, after, asked, place))
        found = [*_passes(before, after, asked, place), *ground[numbers], *_left(before, after)]
        faults += [Fault(fault.kind, fault.line, f"{fault.message} ({place.name})") for fault in found]
    return faults


def _number(event: Event, point: Point, trace: Trace, place: Place) -> Point:
    """Return a tip's place in the program's numbers, as the offsets of its event read them."""
    state = event.state
    origin = trace.origins[state.offset - 1]
    height = point[2] + place.shop.lengths[state.tool] - state.length_offset
    return (
        point[0] - origin[0] - state.axis_offsets[0],
        point[1] - origin[1] - state.axis_offsets[1],
        height - origin[2] - state.axis_offsets[2],
    )


def _ways(trace: Trace, place: Place) -> list[tuple[Event, list[Point]]]:
    return [(e, [_number(e, point, trace, place) for point in e.way]) for e in trace.events if e.moves]


def _numbers(trace: Trace, place: Place, top: float) -> tuple[object, ...]:
    """Return all motions that meet the ground as the program's own numbers, to a millionth of a millimetre."""
    return tuple(
        (event.line, event.kind, *(round(value * 1e6) for point in way for value in point))
        for event, way in _ways(trace, place)
        if event.kind != "rapid" or (min(point[2] for point in way) < top and not _rises(way))
    )


def _rises(way: list[Point]) -> bool:
    return way[-1][2] >= way[0][2] and max(abs(way[0][axis] - way[-1][axis]) for axis in (0, 1)) < TOLERANCE_MM


def _plan(event: Event, way: list[Point]) -> tuple[object, ...]:
    """Return a motion's way seen from above."""
    rounded = [(round(x / _COARSE), round(y / _COARSE)) for x, y, _ in (way[0], way[len(way) // 2], way[-1])]
    return (event.kind, *rounded)


def _passes(before: Trace, after: Trace, asked: Asked, place: Place) -> Iterator[Fault]:
    """Find motions that are over no way of the source's, states that are not its own, and passes that are missing."""
    # The states that each way is gone in, each state once.
    own: defaultdict[tuple[object, ...], dict[State, None]] = defaultdict(dict)
    staying: Counter[tuple[tuple[object, ...], int]] = Counter()
    floors: set[tuple[object, ...]] = set()
    above = max(asked.level, asked.floor) + TOLERANCE_MM
    for event, way in _ways(before, place):
        plan = _plan(event, way)
        own[plan][event.state] = None
        if event.kind in {"feed", "arc"} and plan[1] != plan[3]:
            if all(point[2] > above for point in way):
                staying[plan, round(way[-1][2] / _COARSE)] += 1
            if all(abs(point[2] - asked.level) <= TOLERANCE_MM for point in way):
                floors.add(plan)
    made = set()
    for event, way in _ways(after, place):
        plan = _plan(event, way)
        if event.kind in {"feed", "arc"} and plan[1] != plan[3]:
            staying[plan, round(way[-1][2] / _COARSE)] -= 1
            if all(abs(point[2] - asked.floor) <= TOLERANCE_MM for point in way):
                made.add(plan)
        if plan not in own and plan[1] != plan[-1] and event.kind != "rapid":
            yield Fault("way", event.line, f"{event.kind} over a way that no motion of the source goes")
        elif plan in own and (event.kind != "rapid" or way[0] != way[-1]):
            # A traverse that goes nowhere does so in whatever state.
            cutting = event.kind != "rapid"
            differ = []
            for state in own[plan]:
                differ.append(same_state(state, event.state, moving=True, cutting=cutting))
                if not differ[-1]:
                    break
            else:
                yield Fault("state", event.line, min(differ, key=len)[0])
    for (plan, height), count in staying.items():
        if count > 0:
            yield Fault("lost", 0, f"a pass at {height * _COARSE:.2f} that was to stay is missing: {plan}")
    missing = floors - made
    deepest = min((point[2] for _, way in _ways(before, place) for point in way), default=0.0)
    # A level above another floor may be one of that floor's passes, which stays.
    if missing and deepest > asked.level - TOLERANCE_MM and abs(asked.level - asked.floor) > 1e-9:
        yield Fault("floor", 0, f"{len(missing)} ways of the floor aren't cut at the new floor")


def _samples(way: list[Point]) -> Iterator[Point]:
    for a, b in itertools.pairwise(way):
        steps = max(1, round(max(abs(a[0] - b[0]), abs(a[1] - b[1])) / _SAMPLE_MM))
        for step in range(steps + 1):
            part = step / steps
            yield a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part, a[2] + (b[2] - a[2]) * part


def _cell(x: float, y: float) -> Cell:
    return round((x + _CELL_MM / 3) / _CELL_MM), round((y + _CELL_MM / 3) / _CELL_MM)


def _cut(trace: Trace, asked: Asked, place: Place) -> tuple[_Ground, list[tuple[Event, Cell, float, str]]]:
    """Cut the ground, and return what happened in single cells: event, cell, height and what (bite, traverse, deep)."""
    ground = _Ground(asked.top)
    found: list[tuple[Event, Cell, float, str]] = []
    for event, way in _ways(trace, place):
        upright = max(abs(way[0][0] - way[-1][0]), abs(way[0][1] - way[-1][1])) < TOLERANCE_MM and len(way) == 2
        if upright and event.kind != "rapid":
            if way[-1][2] < ground.top:
                cell = _cell(*way[-1][:2])
                found.append((event, cell, way[-1][2], "deep"))
                ground.holes[cell] = min(way[-1][2], ground.holes.get(cell, ground.top))
            continue
        for x, y, z in _samples(way[-1:] * 2 if upright else way):
            cell = _cell(x, y)
            there = ground.depth.get(cell, ground.top)
            if event.kind == "rapid":
                if z < min(there, ground.holes.get(cell, there)) - TOLERANCE_MM:
                    found.append((event, cell, z, "traverse"))
                    ground.low_traverse[cell] = min(z, ground.low_traverse.get(cell, z))
            elif z < there - TOLERANCE_MM:
                ground.bite[cell] = max(ground.bite[cell], there - z)
                ground.depth[cell] = z
                found.append((event, cell, there - z, "bite"))
                found.append((event, cell, z, "deep"))
    return ground, found


def _ground(before: Trace, after: Trace, asked: Asked, place: Place) -> Iterator[Fault]:
    old, source_found = _cut(before, asked, place)
    _, found = _cut(after, asked, place)
    # A traverse that is the source's own, and goes through uncut wood there too, is the source's fault.
    own_crashes = {_ends(event) for event, _, _, what in source_found if what == "traverse"}
    old_deep: dict[Cell, float] = dict(old.depth)
    for event, way in _ways(before, place):
        if event.kind != "rapid":
            cell = _cell(*way[-1][:2])
            old_deep[cell] = min(old_deep.get(cell, asked.top), way[-1][2])
    said: set[tuple[int, str]] = set()
    for event, cell, value, what in found:
        if (event.line, what) in said:
            continue
        text = ""
        if what == "bite":
            allowed = max(old.bite.get(cell, 0.0), asked.step or 0.0)
            if value > allowed + _COARSE:
                text = f"bites {value:.3f} at once, {allowed:.3f} is the most that is allowed there"
        elif what == "deep":
            if value < min(asked.floor, old_deep.get(cell, asked.top)) - TOLERANCE_MM:
                text = f"is at {value:.3f}, deeper than asked and than the source"
        elif value < old.low_traverse.get(cell, asked.top) - TOLERANCE_MM and _ends(event) not in own_crashes:
            text = f"traverses at {value:.3f} through what isn't cut yet"
        if text:
            said.add((event.line, what))
            yield Fault(what, event.line, text)


def _ends(event: Event) -> tuple[int, ...]:
    """Return where the tip begins and ends, to a thousandth of a millimetre."""
    return tuple(round(value * 1e3) for point in (event.way[0], event.way[-1]) for value in point)


def _left(before: Trace, after: Trace) -> Iterator[Fault]:
    """Compare tools, stops and dwells in their order, and what is left at the end."""
    one = [(e.kind, e.argument) for e in before.events if e.kind in {"tool", "stop", "end"}]
    two = [(e.kind, e.argument) for e in after.events if e.kind in {"tool", "stop", "end"}]
    if one != two:
        yield Fault("event", 0, f"tools, stops and the end are {two}, expected {one}")
    states = ("spindle", "mist", "flood", "overrides", "path", "compensation", "length_offset", "offset")
    for name in (*states, "axis_offsets"):
        if getattr(before.last, name) != getattr(after.last, name):
            yield Fault("left", 0, f"leaves {name} {getattr(after.last, name)}")
    if max(abs(a - b) for a, b in zip(before.tip, after.tip, strict=True)) > TOLERANCE_MM:
        yield Fault("left", 0, f"ends at {after.tip}, the source at {before.tip}")
