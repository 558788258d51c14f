"""One setup: how the blank lies on the table, where program zero is, and what runs."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from math import isfinite
from typing import Literal

from flipreg.arguments import checks_fields
from flipreg.job.blank import BlankFace
from flipreg.job.clamp import Clamp

__all__ = ["Section", "Setup", "SetupProgram", "Tilt", "ZZero"]


class ZZero(Enum):
    """Where Z zero of a setup is; the value is the word of the job file."""

    TOP = "top"
    """On the face that is up (of the bent section, if the blank is tilted)."""
    SPOILBOARD = "spoilboard"
    """On what the blank lies on: the opposite face (of the bent section, if the blank is tilted)."""


class Section(Enum):
    """On which side of the hinge line the bent section is."""

    FAR = "far"
    """Beyond it, seen from the near end."""
    NEAR = "near"
    """On the near end's side."""


@checks_fields
@dataclass(frozen=True, slots=True)
class Tilt:
    """That the blank is tilted so that its bent section lies flat on the table.

    Attributes
    ----------
    hinge : str
        The mark whose line is the hinge: on its face, the planes of the straight and the bent section meet there.
        It need not be on the face that is up.
    angle_deg : float
        How far the bent section leans out of the straight one: positive towards the front face (it rises when the
        front is up), negative towards the back. Within ±90 and not 0; the same in every setup of this section.
    section : Section
        On which side of the hinge the bent section is.

    Raises
    ------
    ValueError
        If the angle is 0 or not within ±90 degrees.
    """

    hinge: str
    angle_deg: float
    section: Section

    def __post_init__(self) -> None:
        if not (isfinite(self.angle_deg) and 0.0 < abs(self.angle_deg) < 90.0):
            raise ValueError(f"a tilt is over 0 and under 90 degrees either way, got {self.angle_deg}")


@checks_fields
@dataclass(frozen=True, slots=True)
class SetupProgram:
    """A program of a setup, and what it may do to the wood; whatever it does is looked at all the same.

    Attributes
    ----------
    file : str
        Path of the program, made of the job file's folder and what the job file says.
    tool : str or None
        Name of the tool that is in the spindle when it starts; of its only tool, if it never changes tools. None where
        its T numbers say all.
    profile : bool
        Whether it may part the part from the blank, along the part's edge, but for tabs; alone or together with the
        profile programs of the other face.
    tools : mapping from int to str
        Names of the tools by the program's T numbers, where they are not the tools' own numbers.
    through : bool
        Whether it may open the part: make a hole, a slot or a window in it, alone or with the other face's cuts.
    may_fall : tuple of (x, y)
        A point in each piece that it may cut loose, in its own numbers, millimetres.

    Raises
    ------
    ValueError
        If a T number is less than 0, or a point has no finite coordinates.
    """

    file: str
    tool: str | None = None
    profile: bool = False
    tools: Mapping[int, str] = field(default_factory=dict, hash=False)
    through: bool = False
    may_fall: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        wrong = [number for number in self.tools if number < 0]
        if wrong:
            raise ValueError(f"{self.file}: a T number is 0 or more, got {wrong[0]}")
        if not all(isfinite(value) for point in self.may_fall for value in point):
            raise ValueError(f"a point in a piece that may fall has finite coordinates, got {self.may_fall}")

    @property
    def tool_names(self) -> tuple[str, ...]:
        """The tools it names, each once."""
        return tuple(dict.fromkeys([*([] if self.tool is None else [self.tool]), *self.tools.values()]))


@checks_fields
@dataclass(frozen=True, slots=True)
class Setup:
    """How the blank lies on the table, and what is cut there.

    Attributes
    ----------
    name : str
        How the person calls it.
    up : BlankFace
        The face that is up.
    flip_axis : 'x', 'y' or None
        How the blank was turned over from lying with its front up: about Y like turning a page, about X end over
        end. None if, and only if, the front is up.
    mark : str
        The reference mark the jog starts from; it is on the face that is up.
    zero_mm : (float, float)
        From the mark to program zero, along the program's X and Y: the jog.
    z_zero : ZZero
        Where Z zero is.
    programs : tuple of SetupProgram
        In the order they run; all share the one program zero.
    quarter_turns : int
        How many quarter turns, 0 to 3, counter-clockwise seen from above, the blank was turned on the table after it
        was turned over. 0: the program's Y runs along the centre line.
    tilt : Tilt or None
        The tilt, if a bent section lies flat instead of the straight one.
    machine_zero_mm : three floats or None
        Where program zero is in the machine's own coordinates; None where that is not said.
    clamps : tuple of Clamp
        What stands on the table; no two have one name.

    Raises
    ------
    ValueError
        If flip axis and face contradict each other, or a number is out of range.
    """

    name: str
    up: BlankFace
    flip_axis: Literal["x", "y"] | None
    mark: str
    zero_mm: tuple[float, float]
    z_zero: ZZero
    programs: tuple[SetupProgram, ...]
    quarter_turns: int = 0
    tilt: Tilt | None = None
    machine_zero_mm: tuple[float, float, float] | None = None
    clamps: tuple[Clamp, ...] = ()

    def __post_init__(self) -> None:
        if (self.flip_axis is None) != (self.up is BlankFace.FRONT):
            raise ValueError(f"setup {self.name!r}: a flip axis is given if, and only if, the back is up")
        if self.quarter_turns not in range(4):
            raise ValueError(f"setup {self.name!r}: quarter turns are 0 to 3, got {self.quarter_turns}")
        if not all(map(isfinite, self.zero_mm)):
            raise ValueError(f"setup {self.name!r}: the jog needs finite distances")
        if not all(map(isfinite, self.machine_zero_mm or ())):
            raise ValueError(f"setup {self.name!r}: machine zero needs finite numbers")
        if len({clamp.name for clamp in self.clamps}) < len(self.clamps):
            raise ValueError(f"setup {self.name!r}: two clamps have one name")
