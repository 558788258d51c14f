"""Judges of `join` and `split`: every motion in order, every state as in the programs run by themselves."""

from collections.abc import Sequence

from tests.machine.compare import Fault, embed, lowest
from tests.machine.kept import CUTS, Floor, walk
from tests.machine.reader import Block, blocks, switch
from tests.machine.shops import Place, Run, known_run
from tests.machine.simulator import run
from tests.machine.state import Event, Shop, Start, State

__all__ = ["judge_join", "judge_split"]


def judge_join(sources: Sequence[str], out: str, places: list[Place]) -> list[Fault]:
    """Return what is wrong with a program joined of several: they are run one after the other, then it is run."""
    wanted = [block for source in sources for block in _until_end(source)]
    best: list[Fault] | None = None
    for backward in (False, True):
        found = embed(wanted, out, backward=backward)
        if found is None:
            continue
        faults = [
            fault
            for place in places
            for skip in switch(out, *sources)
            for fault in _joined_on(sources, out, place, found, skip=skip)
        ]
        if not faults:
            return []
        best = faults if best is None else min(best, faults, key=len)
    return best if best is not None else [Fault("lost", 0, "a line of a source is missing or out of order")]


def _until_end(source: str) -> list[Block]:
    found = []
    for block in blocks(source):
        found.append(block)
        if {2.0, 30.0} & set(block.codes("M")):
            break
    return found


def _joined_on(
    sources: Sequence[str], out: str, place: Place, found: dict[int, int], *, skip: bool
) -> list[Fault]:
    whole = run(out, place.shop, place.start, skip_deletable=skip)
    events = whole.events
    faults: list[Fault] = []
    shop, start, state = place.shop, place.start, None
    base = 0
    chain: list[Run] = []
    alone: list[Run] = []
    for source in sources:
        own = _until_end(source)
        lines = {line: own[at - base].line for line, at in found.items() if base <= at < base + len(own)}
        last_line = max((line for line in found if found[line] < base + len(own)), default=0)
        mine = [event for event in events if event.line in lines or _between(event.line, lines, last_line)]
        run_here = known_run(source, shop, start, state, skip=skip)
        before = chain[-1] if chain else None
        earlier = before.events[-1].state if before and before.events else None
        stretch, floor = (0, len(run_here.events)), _height(run_here, before)
        after_it = walk(run_here, stretch, mine, lines, floor, earlier=earlier)
        if state is not None:
            offsets = (start.length_offset, 0.0, place.start.length_offset)
            alone = [known_run(source, shop, Start(start.spindle, start.tool, n), skip=skip) for n in offsets]
            by_itself = _by_itself(alone, mine, lines, before)
            leaks = [Fault("leak", fault.line, fault.message) for fault in by_itself]
            after_it = min(by_itself, after_it, key=len) if after_it else leaks
        faults += after_it
        chain.append(run_here)
        events = [event for event in events if event not in mine]
        base += len(own)
        trace = run_here.trace
        shop = Shop(shop.lengths, shop.diameters, trace.origins, shop.surface, shop.homes)
        start = Start(trace.spindle, trace.last.tool, trace.last.length_offset)
        state = trace.last
    faults += [Fault("added", event.line, f"{event.kind} after all programs") for event in events if event.moves]
    if chain[-1].trace.ended or not whole.ended:
        # What a program without an end leaves on may be off in the next one, as when that is run by itself.
        left = min((_left(one.trace.last, whole.last) for one in [chain[-1], *alone]), key=len)
        faults += left
    if chain[-1].trace.ended and not whole.ended:
        faults.append(Fault("end", 0, "the end of the program is missing"))
    return [Fault(fault.kind, fault.line, f"{fault.message} ({place.name})") for fault in faults]


def _between(line: int, lines: dict[int, int], last_line: int) -> bool:
    """Return whether a line that was added belongs to this program: it stands before its last line."""
    return line < last_line and line not in lines


def _height(own: Run, before: Run | None) -> Floor:
    """Return how low a traverse may be before a program's event: as high as the tools of it and the one before went."""

    def floor(index: int) -> float | None:
        cuts = [at for at, event in enumerate(own.events[:index]) if event.kind in CUTS]
        if not cuts and before is not None:
            after = [at for at, event in enumerate(before.events) if event.kind in CUTS]
            return _highest(before, after[-1] if after else 0, len(before.events))
        return _highest(own, cuts[-1] if cuts else 0, index)

    return floor


def _highest(source: Run, first: int, last: int) -> float | None:
    """Return the highest place that a program itself goes to in a stretch, none if it says none."""
    heights = [source.events[at].way[-1][2] for at in range(first, last) if source.known[at][2]]
    return max(heights, default=None)


def _by_itself(alone: Sequence[Run], out: list[Event], lines: dict[int, int], before: Run | None) -> list[Fault]:
    """Hold a later program to its own runs, on machines that nothing is left on but, perhaps, a length offset."""
    earlier = before.events[-1].state if before and before.events else None
    found = [walk(one, (0, len(one.events)), out, lines, _height(one, before), earlier=earlier) for one in alone]
    return min(found, key=len)


def _left(wanted: State, got: State) -> list[Fault]:
    names = ("spindle", "mist", "flood", "overrides", "compensation", "offset", "axis_offsets", "tool")
    return [
        Fault("left", 0, f"leaves {name} {getattr(got, name)}, expected {getattr(wanted, name)}")
        for name in names
        if getattr(wanted, name) != getattr(got, name)
    ]


def judge_split(source: str, parts: Sequence[str], places: list[Place], safe_mm: float | None = None) -> list[Fault]:
    """Return what is wrong with the parts of a program: each is run by itself, and the source as a whole."""
    own = _until_end(source)
    changes = [index for index, block in enumerate(own) if 6.0 in block.codes("M")]
    if len(changes) != len(parts):
        return [Fault("lost", 0, f"{len(parts)} parts of {len(changes)} tools")]
    faults: list[Fault] = []
    for number, part in enumerate(parts):
        begin = changes[number]
        end = changes[number + 1] if number + 1 < len(changes) else len(own)
        wanted = [*own[: changes[0]], *own[begin:end]]
        best: list[Fault] | None = None
        for backward in (False, True):
            found = embed(wanted, part, backward=backward)
            if found is None:
                continue
            lines = {line: wanted[at].line for line, at in found.items()}
            segment = (own[begin].line, own[end - 1].line)
            these = [
                fault
                for place in places
                for skip in switch(source, part)
                for fault in _part_on(source, part, place, lines, segment, safe_mm, skip=skip)
            ]
            best = these if best is None else min(best, these, key=len)
            if not best:
                break
        if best is None:
            best = [Fault("lost", 0, "a line of the source is missing or out of order")]
        faults += [Fault(fault.kind, fault.line, f"part {number + 1}: {fault.message}") for fault in best]
    return faults


def _part_on(
    source: str,
    part: str,
    place: Place,
    lines: dict[int, int],
    segment: tuple[int, int],
    safe_mm: float | None,
    *,
    skip: bool,
) -> list[Fault]:
    before = known_run(source, place.shop, place.start, skip=skip)
    trace = run(part, place.shop, place.start, skip_deletable=skip)
    first = next((at for at, e in enumerate(before.events) if e.line >= segment[0]), len(before.events))
    last = next((at for at, e in enumerate(before.events) if e.line > segment[1]), len(before.events))
    head_lines = {line: there for line, there in lines.items() if there < segment[0]}
    head_end = max(head_lines, default=0)
    head_events = [event for event in trace.events if event.line <= head_end]
    rest = [event for event in trace.events if event.line > head_end]
    head_last = next((at for at, e in enumerate(before.events) if e.line > max(head_lines.values(), default=0)), 0)
    floor = _part_floor(before, first, last, place, safe_mm)
    faults = walk(before, (0, head_last), head_events, lines, floor)
    faults += walk(before, (first, last), rest, lines, floor, tools_anywhere=True)
    state = trace.last
    on = [
        name
        for name, is_on in (
            ("spindle", state.spindle != "M5"),
            ("mist", state.mist),
            ("flood", state.flood),
            ("compensation", state.compensation[0] != "G40"),
            ("overrides off", not state.overrides),
            ("axis_offsets", state.axis_offsets != (0.0, 0.0, 0.0)),
        )
        if is_on
    ]
    finally_on = before.trace.last
    if before.trace.ended or finally_on.spindle == "M5":
        faults += [Fault("left", 0, f"ends with {name}") for name in on if before.trace.ended or name == "spindle"]
    if before.trace.ended and not trace.ended:
        faults.append(Fault("end", 0, "the end of the program is missing"))
    return [Fault(fault.kind, fault.line, f"{fault.message} ({place.name})") for fault in faults]


def _part_floor(source: Run, first: int, last: int, place: Place, safe_mm: float | None) -> Floor:
    """Return how low added traverses of a part may be: at the stated height, or where the source crosses itself."""
    heights: list[float] = []
    segment = source.events[first:last]
    across = [event for event in segment if event.kind == "rapid" and _crosses(event)]
    if across:
        heights.append(lowest(across[0]))
    if segment and source.known[first][2]:
        # Where the source stands itself, with the new tool in.
        heights.append(segment[0].way[-1][2])
    if safe_mm is not None:
        cut = next((event for event in segment if event.kind in CUTS), None)
        if cut is not None:
            state, origin = cut.state, source.trace.origins[cut.state.offset - 1]
            zero = origin[2] + state.axis_offsets[2] + state.length_offset
            heights.append(zero + safe_mm - place.shop.lengths[state.tool])

    def floor(index: int) -> float | None:
        cuts = [at for at in range(first, index) if source.events[at].kind in CUTS]
        own = _highest(source, cuts[-1], index) if cuts else None
        return min([*heights, *([own] if own is not None else [])], default=None)

    return floor


def _crosses(event: Event) -> bool:
    return max(abs(event.way[0][axis] - event.way[-1][axis]) for axis in (0, 1)) > 1e-3
