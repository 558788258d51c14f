"""The parts of a job as far as they are known, for rules that hold whether or not the rest of it is right.

Of a job made in Python all parts are known. Of a job file with mistakes only the tables without one are, so that
everything else that is wrong in the file can be told at once.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from flipreg.job.blank import Blank
from flipreg.job.fitted import FittedPart
from flipreg.job.job import Job
from flipreg.job.limits import Limits
from flipreg.job.mark import Mark
from flipreg.job.problem import KeyPath
from flipreg.job.setup import Setup, Tilt
from flipreg.job.tool import Tool
from flipreg.units import INCH_MM

__all__ = ["Parts", "Reference", "unit_hint"]


@dataclass(frozen=True, slots=True)
class Reference:
    """A place where a part names another one.

    Attributes
    ----------
    path : KeyPath
        Where.
    kind : str
        What is named: 'marks', 'tools' or 'setups'.
    name : str
        The name.
    """

    path: KeyPath
    kind: str
    name: str


@dataclass(frozen=True, slots=True)
class Parts:
    """What may be compared for contradictions; all lengths are millimetres.

    Attributes
    ----------
    inch : bool
        Whether messages give lengths in inches.
    blank : Blank or None
        The blank, None where it is not known.
    limits : Limits or None
        What the check looks for, None where it is not known.
    marks, tools, setups, fitted_parts : mapping from int
        The parts that are known, by their place in the job.
    names : mapping from str
        For each kind of part the names of all there are, also of those that are not known otherwise.
    references : tuple of Reference
        Everywhere something is named, also by parts that are not known otherwise.
    """

    inch: bool
    blank: Blank | None
    limits: Limits | None
    marks: Mapping[int, Mark]
    tools: Mapping[int, Tool]
    setups: Mapping[int, Setup]
    fitted_parts: Mapping[int, FittedPart]
    names: Mapping[str, Sequence[str | None]]
    references: tuple[Reference, ...]

    @classmethod
    def of(cls, job: Job) -> "Parts":
        """Return the parts of a whole job."""
        return cls(
            inch=job.inch,
            blank=job.blank,
            limits=job.limits,
            marks=dict(enumerate(job.marks)),
            tools=dict(enumerate(job.tools)),
            setups=dict(enumerate(job.setups)),
            fitted_parts=dict(enumerate(job.fitted_parts)),
            names={
                "marks": [mark.name for mark in job.marks],
                "tools": [tool.name for tool in job.tools],
                "setups": [setup.name for setup in job.setups],
                "stations": [station.name for station in job.stations],
                "fitted_parts": [part.name for part in job.fitted_parts],
            },
            references=tuple(_references(job)),
        )

    def mark(self, name: str) -> Mark | None:
        """Return the mark of a name, None where it is not known."""
        return next((mark for mark in self.marks.values() if mark.name == name), None)

    def tilts(self) -> dict[int, Tilt]:
        """Return the tilts by the place of their setup."""
        return {index: setup.tilt for index, setup in self.setups.items() if setup.tilt is not None}

    def hinges(self) -> set[str]:
        """Return the names of the marks whose line is a hinge, also in setups that are not known otherwise."""
        return {reference.name for reference in self.references if reference.path[-1] == "hinge"}


def unit_hint(size_mm: float, limit_mm: float, *, inch: bool) -> str:
    """Say so where the other unit would put a length on the blank: inches in a job of mm, or the reverse."""
    if inch and abs(size_mm) / INCH_MM <= limit_mm:
        return " (if it is in mm, the file's units is wrong or this number is)"
    if not inch and abs(size_mm) <= limit_mm * INCH_MM:
        return " (if the blank's size is in inch, the file's units is wrong or that size is)"
    return ""


def _references(job: Job) -> Iterator[Reference]:
    for index, mark in enumerate(job.marks):
        if mark.carried is not None:
            yield Reference(("marks", index, "carried", "from"), "marks", mark.carried.from_mark)
    for index, setup in enumerate(job.setups):
        path: KeyPath = ("setups", index)
        yield Reference((*path, "mark"), "marks", setup.mark)
        if setup.tilt is not None:
            yield Reference((*path, "tilt", "hinge"), "marks", setup.tilt.hinge)
        for place, program in enumerate(setup.programs):
            runs: KeyPath = (*path, "programs", place)
            if program.tool is not None:
                yield Reference((*runs, "tool"), "tools", program.tool)
            for number, name in program.tools.items():
                yield Reference((*runs, "tools", str(number)), "tools", name)
    for index, part in enumerate(job.fitted_parts):
        yield Reference(("fitted_parts", index, "setup"), "setups", part.setup)
