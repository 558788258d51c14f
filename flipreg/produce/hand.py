"""The part for the other hand: front and back mirrored together, proved one by one, and checked against each other.

That is another thing than the program for the other face. A left-handed part is the mirror image of the
right-handed one, and it has a front and a back of its own, which have to be in register again.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from enum import Enum

from flipreg.arguments import checks_fields
from flipreg.errors import UsageError
from flipreg.produce.climb import flip_keeping_climb
from flipreg.produce.header import headed, is_told_in_mm
from flipreg.produce.isometries import FlipAxis, flip_isometry
from flipreg.produce.produce import flip
from flipreg.produce.produced import Produced
from flipreg.program.face_program import face_program
from flipreg.register.check import check
from flipreg.register.report import Report
from flipreg.rs274.read.program import Program, Readable
from flipreg.rs274.read.scanner import scan_chunks
from flipreg.units import plain

__all__ = ["Across", "FlippedJob", "MillingDirection", "OtherHand", "other_hand"]


class MillingDirection(Enum):
    """What becomes of the cutting direction of closed contours."""

    MIRRORED = "mirrored"
    """As the mirror leaves it: climb milling becomes conventional."""
    KEPT = "kept"
    """They are run the other way round."""


@checks_fields
@dataclass(frozen=True, slots=True)
class Across:
    """The line that the part is mirrored about, in the front programs' numbers.

    Attributes
    ----------
    letter : str
        `x` for the line x = at, `y` for y = at.
    at_mm : Decimal
    """

    letter: str
    at_mm: Decimal

    def __post_init__(self) -> None:
        if self.letter not in ("x", "y"):
            raise UsageError(f"a part is mirrored about a line x=C or y=C, got {self.letter!r}")


@checks_fields
@dataclass(frozen=True, slots=True)
class FlippedJob:
    """The programs of both faces, and how the blank is turned over between them.

    Attributes
    ----------
    front, back : tuple of Program or ProgramFile
        In the order they are run.
    axis : FlipAxis
    datum_mm : pair of Decimal
        As in `flip`.
    tools_mm : tuple of float or None
        The cutting diameter of each program, front first; empty where none is known.
    thickness_mm : float, optional
    numbered_tools_mm : mapping from int
        Cutting diameters by T number, for programs that change tools.
    """

    front: tuple[Readable, ...]
    back: tuple[Readable, ...]
    axis: FlipAxis
    datum_mm: tuple[Decimal, Decimal]
    tools_mm: tuple[float | None, ...] = ()
    thickness_mm: float | None = None
    numbered_tools_mm: Mapping[int, float] = field(default_factory=dict, hash=False)

    def __post_init__(self) -> None:
        count = len(self.front) + len(self.back)
        if self.tools_mm and len(self.tools_mm) != count:
            raise UsageError(f"{len(self.tools_mm)} tools for {count} programs; name one for each, or none")


@dataclass(frozen=True, slots=True)
class OtherHand:
    """The programs of the mirrored part, in the order of the sources, and whether they are in register."""

    front: tuple[Produced, ...]
    back: tuple[Produced, ...]
    report: Report


def other_hand(
    job: FlippedJob, across: Across, *, tolerance_mm: float, direction: MillingDirection = MillingDirection.MIRRORED
) -> OtherHand:
    r"""Mirror the programs of both faces, and check the mirrored ones against each other.

    Parameters
    ----------
    job : FlippedJob
        The part as it is.
    across : Across
        The line to mirror about. The blank is turned over as before, with the same datum.
    tolerance_mm : float
        Largest deviation that is in register, in millimetres, over 0.
    direction : MillingDirection
        What becomes of climb milling.

    Returns
    -------
    OtherHand
        Nothing of it should be cut unless `report.in_register` is True.

    Raises
    ------
    ProgramError, RefusedError, ProofError
        As `flip`.
    UsageError
        If a face has no program, or the tolerance is no length over 0.

    Examples
    --------
    >>> from flipreg.rs274.read.program import parse
    >>> outline = "G21 G90\nG0 X{0} Y0 Z5\nG1 Z-2 F300\nX{1}\nY30\nX{2} Y20\nX{0}\nY0\nG0 Z5\nM2\n"
    >>> front, back = (parse(outline.format(*x), source="f.nc") for x in ((0, 50, 20), (0, -50, -20)))
    >>> job = FlippedJob((front,), (back,), FlipAxis.Y, (Decimal(0), Decimal(0)))
    >>> hand = other_hand(job, Across("x", Decimal(25)), tolerance_mm=0.1)
    >>> hand.report.in_register
    True
    >>> hand.front[0].text.splitlines()[4]
    b'G0 X50 Y0 Z5'
    """
    front_axis = FlipAxis.Y if across.letter == "x" else FlipAxis.X
    fronts = tuple(_mirrored(each, front_axis, _datum(across), across, direction) for each in job.front)
    back = _seen_from_behind(across, job)
    backs = tuple(_mirrored(each, front_axis, _datum(back), across, direction) for each in job.back)
    tools = job.tools_mm or (None,) * (len(job.front) + len(job.back))
    faces = [
        face_program(
            Program(each.text, each.source, of.units, of.dialect), tool_diameter_mm=tool, tools_mm=job.numbered_tools_mm
        )
        for each, of, tool in zip((*fronts, *backs), (*job.front, *job.back), tools, strict=True)
    ]
    report = check(
        faces[: len(fronts)],
        faces[len(fronts) :],
        flip=flip_isometry(job.axis, job.datum_mm),
        tolerance_mm=tolerance_mm,
        thickness_mm=job.thickness_mm,
    )
    return OtherHand(fronts, backs, report)


def _datum(across: Across) -> tuple[Decimal, Decimal]:
    """Return the datum of the mirror about a line: x becomes 2 C - x, or y becomes 2 C - y."""
    return (2 * across.at_mm, Decimal(0)) if across.letter == "x" else (Decimal(0), 2 * across.at_mm)


def _seen_from_behind(across: Across, job: FlippedJob) -> Across:
    """Return the same line in the back programs' numbers."""
    x, y = job.datum_mm
    datum = x if across.letter == "x" else y
    turned = (job.axis is FlipAxis.Y) == (across.letter == "x")
    return replace(across, at_mm=datum - across.at_mm if turned else across.at_mm - datum)


def _mirrored(
    program: Readable, axis: FlipAxis, datum_mm: tuple[Decimal, Decimal], across: Across, direction: MillingDirection
) -> Produced:
    make = flip_keeping_climb if direction is MillingDirection.KEPT else flip
    made = make(program, axis=axis, datum_mm=datum_mm)
    head = next(iter(scan_chunks(program.pieces(), program.source)))
    line = f"{across.letter} = {plain(across.at_mm)}"
    done = [f"mirrored for the other hand about {line} of the front"]
    if direction is MillingDirection.KEPT:
        done.append("cutting direction of closed contours kept")
    return headed(head, made.without_header, made, tuple(done), in_inches=is_told_in_mm(made))
