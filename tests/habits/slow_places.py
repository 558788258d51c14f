"""Places of the outsider's reading: a number of millimetres from something, and the motions between them.

Along each axis the machine stands somewhere: at a number of the program, or at a distance from a place that nobody
knows, which has a name then: where it stood at the start, the way home, a place of the machine, where an offset put it.
"""

from dataclasses import dataclass
from decimal import Decimal

__all__ = ["AXES", "Motion", "Place", "Spot", "known"]

AXES = "XYZ"
"""The order of the coordinates of a spot."""


@dataclass(frozen=True)
class Place:
    """Where something is along one axis: `number` millimetres from `base`, which is "" for the program's own zero."""

    base: str
    number: Decimal

    def further(self, step: Decimal) -> "Place":
        """Return the place that many millimetres on."""
        return Place(self.base, self.number + step)


Spot = tuple[Place, Place, Place]
"""A point of the machine: along X, Y and Z."""


def known(number: Decimal) -> Place:
    """Return a place in the program's own numbers."""
    return Place("", number)


@dataclass(frozen=True)
class Motion:
    """One motion: millimetres, degrees, millimetres a minute; `centre` in the order of the axes, `normal` 2 for XY."""

    kind: str
    """traverse, feed or arc"""
    start: Spot
    end: Spot
    line: int
    feed: Decimal | None
    tool: int
    spindle: Decimal
    side: int
    """Of cutter compensation: 1 left, -1 right, 0 off."""
    offset: int
    """The work offset, 1 for G54."""
    cycle: int = 0
    centre: tuple[Decimal, Decimal, Decimal] | None = None
    normal: int = 2
    sweep_deg: float = 0.0
    is_unsaid: bool = False
    """Whether the report gives its end no number: how far a peck backs off."""

    def __str__(self) -> str:
        modes = f"F{self.feed} T{self.tool} S{self.spindle} side {self.side} offset {self.offset} cycle {self.cycle}"
        turn = ""
        if self.centre is not None:
            turn = f" about {', '.join(f'{value:.5f}' for value in self.centre)} by {self.sweep_deg:.4f}"
        return f"line {self.line} {self.kind} from {_said(self.start)} to {_said(self.end)}{turn} ({modes})"


def _said(spot: Spot) -> str:
    return " ".join(f"{place.base or axis}{place.number:+.5f}" for axis, place in zip(AXES, spot, strict=True))
