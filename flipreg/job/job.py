"""A whole job: blank, marks, tools and setups in order."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from math import isfinite
from typing import Protocol, TypeVar

from flipreg.arguments import checks_fields
from flipreg.errors import FlipregError
from flipreg.job.blank import Blank
from flipreg.job.budget import Budget
from flipreg.job.fitted import FittedPart
from flipreg.job.guess import Guess
from flipreg.job.limits import Limits
from flipreg.job.machine import Machine
from flipreg.job.mark import Mark
from flipreg.job.setup import Setup
from flipreg.job.station import Station
from flipreg.job.tool import Tool

__all__ = ["Job", "UnknownNameError"]


class UnknownNameError(FlipregError, KeyError):
    """A mark, tool, setup or fitted part that the job does not have; the text lists those it has."""

    def __str__(self) -> str:
        return str(self.args[0])


@checks_fields
@dataclass(frozen=True, slots=True)
class Job:
    """What the plan says about one part.

    Attributes
    ----------
    source : str
        Name of the job file, for messages.
    name : str
        Name of the part.
    tolerance_mm : float
        Largest register error that is still one part, a radius, over 0.
    inch : bool
        Whether the job file's own lengths are inches; all fields here are millimetres all the same.
    blank : Blank
        The board.
    marks : tuple of Mark
        In the order of the file; the first one fixes the origin of the blank frame and is on the front.
    tools : tuple of Tool
        The cutters.
    setups : tuple of Setup
        In the order they are cut.
    budget : Budget or None
        How exactly it is all done, for the error budget; None where the file says nothing about it.
    machine : Machine or None
        The machine it is cut on; None where the file says nothing about it.
    limits : Limits
        What the check looks for beside register.
    stations : tuple of Station
        Where the finished thickness is wanted.
    fitted_parts : tuple of FittedPart
        Parts that lie in pockets of this one.
    passive : tuple of str
        Codes of the machine's own in its programs that move nothing.
    guesses : tuple of Guess
        What nobody has confirmed yet; the check lists them.
    by_marks : bool
        Whether register rests on the marks where the programs cannot show it.

    Raises
    ------
    ValueError
        If the tolerance is not over 0, or there is no first mark at a distance. What its parts contradict each other in
        is told by `flipreg.job.rules` when the job is used.
    """

    source: str
    name: str
    tolerance_mm: float
    inch: bool
    blank: Blank
    marks: tuple[Mark, ...]
    tools: tuple[Tool, ...]
    setups: tuple[Setup, ...]
    budget: Budget | None = None
    machine: Machine | None = None
    limits: Limits = field(default_factory=Limits)
    stations: tuple[Station, ...] = ()
    fitted_parts: tuple[FittedPart, ...] = ()
    passive: tuple[str, ...] = ()
    guesses: tuple[Guess, ...] = ()
    by_marks: bool = False

    def __post_init__(self) -> None:
        if not (isfinite(self.tolerance_mm) and self.tolerance_mm > 0.0):
            raise ValueError(f"the tolerance is a length over 0 mm, got {self.tolerance_mm}")
        if not self.marks or self.marks[0].along_mm is None:
            raise ValueError("a job needs a first mark, at a distance from the near end: it is the origin")

    @property
    def origin_along_mm(self) -> float:
        """Distance of the first mark's line from the near end, along the front face."""
        along_mm = self.marks[0].along_mm
        assert along_mm is not None
        return along_mm

    def mark(self, name: str) -> Mark:
        """Return the mark of a name; an UnknownNameError lists the names there are."""
        return _named(self.marks, name, "mark")

    def tool(self, name: str) -> Tool:
        """Return the tool of a name; an UnknownNameError lists the names there are."""
        return _named(self.tools, name, "tool")

    def setup(self, name: str) -> Setup:
        """Return the setup of a name; an UnknownNameError lists the names there are."""
        return _named(self.setups, name, "setup")

    def fitted_part(self, name: str) -> FittedPart:
        """Return the fitted part of a name; an UnknownNameError lists the names there are."""
        return _named(self.fitted_parts, name, "fitted part")


class _HasName(Protocol):
    @property
    def name(self) -> str: ...


_Named = TypeVar("_Named", bound=_HasName)


def _named(things: Iterable[_Named], name: str, kind: str) -> _Named:
    known = []
    for thing in things:
        if thing.name == name:
            return thing
        known.append(thing.name)
    raise UnknownNameError(f"the job has no {kind} {name!r}; it has {', '.join(map(repr, known)) or 'none'}")
