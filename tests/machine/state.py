"""What a machine has in force, what stands in its tables, and what it did."""

from dataclasses import dataclass, field

__all__ = ["Event", "Point", "Shop", "Start", "State", "Trace"]

Point = tuple[float, float, float]


@dataclass(frozen=True)
class Shop:
    """The tables of a machine, in millimetres.

    Parameters
    ----------
    lengths
        Real length of each tool, and its entry in the tool table.
    diameters
        Diameter of each tool in the tool table.
    origins
        Machine coordinates of the zero of each of the nine work offsets.
    surface
        Machine height of a plate that a probe meets.
    homes
        Machine coordinates of the reference points of G28 and G30.
    """

    lengths: tuple[float, ...]
    diameters: tuple[float, ...]
    origins: tuple[Point, ...]
    surface: float
    homes: tuple[Point, Point] = ((0.0, 0.0, 0.0), (-10.0, -20.0, -5.0))


@dataclass(frozen=True)
class Start:
    """How the machine stands before a program: spindle in machine coordinates, tool, and the length offset left on."""

    spindle: Point
    tool: int = 1
    length_offset: float = 0.0
    inches: bool = False


@dataclass(frozen=True)
class State:
    """Everything in force at one event; lengths in millimetres, feed per minute in millimetres."""

    spindle: str = "M5"
    speed: float = 0.0
    mist: bool = False
    flood: bool = False
    overrides: bool = True
    path: tuple[object, ...] = ("G64",)
    compensation: tuple[str, float] = ("G40", 0.0)
    length_offset: float = 0.0
    offset: int = 1
    axis_offsets: Point = (0.0, 0.0, 0.0)
    stored_axis_offsets: Point = (0.0, 0.0, 0.0)
    tool: int = 1
    selected: int = 1
    feed: float = 0.0
    feed_mode: str = "G94"
    inches: bool = False
    steps: bool = False
    plane: str = "G17"
    motion: str = "G1"
    returns: str = "G98"
    centres: str = "G91.1"


@dataclass(frozen=True)
class Event:
    """One thing that the machine does, with the tip's way in machine coordinates and the state in force.

    `kind` is rapid, feed, arc, probe, dwell, orient, stop, tool or end; `argument` is a dwell's seconds or a code.
    """

    line: int
    kind: str
    way: tuple[Point, ...]
    state: State
    argument: float = 0.0

    @property
    def moves(self) -> bool:
        """Whether the tip moves or is meant to."""
        return self.kind in {"rapid", "feed", "arc", "probe"}


@dataclass
class Trace:
    """All events of one run, the state at its end and where the machine stands then; `ended` by M2 or M30."""

    events: list[Event] = field(default_factory=list)
    last: State = field(default_factory=State)
    spindle: Point = (0.0, 0.0, 0.0)
    tip: Point = (0.0, 0.0, 0.0)
    ended: bool = False
    at_line: dict[int, State] = field(default_factory=dict)
    origins: tuple[Point, ...] = ()
