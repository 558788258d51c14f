"""What two runs have to have in common: events, ways in machine coordinates, and every state in force."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from tests.machine.reader import Block, blocks, key
from tests.machine.state import Event, Point, State

__all__ = ["TOLERANCE_MM", "Fault", "embed", "highest", "lowest", "same_event", "same_state"]

TOLERANCE_MM = 2e-3
_ALWAYS = (
    "spindle",
    "speed",
    "mist",
    "flood",
    "overrides",
    "path",
    "compensation",
    "length_offset",
    "offset",
    "axis_offsets",
    "tool",
    "feed_mode",
)


@dataclass(frozen=True)
class Fault:
    """Something wrong: its kind, the line of the output (0: none), and what happens at the machine."""

    kind: str
    line: int
    message: str


def same_state(
    wanted: State, got: State, *, moving: bool, cutting: bool, leave_out: Iterable[str] = ()
) -> list[str]:
    """Return which states differ, with both values; the feed counts only where it is used.

    Where nothing moves only spindle, coolant and tool count.
    """
    names = [*_ALWAYS, "feed"] if cutting else list(_ALWAYS)
    if not moving:
        names = ["spindle", "speed", "mist", "flood", "tool"]
    found = []
    for name in names:
        one, two = getattr(wanted, name), getattr(got, name)
        if name in leave_out or one == two or (name == "speed" and wanted.spindle == got.spindle == "M5"):
            continue
        if name in {"axis_offsets", "length_offset", "feed"} and _near(one, two):
            continue
        found.append(f"{name} {two}, expected {one}")
    return found


def _near(one: object, two: object) -> bool:
    first = one if isinstance(one, tuple) else (one,)
    second = two if isinstance(two, tuple) else (two,)
    return all(abs(a - b) <= TOLERANCE_MM for a, b in zip(first, second, strict=True))


def same_event(
    wanted: Event,
    got: Event,
    known: tuple[bool, bool, bool],
    *,
    to: Callable[[Point], Point] = lambda point: point,
    leave_out: Iterable[str] = (),
) -> list[Fault]:
    """Return how an event differs from the one it should be.

    Parameters
    ----------
    wanted, got
        The source's event and the output's.
    known
        Which of X, Y and Z of its end the source says itself; the others may be elsewhere.
    to
        Where a point of the source has to be in the output.
    leave_out
        States that may differ.
    """
    if (wanted.kind, wanted.argument) != (got.kind, got.argument):
        return [Fault("event", got.line, f"{got.kind} {got.argument:g}, expected {wanted.kind} {wanted.argument:g}")]
    faults = [
        Fault("state", got.line, text)
        for text in same_state(
            wanted.state,
            got.state,
            moving=wanted.moves,
            cutting=wanted.kind in {"feed", "arc", "probe"},
            leave_out=leave_out,
        )
    ]
    if len(wanted.way) != len(got.way):
        return [*faults, Fault("motion", got.line, "another arc")]
    # The way to an event begins where the one before ended, which was compared there; stops have one place only.
    for one, two in list(zip(map(to, wanted.way), got.way, strict=True))[1 if len(wanted.way) > 1 else 0 :]:
        if any(known[axis] and abs(one[axis] - two[axis]) > TOLERANCE_MM for axis in range(3)):
            faults.append(Fault("motion", got.line, f"the tip is at {_text(two)}, expected {_text(one)}"))
            break
    return faults


def _text(point: Point) -> str:
    return " ".join(f"{value:.3f}" for value in point)


def lowest(event: Event) -> float:
    """Return the lowest height of the tip along an event."""
    return min(point[2] for point in event.way)


def highest(events: Sequence[Event]) -> float:
    """Return the highest end of these events."""
    return max(event.way[-1][2] for event in events)


def embed(wanted: Sequence[Block], text: str, *, backward: bool = False) -> dict[int, int] | None:
    """Return which line of a program is which of the wanted blocks, by index; None if one isn't there in order."""
    lines = [block for block in blocks(text) if block.words]
    order = list(range(len(wanted)))
    if backward:
        lines.reverse()
        order.reverse()
    found: dict[int, int] = {}
    waiting = [index for index in order if key(wanted[index])]
    at = 0
    for block in lines:
        if at < len(waiting) and key(block) == key(wanted[waiting[at]]):
            found[block.line] = waiting[at]
            at += 1
    return found if at == len(waiting) else None
