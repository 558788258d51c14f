"""What is cut into a face: holes, outlines, pockets, slots and strokes, what each shows and how a tool makes it."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot
from random import Random
from typing import Protocol

from tests.pairs.motions import CLEAR_MM, Motion, along
from tests.pairs.rings import Ring, Shape

ALLOWANCE_MM = 0.5  # wood that roughing leaves at an edge (chosen)
LONG_MM = 30.0  # an edge that is long enough for a tab (chosen)

# What an operation shows: a name that both faces use only for what is one thing in the wood, and a place.
Shown = tuple[str, float, float]


class Operation(Protocol):
    """Something that is cut into a face, in the blank's frame.

    Attributes
    ----------
    group : str
        The operations of one group make one program, with one tool.
    tool_mm : float
        Cutting diameter.
    """

    @property
    def group(self) -> str: ...

    @property
    def tool_mm(self) -> float: ...

    def shown(self) -> Sequence[Shown]: ...

    def motions(self, random: Random) -> list[Motion]:
        """Return the motions that make it; what is up to who posts it (start, direction, arcs or chords) is drawn."""
        ...


@dataclass(frozen=True, slots=True)
class Hole:
    """A drilled hole; `name` is `hole` where it goes through the wood."""

    x: float
    y: float
    depth: float
    tool_mm: float
    name: str = "hole"
    group: str = "holes"

    def shown(self) -> Sequence[Shown]:
        return [(self.name, self.x, self.y)]

    def motions(self, random: Random) -> list[Motion]:
        return [Motion("rapid", self.x, self.y, CLEAR_MM), Motion("drill", self.x, self.y, -self.depth)]


@dataclass(frozen=True, slots=True)
class Contour:
    """A closed outline, cut on one side of it (`side` 1 outside, -1 inside, 0 on it) in passes."""

    shape: Shape
    side: int
    depth: float
    step_down: float
    tool_mm: float
    name: str = ""
    group: str = "profile"

    def shown(self) -> Sequence[Shown]:
        size, points = self.shape.signature()
        return [(f"{self.name} {size}", x, y) for x, y in points]

    def motions(self, random: Random) -> list[Motion]:
        is_profile = self.group == "profile" and self.side > 0
        hand = _Round(
            is_reversed=random.random() < 0.5,
            in_chords=random.random() < 0.3,
            start=random.random(),
            tabs=3.0 if is_profile and random.random() < 0.3 else 0.0,
            from_beside=is_profile and random.random() < 0.3,
        )
        levels: list[float] = []
        while not levels or levels[-1] < self.depth:
            levels.append(min((levels[-1] if levels else 0.0) + self.step_down, self.depth))
        reach = self.side * self.tool_mm / 2
        if is_profile and random.random() < 0.25:
            # Roughed beside the edge, then finished at full depth in one pass.
            return self._run(reach + ALLOWANCE_MM, levels, hand) + self._run(reach, levels[-1:], hand)
        return self._run(reach, levels, hand)

    def _run(self, reach: float, levels: Sequence[float], hand: "_Round") -> list[Motion]:
        ring = self.shape.grown(reach)
        ring = ring.reversed() if hand.is_reversed else ring
        ring = ring.chords() if hand.in_chords else ring
        ring = ring.started(int(hand.start * len(ring.edges)))
        start = ring.edges[-1]
        entry = _beside(ring, self.tool_mm) if hand.from_beside else (start.x, start.y)
        found = [Motion("rapid", *entry, CLEAR_MM)]
        for depth in levels:
            found += [Motion("feed", *entry, -depth), Motion("feed", start.x, start.y, -depth)]
            found += _round(ring, depth, hand.tabs if depth == self.depth else 0.0)
            found.append(Motion("feed", *entry, -depth))
        return [*found, Motion("rapid", *entry, CLEAR_MM)]


@dataclass(frozen=True, slots=True)
class _Round:
    """How somebody posts a contour: where it starts and which way it runs, chords or arcs, tabs, the way in."""

    is_reversed: bool
    in_chords: bool
    start: float
    tabs: float
    from_beside: bool


def _round(ring: Ring, depth: float, tabs: float) -> list[Motion]:
    """Return one pass round a ring; with tabs the tool rises over the middle of the long straight edges."""
    found: list[Motion] = []
    before = ring.edges[-1]
    for edge in ring.edges:
        if edge.cx is None or edge.cy is None:
            if tabs and hypot(edge.x - before.x, edge.y - before.y) > LONG_MM:
                for share, lift in ((0.45, 0.0), (0.45, tabs), (0.55, tabs), (0.55, 0.0)):
                    x, y = before.x + share * (edge.x - before.x), before.y + share * (edge.y - before.y)
                    found.append(Motion("feed", x, y, min(lift - depth, 0.0)))
            found.append(Motion("feed", edge.x, edge.y, -depth))
        else:
            found.append(Motion("arc", edge.x, edge.y, -depth, edge.cx, edge.cy, edge.ccw))
        before = edge
    return found


def _beside(ring: Ring, away: float) -> tuple[float, float]:
    """Return a point outside the start of a ring, from which a tool comes in square to its first edge."""
    start, edge = ring.edges[-1], ring.edges[0]
    ahead = (edge.x - start.x, edge.y - start.y)
    if edge.cx is not None and edge.cy is not None:
        sign = 1 if edge.ccw else -1
        ahead = (-sign * (start.y - edge.cy), sign * (start.x - edge.cx))
    right = away / hypot(*ahead) * (1 if ring.is_ccw else -1)
    return start.x + right * ahead[1], start.y - right * ahead[0]


@dataclass(frozen=True, slots=True)
class Pocket:
    """A pocket cleared in rings from its middle to its wall."""

    shape: Shape
    depth: float
    tool_mm: float
    name: str
    group: str = "pockets"

    def shown(self) -> Sequence[Shown]:
        size, points = self.shape.signature()
        return [(f"{self.name} {size}", x, y) for x, y in points]

    def motions(self, random: Random) -> list[Motion]:
        left, low, right, high = self.shape.polygon().bounds
        inner = min(right - left, high - low) / 2 - self.tool_mm / 2
        found: list[Motion] = []
        inset = self.tool_mm / 2 + max(0.0, min(inner - 0.5, 2 * self.tool_mm))
        while inset > self.tool_mm / 2 - 1e-9:
            if self.shape.polygon().buffer(-inset - 0.2).geom_type == "Polygon":
                ring = self.shape.grown(-inset)
                found += along([(edge.x, edge.y, -self.depth) for edge in (ring.edges[-1], *ring.chords().edges)])
            inset -= self.tool_mm / 2
        return found


@dataclass(frozen=True, slots=True)
class Slot:
    """A straight slot as wide as its tool."""

    ends: tuple[tuple[float, float], tuple[float, float]]
    depth: float
    tool_mm: float
    name: str = "slot"
    group: str = "slots"

    def shown(self) -> Sequence[Shown]:
        return [(self.name, x, y) for x, y in self.ends]

    def motions(self, random: Random) -> list[Motion]:
        first, last = self.ends if random.random() < 0.5 else self.ends[::-1]
        half = self.depth / 2
        return along([(*first, -half), (*last, -half), (*last, -self.depth), (*first, -self.depth)])


@dataclass(frozen=True, slots=True)
class Strokes:
    """Open strokes of an engraving bit; a stroke of one point is a dot."""

    strokes: tuple[tuple[tuple[float, float], ...], ...]
    depth: float
    tool_mm: float
    name: str
    group: str = "engraving"

    def shown(self) -> Sequence[Shown]:
        return [(self.name, *point) for stroke in self.strokes for point in stroke]

    def motions(self, random: Random) -> list[Motion]:
        found: list[Motion] = []
        for stroke in self.strokes:
            if len(stroke) == 1:
                found += [Motion("rapid", *stroke[0], CLEAR_MM), Motion("drill", *stroke[0], -self.depth)]
            else:
                found += along([(x, y, -self.depth) for x, y in stroke])
        return found


@dataclass(frozen=True, slots=True)
class Passes:
    """The passes of a carving: runs of points of the tool's tip; what it shows is said by the part."""

    runs: tuple[tuple[tuple[float, float, float], ...], ...]
    tool_mm: float
    shows: tuple[Shown, ...] = ()
    group: str = "carving"

    def shown(self) -> Sequence[Shown]:
        return self.shows

    def motions(self, random: Random) -> list[Motion]:
        return [motion for run in self.runs for motion in along(run)]
