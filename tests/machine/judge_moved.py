"""Judge of `flip`, `hand` and `shift`: the same program, mirrored or moved in the plane, with Z as it was.

Mirrored, the other face lies mirrored on the table: its zeros and the place where the machine stands are mirrored too.
So every motion, from known and from unknown places, has to be the source's motion mirrored in the machine.
"""

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from tests.machine.compare import TOLERANCE_MM, Fault, same_event
from tests.machine.shops import Place
from tests.machine.simulator import Unrunnable, run
from tests.machine.state import Event, Point, Shop, Start, Trace

__all__ = ["Move", "flipped", "judge_moved", "moved_place", "shifted"]

# The machine's own line about which the whole set-up is mirrored.
_LINE = -123.0
# A turn rounds to four decimals of a millimetre or five of an inch.
_ROUNDING_MM = 2e-3


@dataclass(frozen=True)
class Move:
    """Where a tip goes in the machine, where the zero of a work offset lies then, and whether it is a mirror."""

    point: Callable[[Point], Point]
    origin: Callable[[Point], Point]
    mirrored: bool


def flipped(axis: str, datum: tuple[float, float]) -> Move:
    """Return the flip about an axis, with the new zero at a point of the source's numbers."""
    at = 0 if axis == "y" else 1
    other = 1 - at

    def point(p: Point) -> Point:
        found = list(p)
        found[at] = 2 * _LINE - found[at]
        return found[0], found[1], found[2]

    def origin(o: Point) -> Point:
        # The source's datum point is the new zero.
        found = list(o)
        found[at] = 2 * _LINE - (o[at] + datum[at])
        found[other] = o[other] + datum[other]
        return found[0], found[1], found[2]

    return Move(point, origin, mirrored=True)


def shifted(by: tuple[float, float], degrees: float, about: tuple[float, float], first: Point) -> Move:
    """Return a turn and a shift of the part on the table; `first` is the zero of the first work offset."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    x0, y0 = first[0] + about[0], first[1] + about[1]

    def point(p: Point) -> Point:
        x, y = p[0] - x0, p[1] - y0
        return x0 + c * x - s * y + by[0], y0 + s * x + c * y + by[1], p[2]

    return Move(point, lambda o: o, mirrored=False)


def moved_place(place: Place, move: Move) -> Place:
    """Return the machine on which the moved program runs: its zeros and its start moved too."""
    shop, start = place.shop, place.start
    origins = tuple(move.origin(origin) for origin in shop.origins)
    new = Shop(shop.lengths, shop.diameters, origins, shop.surface, shop.homes)
    return Place(new, Start(move.point(start.spindle), start.tool, start.length_offset), place.name)


def judge_moved(
    source: str, out: str, move_of: Callable[[Place], Move], places: list[Place], chords_mm: float | None = None
) -> list[Fault]:
    """Return what is wrong with a program that was mirrored or moved."""
    faults: list[Fault] = []
    for place in places:
        move = move_of(place)
        there = moved_place(place, move)
        for skip in (False, True):
            try:
                before = run(source, place.shop, place.start, skip_deletable=skip)
            except Unrunnable:
                if not skip:
                    raise
                break  # with the switch on the source itself stops with an alarm
            after = run(out, there.shop, there.start, skip_deletable=skip)
            found = _events(before.events, after.events, move, chords_mm) + _left(before, after, move)
            faults += [Fault(fault.kind, fault.line, f"{fault.message} ({place.name})") for fault in found]
            if not any(line.lstrip("N0123456789 ").startswith("/") for line in source.splitlines()):
                break
    return faults


def _events(wanted: Sequence[Event], got: Sequence[Event], move: Move, chords_mm: float | None) -> list[Fault]:
    at = 0
    faults: list[Fault] = []
    for event in wanted:
        if at == len(got):
            return [*faults, Fault("lost", 0, f"{event.kind} of the source's line {event.line} isn't done")]
        mine = _mirrored_state(event, move)
        if event.kind == "arc" and got[at].kind == "feed" and chords_mm is not None:
            at = _chords(mine, got, at, move, chords_mm, faults)
            continue
        faults += same_event(mine, got[at], (True, True, True), to=move.point, leave_out=("axis_offsets",))
        at += 1
    if at < len(got):
        faults.append(Fault("order", got[at].line, f"{got[at].kind} that the source doesn't have"))
    return faults


def _mirrored_state(event: Event, move: Move) -> Event:
    side, radius = event.state.compensation
    if not move.mirrored or side == "G40":
        return event
    return replace(event, state=replace(event.state, compensation=({"G41": "G42", "G42": "G41"}[side], radius)))


def _chords(
    event: Event, got: Sequence[Event], at: int, move: Move, chords_mm: float, faults: list[Fault]
) -> int:
    """Go along chords to the end of an arc, and return the event after them."""
    way = [move.point(point) for point in event.way]
    end = way[-1]
    while at < len(got) and got[at].kind == "feed":
        there = got[at].way[-1]
        if _off(there, way) > chords_mm + 0.05:
            faults.append(Fault("motion", got[at].line, f"a chord ends {_off(there, way):.3f} beside its arc"))
            return at + 1
        at += 1
        if max(abs(a - b) for a, b in zip(there, end, strict=True)) <= _ROUNDING_MM:
            return at
    faults.append(Fault("motion", got[min(at, len(got) - 1)].line, "chords don't end where their arc does"))
    return at


def _off(point: Point, way: list[Point]) -> float:
    """Return how far a point is from a chain of short lines."""
    return min(_distance(point, a, b) for a, b in itertools.pairwise(way))


def _distance(p: Point, a: Point, b: Point) -> float:
    along = [y - x for x, y in zip(a, b, strict=True)]
    square = sum(value * value for value in along)
    part = 0.0
    if square:
        part = max(0.0, min(1.0, sum((u - v) * w for u, v, w in zip(p, a, along, strict=True)) / square))
    return math.dist(p, [x + part * w for x, w in zip(a, along, strict=True)])


def _left(before: Trace, after: Trace, move: Move) -> list[Fault]:
    names = ("spindle", "mist", "flood", "overrides", "path", "length_offset", "offset", "tool")
    faults = [
        Fault("left", 0, f"leaves {name} {getattr(after.last, name)}, the source {getattr(before.last, name)}")
        for name in names
        if getattr(before.last, name) != getattr(after.last, name)
    ]
    if before.ended != after.ended:
        faults.append(Fault("end", 0, "the program's end is missing"))
    if max(abs(a - b) for a, b in zip(move.point(before.tip), after.tip, strict=True)) > TOLERANCE_MM:
        faults.append(Fault("left", 0, "ends elsewhere"))
    return faults
