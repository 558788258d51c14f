"""What the proof's machine knows between two blocks."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from flipreg.prove.machine.coordinate import Coordinate
from flipreg.rs274.read.program import Units

__all__ = ["AXES", "LENGTH_AT_START", "CoordinateSystem", "MachineState", "Place"]

AXES = "XYZ"

LENGTH_AT_START = "length offset at start"
"""The tool length offset that the control holds before a program says one."""
LENGTH_OF_TOOL = "length offset of "
"""How symbols of the lengths begin that G43 without H takes: each is of one tool, and no other program can say it."""

Place = tuple[Coordinate, Coordinate, Coordinate]


@dataclass(frozen=True, slots=True)
class CoordinateSystem:
    """What numbers mean at one time: where the zero of each axis is, and the tool whose tip it is about."""

    zero: Place
    tool: int | None

    def same_zero(self, other: "CoordinateSystem", axes: tuple[int, ...] = (0, 1, 2)) -> bool:
        """Return whether the zeros of some axes are one."""
        return all(self.zero[axis] == other.zero[axis] for axis in axes)


@dataclass(slots=True)
class MachineState:
    """All that a block may depend on. `MachineState()` is the machine before a program.

    What no program has said yet is None, or a symbol. Modes have the defaults of the language (see
    `flipreg.rs274.interpret.state.State`), because they say how words are to be read.

    Attributes
    ----------
    place : three coordinates
        The controlled point of the spindle in the machine's frame; in Z that is the tip plus the length of the tool.
    motion : int or None
        Ten times the code.
    plane, distance, centres, feed_mode, units, returns : int
        Ten times the code of G17 to G19, G90 and G91, G90.1 and G91.1, G93 and G94, G20 and G21, G98 and G99.
    cutter : (int, Decimal or None)
        Ten times the code of G40 to G42, and the D word.
    length : Coordinate
        The tool length offset.
    offset : int
        The work offset, 540 to 593.
    origins : mapping from (offset, axis) to Coordinate
        Zeros that G10 has set.
    axis_offset, stored : three coordinates
        The axis offsets of G92, and the ones that G92.3 brings back.
    path : tuple or None
        Path control: ten times the code, and the words beside it that are no motion's, as lengths in millimetres; None
        where nothing was said.
    turning : int
        3, 4 or 5.
    speed, feed_mm : Decimal or None
        The last S; the last F, in millimetres a minute.
    mist, flood, overrides : bool
        M7; M8; M48.
    tool, selected : int or None
        The tool in the spindle; the last T.
    cycle : mapping from letter to Decimal
        The words of a canned cycle that still hold.
    radius_off : frozenset of int
        Axes along which the point may be a radius off its place: cutter compensation was on, and no motion since has
        named them.
    ended : bool
        M2 or M30 was executed.
    unknowns : int
        Symbols made so far for places that nobody knows.
    """

    place: list[Coordinate] = field(default_factory=lambda: [Coordinate.start(letter) for letter in AXES])
    motion: int | None = None
    plane: int = 170
    distance: int = 900
    centres: int = 911
    feed_mode: int = 940
    units: int = 210
    returns: int = 980
    cutter: tuple[int, Decimal | None] = (400, None)
    length: Coordinate = field(default_factory=lambda: Coordinate.of(LENGTH_AT_START))
    offset: int = 540
    origins: dict[tuple[int, int], Coordinate] = field(default_factory=dict)
    axis_offset: list[Coordinate] = field(
        default_factory=lambda: [Coordinate.of(f"axis offset at start {a}") for a in AXES]
    )
    stored: list[Coordinate] = field(default_factory=lambda: [Coordinate.of(f"stored axis offset {a}") for a in AXES])
    path: tuple[int, tuple[tuple[str, Decimal], ...]] | None = None
    turning: int = 5
    speed: Decimal | None = None
    feed_mm: Decimal | None = None
    mist: bool = False
    flood: bool = False
    overrides: bool = True
    tool: int | None = None
    selected: int | None = None
    cycle: Mapping[str, Decimal] = field(default_factory=dict)
    radius_off: frozenset[int] = frozenset()
    ended: bool = False
    unknowns: int = 0

    @classmethod
    def before(cls, units: Units | None, program: str = "") -> "MachineState":
        """Return the machine before a program, whose numbers are in these units until it says G20 or G21.

        Of several programs each may begin somewhere else; then it has a name.
        """
        places = [Coordinate.start(f"{program} {letter}".strip()) for letter in AXES]
        return cls(place=places, units=200 if units is Units.INCH else 210)

    def copy(self) -> "MachineState":
        """Return a machine in the same state."""
        values = {name: getattr(self, name) for name in self.__slots__}
        for name in ("place", "axis_offset", "stored"):
            values[name] = [*values[name]]
        return MachineState(**{**values, "origins": dict(self.origins)})

    def origin(self, axis: int) -> Coordinate:
        """Return the zero of the work offset in force."""
        found = self.origins.get((self.offset, axis))
        return found or Coordinate.of(f"origin G{self.offset / 10:g} {AXES[axis]}")

    def zero(self, axis: int) -> Coordinate:
        """Return where the number 0 is now."""
        zero = self.origin(axis) + self.axis_offset[axis]
        return zero + self.length if axis == 2 else zero

    def frame(self) -> CoordinateSystem:
        """Return what numbers mean now."""
        return CoordinateSystem((self.zero(0), self.zero(1), self.zero(2)), self.tool)

    def where(self) -> Place:
        """Return the place."""
        x, y, z = self.place
        return x, y, z

    def unknown(self, why: str, axis: int) -> Coordinate:
        """Return a place that nobody knows."""
        self.unknowns += 1
        return Coordinate.of(f"{why} {self.unknowns} {AXES[axis]}")
