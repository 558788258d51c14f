"""Judge of `home`: does the program begin and end over zero at the safe height, and do nothing else?"""

from dataclasses import replace
from itertools import combinations, product

from tests.machine.compare import TOLERANCE_MM, Fault, embed
from tests.machine.kept import CUTS, walk
from tests.machine.reader import Block, blocks, switch
from tests.machine.shops import Place, Run, known_run
from tests.machine.state import Event, Point

__all__ = ["judge_home"]

Box = tuple[Point, float]
# Where a machine parks: its zero, and the places of G28 and G30 in its tables.
_PARKS = ((0.0, 0.0, 0.0), (-10.0, -20.0, -5.0))


def judge_home(
    source: str, out: str, safe_mm: float, places: list[Place], said: str, *, led: frozenset[int] | None = None
) -> list[Fault]:
    """Return what is wrong with a program that `home` made of a source, on these machines.

    `led` are the lines that lead over zero instead; where nobody says so, the first or the last may.
    """
    wanted = blocks(source)
    best: list[Fault] | None = None
    for zeroed, backward in product(_led(wanted) if led is None else [led], (False, True)):
        if best is not None and not backward:
            # Its lines are those of the choice before.
            break
        lines_wanted = [_over_zero(block) if block.line in zeroed else block for block in wanted]
        found = embed(lines_wanted, out, backward=backward)
        if found is None:
            continue
        lines = {line: wanted[index].line for line, index in found.items()}
        faults = [
            fault
            for place in places
            for skip in switch(source, out)
            for fault in _on(source, out, safe_mm, place, lines, said, skip=skip, led=zeroed)
        ]
        if not faults:
            return []
        best = faults if best is None else min(best, faults, key=len)
    return best if best is not None else [Fault("lost", 0, "a line of the source is missing or out of order")]


def _led(wanted: list[Block]) -> list[frozenset[int]]:
    """Return the choices of lines that may lead over zero instead: the first and the last that name X and Y."""
    both = [block.line for block in wanted if block.codes("X") and block.codes("Y")]
    ends = both[:1] + both[-1:]
    return [frozenset(choice) for size in range(3) for choice in combinations(ends, size)]


def _over_zero(block: Block) -> Block:
    return replace(block, words=tuple((name, 0.0 if name in "XY" else value) for name, value in block.words))


def _on(
    source: str,
    out: str,
    safe_mm: float,
    place: Place,
    lines: dict[int, int],
    said: str,
    *,
    skip: bool,
    led: frozenset[int],
) -> list[Fault]:
    before = known_run(source, place.shop, place.start, skip=skip)
    after = known_run(out, place.shop, place.start, skip=skip)
    cuts = [index for index, event in enumerate(before.events) if event.kind in CUTS]
    moving = [index for index, event in enumerate(before.events) if event.moves]
    if not moving:
        return [Fault("nothing", 0, "nothing moves")]
    first, last = (cuts[0], cuts[-1]) if cuts else (moving[-1], moving[-1])
    start_zero = _zero(before, first, safe_mm, place)
    end_zero = _zero(before, last, safe_mm, place)

    def floor(index: int) -> float:
        return start_zero[1] if index <= first else end_zero[1]

    faults = walk(before, (0, len(before.events)), after.events, lines, floor, led=led)
    faults += [
        Fault("down", event.line, "an added traverse at the end goes down")
        for event in _tail(after, lines, before.events[last].line)
        if event.way[-1][2] < event.way[0][2] - TOLERANCE_MM
    ]
    parked = any(
        event.moves and event.way[-1][2] + place.shop.lengths[event.state.tool] in {home[2] for home in _PARKS}
        for event in before.events[last + 1 :]
    )
    faults += _begins(after, start_zero) + _ends(after, end_zero, parked=parked and "park" in said)
    faults += _left(before, after)
    return [Fault(fault.kind, fault.line, f"{fault.message} ({place.name})") for fault in faults]


def _zero(run: Run, index: int, safe_mm: float, place: Place) -> Box:
    """Return where the tip is over program zero at the safe height, in the offsets in force at an event."""
    event = run.events[index]
    state = event.state
    origin = run.trace.origins[state.offset - 1]
    high = origin[2] + state.axis_offsets[2] + state.length_offset + safe_mm - place.shop.lengths[state.tool]
    return (origin[0] + state.axis_offsets[0], origin[1] + state.axis_offsets[1], high), high


def _tail(run: Run, lines: dict[int, int], last_cut: int) -> list[Event]:
    """Return the added motions after the source's last cut."""
    seen = [index for index, event in enumerate(run.events) if lines.get(event.line) == last_cut]
    after = run.events[seen[-1] + 1 :] if seen else []
    return [event for event in after if event.moves and event.line not in lines]


def _begins(run: Run, zero: Box) -> list[Fault]:
    for event in run.events:
        across = max(abs(event.way[-1][axis] - event.way[0][axis]) for axis in (0, 1))
        if event.moves and across > TOLERANCE_MM:
            return [] if _over(event, zero) else [Fault("start", event.line, "the first way isn't to zero, and high")]
    return []


def _over(event: Event, zero: Box) -> bool:
    there = event.way[-1]
    off = max(abs(there[axis] - zero[0][axis]) for axis in (0, 1))
    return off <= TOLERANCE_MM and min(p[2] for p in event.way) >= zero[1] - TOLERANCE_MM


def _ends(run: Run, zero: Box, *, parked: bool) -> list[Fault]:
    moving = [event for event in run.events if event.moves]
    if parked or _over(moving[-1], zero) or _stands_over(run, zero):
        return []
    return [Fault("end", moving[-1].line, "doesn't end over zero at the safe height")]


def _stands_over(run: Run, zero: Box) -> bool:
    tip = run.trace.tip
    return (
        max(abs(tip[0] - zero[0][0]), abs(tip[1] - zero[0][1])) <= TOLERANCE_MM
        and tip[2] >= zero[1] - TOLERANCE_MM
    )


def _left(before: Run, after: Run) -> list[Fault]:
    """Say what the program leaves on, or off, that its source leaves otherwise."""
    one, two = before.trace, after.trace
    faults = [] if one.ended == two.ended else [Fault("end", 0, "the program's end is missing, or one was added")]
    names = ["spindle", "mist", "flood", "overrides", "path", "compensation"]
    names += ["length_offset", "offset", "axis_offsets", "tool"]
    return faults + [
        Fault("left", 0, f"leaves {name} {getattr(two.last, name)}, the source {getattr(one.last, name)}")
        for name in names
        if getattr(one.last, name) != getattr(two.last, name)
    ]
