"""Programs that keep the source's lines and add some: is each of the source's motions as it was, and no other low?"""

from collections.abc import Callable, Sequence

from tests.machine.compare import TOLERANCE_MM, Fault, lowest, same_event
from tests.machine.shops import Run
from tests.machine.state import Event, State

__all__ = ["CUTS", "Floor", "added_motion", "walk"]

CUTS = frozenset({"feed", "arc", "probe"})
# Of a source's event number: the height that a traverse may go down to there; None if no height is known to be high.
Floor = Callable[[int], float | None]


def walk(
    source: Run,
    stretch: tuple[int, int],
    out: Sequence[Event],
    lines: dict[int, int],
    floor: Floor,
    *,
    tools_anywhere: bool = False,
    earlier: State | None = None,
    led: frozenset[int] = frozenset(),
) -> list[Fault]:
    """Hold the events of an output to a stretch of the source's events.

    `lines` says which line of the source a line of the output is; lines that aren't in it were added.
    `earlier` is in force before the first of them.
    The source's lines in `led` may lead elsewhere, if all is high from there until the source goes across again.
    With `tools_anywhere` it doesn't matter where the machine stands while the tool is changed, and in which offsets.
    """
    first, last = stretch
    wanted = [index for index in range(first, last) if source.events[index].kind != "end"]
    at = 0
    adrift = adrift_led = False
    faults: list[Fault] = []
    for event in out:
        if event.kind == "end":
            continue
        if event.line not in lines:
            faults += added_motion(event, floor(wanted[at] if at < len(wanted) else last))
            beside = [source.events[wanted[n]].state for n in (at - 1, at) if 0 <= n < len(wanted)]
            faults += _states_between(event, [*beside, *([earlier] if earlier and not at else [])])
            continue
        if at == len(wanted) or source.events[wanted[at]].line != lines[event.line]:
            faults.append(Fault("order", event.line, "an event that the source doesn't have here"))
            continue
        index = wanted[at]
        at += 1
        if tools_anywhere and event.kind == "tool":
            if source.events[index].argument != event.argument:
                faults.append(Fault("tool", event.line, f"T{event.argument:g}"))
            adrift = True
            continue
        if led:
            is_led = source.events[index].line in led
            adrift_led = is_led or (adrift_led and not _across(source.events[index]))
            if adrift_led and event.moves and lowest(event) < (floor(index) or 0.0) - TOLERANCE_MM:
                faults.append(Fault("plunge", event.line, "low where the source is elsewhere"))
            adrift |= adrift_led
        # Until it goes across, a tool that was changed may go up and down where it stands.
        adrift = adrift and event.kind not in CUTS and (adrift_led or not _across(source.events[index]))
        x, y, z = source.known[index]
        faults += same_event(source.events[index], event, (x and not adrift, y and not adrift, z))
        if event.kind == source.events[index].kind and event.moves:
            faults += _way_there(source, index, event, floor(index))
    if at < len(wanted):
        lost = source.events[wanted[at]]
        faults.append(Fault("lost", 0, f"{lost.kind} of the source's line {lost.line} isn't done"))
    return faults


def added_motion(event: Event, floor: float | None) -> list[Fault]:
    """Say what is wrong with a motion of an added line: no rise, and lower than a height known to be high."""
    if event.kind in {"dwell", "stop", "tool", "orient"}:
        return [Fault("added", event.line, f"{event.kind} on an added line")]
    if event.kind != "rapid":
        return [Fault("added", event.line, f"{event.kind} on an added line")]
    begin, end = event.way[0], event.way[-1]
    across = _across(event)
    if not across and end[2] >= begin[2] - TOLERANCE_MM:
        return []
    low = lowest(event)
    if floor is not None and low >= floor - TOLERANCE_MM:
        return []
    what = "crosses" if across else "goes down"
    limit = "no height is known to be high there" if floor is None else f"{floor:.3f} is the lowest that is allowed"
    return [Fault("plunge", event.line, f"an added traverse {what} at a tip height of {low:.3f}; {limit}")]


def _across(event: Event) -> bool:
    return max(abs(event.way[0][axis] - event.way[-1][axis]) for axis in (0, 1)) > TOLERANCE_MM


def _states_between(event: Event, beside: list[State]) -> list[Fault]:
    """Say what is on at an added motion, and at neither of the source's events before and after it."""
    off = State(feed_mode=event.state.feed_mode)
    names = ("spindle", "mist", "flood", "overrides", "path")
    return [
        Fault("state", event.line, f"{name} {getattr(event.state, name)} at an added motion")
        for name in names
        if getattr(event.state, name) not in {getattr(state, name) for state in (off, *beside)}
    ]


def _way_there(source: Run, index: int, event: Event, floor: float | None) -> list[Fault]:
    """Say what is wrong with a motion of the source that begins or goes elsewhere than in the source."""
    wanted = source.events[index]
    begins = [abs(a - b) > TOLERANCE_MM for a, b in zip(wanted.way[0], event.way[0], strict=True)]
    ends = [abs(a - b) > TOLERANCE_MM for a, b in zip(wanted.way[-1], event.way[-1], strict=True)]
    if event.kind in CUTS and (any(ends) or (any(begins) and event.kind != "probe")):
        return [Fault("cut", event.line, "a cut from or to another place than the source's")]
    if not (any(begins) or any(ends)):
        return []
    low = lowest(event)
    if low >= lowest(wanted) - TOLERANCE_MM or (floor is not None and low >= floor - TOLERANCE_MM):
        return []
    # The end is the source's own, and so is going straight down to it.
    if not _across(event) and source.known[index][2]:
        return []
    return [Fault("plunge", event.line, f"a traverse of the source's at {low:.3f}, {lowest(wanted):.3f} in the source")]
