"""What a face is cut with: tools, their moves, and cuts as moves with what the other face shares of them.

Places are those of the blank as it is seen from the front; heights count from the face that is up, down is negative.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from tests.workshop.paths import Leg, along
from tests.workshop.placement import Placement, Point, Points

Face = Literal["front", "back"]
FACES: tuple[Face, Face] = ("front", "back")


@dataclass(frozen=True, slots=True)
class Cutter:
    diameter: float
    shape: Literal["flat", "ball", "vee", "drill"] = "flat"
    angle: float | None = None


@dataclass(frozen=True, slots=True)
class Lift:
    """Up to the safe height."""


@dataclass(frozen=True, slots=True)
class Over:
    """A traverse at the safe height."""

    place: Point


@dataclass(frozen=True, slots=True)
class Down:
    z: float


@dataclass(frozen=True, slots=True)
class Straight:
    place: Point
    z: float


@dataclass(frozen=True, slots=True)
class Round:
    place: Point
    z: float
    centre: Point
    ccw: bool


@dataclass(frozen=True, slots=True)
class Drilled:
    """A hole made by going straight down: by a canned cycle, or by moves."""

    place: Point
    z: float
    cycle: str


@dataclass(frozen=True, slots=True)
class Compensated:
    """Cutter compensation to a side, or none, from the next move on."""

    side: Literal["left", "right"] | None


Move = Lift | Over | Down | Straight | Round | Drilled | Compensated


@dataclass(frozen=True, slots=True)
class Shared:
    """What both faces cut at one place: a line of an edge, or the middle of a hole; `kind` tells what may be one."""

    kind: str
    points: Points


@dataclass(frozen=True, slots=True)
class Cut:
    name: str
    cutter: Cutter
    program: str
    moves: tuple[Move, ...]
    shared: tuple[Shared, ...] = ()
    part: int = 0
    """Of several parts in one blank, which."""

    @property
    def is_hole(self) -> bool:
        return bool(self.shared) and all(one.kind.startswith("hole") for one in self.shared)

    @property
    def is_profile(self) -> bool:
        return bool(self.shared) and self.name == "profile"

    def moved(self, placement: Placement) -> "Cut":
        return replace(
            self,
            moves=tuple(_moved(move, placement) for move in self.moves),
            shared=tuple(Shared(one.kind, placement.of(one.points)) for one in self.shared),
        )

    def in_chords(self) -> "Cut":
        """Return the same without arcs: stretched, they would be none."""
        moves: list[Move] = []
        here, z = (0.0, 0.0), 0.0
        for move in self.moves:
            if isinstance(move, Round):
                chords = along(here, Leg(move.place, move.centre, move.ccw), 0.002)
                moves += [Straight(p, z + (move.z - z) * (i + 1) / len(chords)) for i, p in enumerate(chords)]
            else:
                moves.append(move)
            here = getattr(move, "place", here)
            z = getattr(move, "z", z)
        return replace(self, moves=tuple(moves))

    def places(self) -> Points:
        return np.array([move.place for move in self.moves if isinstance(move, Over | Straight | Round | Drilled)])


def _moved(move: Move, placement: Placement) -> Move:
    match move:
        case Over() | Straight() | Drilled():
            return replace(move, place=placement(move.place))
        case Round():
            ccw = move.ccw != placement.mirrors
            return replace(move, place=placement(move.place), centre=placement(move.centre), ccw=ccw)
        case Compensated("left" | "right") if placement.mirrors:
            return Compensated("right" if move.side == "left" else "left")
    return move


def shared_of(cuts: Iterable[Cut], *, any_size: bool = False) -> dict[str, list[Points]]:
    """Return what the other face shares, by kind; holes of any size are one kind, if that is asked for."""
    found: dict[str, list[Points]] = {}
    for cut in cuts:
        for one in cut.shared:
            kind = one.kind.split()[0] if any_size else one.kind
            found.setdefault(kind, []).append(one.points)
    return found


def reach(cuts: Sequence[Cut]) -> tuple[Points, Points]:
    """Return the lowest and the highest X and Y."""
    places = np.vstack([cut.places() for cut in cuts])
    return places.min(axis=0), places.max(axis=0)
