"""The machines that a program is tried on: tools of four lengths, three tables of offsets, three starts."""

from dataclasses import dataclass
from functools import lru_cache

from tests.machine.simulator import run
from tests.machine.state import Event, Point, Shop, Start, State, Trace

__all__ = ["LENGTHS", "STARTS", "TABLES", "Place", "Run", "known_run", "places", "shop"]

LENGTHS = (0.0, 20.0, 60.0, 130.0)
TABLES: tuple[tuple[Point, ...], ...] = (
    tuple((-300.0 + 40 * k, -200.0 + 10 * k, -250.0) for k in range(9)),
    tuple((-310.5 - 3 * k, -190.25 + 20 * k, -265.0 + 11 * k) for k in range(9)),
    tuple((-120.0, -260.0 + 7 * k, -240.0 - 13 * k) for k in range(9)),
)
STARTS = (
    Start((0.0, 0.0, 0.0)),
    Start((-155.0, -81.0, -63.0), tool=4, length_offset=33.0),
    Start((-290.0, -210.0, -285.0), tool=2),
)
# Another place to start from: what moves with it isn't told by the program.
_ELSEWHERE = (11.5, 13.25, 4.75)


@dataclass(frozen=True)
class Place:
    """One machine to try a program on: its tables and how it stands."""

    shop: Shop
    start: Start
    name: str


@dataclass(frozen=True)
class Run:
    """A trace, and of each event whether X, Y and Z of its end are the program's own and not the start's."""

    trace: Trace
    known: tuple[tuple[bool, bool, bool], ...]

    @property
    def events(self) -> list[Event]:
        """What happened."""
        return self.trace.events


def shop(length: float, table: tuple[Point, ...]) -> Shop:
    """Return a machine whose tool n is 7 mm longer than tool n - 1, and whose tables say so."""
    lengths = (0.0, *(length + 7.0 * n for n in range(20)))
    return Shop(lengths, tuple(3.0 + n for n in range(21)), table, table[0][2] - 2.0)


def places(choice: int | None = None) -> list[Place]:
    """Return twelve machines: each length with each table, the starts spread over them; or three with a choice."""
    every = [
        Place(shop(length, table), STARTS[(n + t) % 3], f"length {length:g}, table {t}, start {(n + t) % 3}")
        for n, length in enumerate(LENGTHS)
        for t, table in enumerate(TABLES)
    ]
    if choice is None:
        return every
    # One of each table and each start, with three of the lengths.
    return [every[(choice + step) % 4 * 3 + (choice // 4 + 2 * step) % 3] for step in range(3)]


@lru_cache(maxsize=64)
def known_run(text: str, shop: Shop, start: Start, state: State | None = None, *, skip: bool = False) -> Run:
    """Run a program from two places and tell what it says itself from what its start says.

    Judges look at one source again and again.
    """
    trace = run(text, shop, start, state=state, skip_deletable=skip)
    there = tuple(a - b for a, b in zip(start.spindle, _ELSEWHERE, strict=True))
    moved = Start((there[0], there[1], there[2]), start.tool, start.length_offset, start.inches)
    other = run(text, shop, moved, state=state, skip_deletable=skip)
    known = tuple(
        tuple(abs(a - b) < 1e-6 for a, b in zip(one.way[-1], two.way[-1], strict=True))
        for one, two in zip(trace.events, other.events, strict=True)
    )
    return Run(trace, known)  # type: ignore[arg-type]
