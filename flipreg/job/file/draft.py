"""A job file as far as it could be read: the tables that are right, and the names in all that are there."""

from collections.abc import Mapping
from dataclasses import dataclass

from flipreg.job.file.fitted_table import FittedPartTable
from flipreg.job.file.tables import (
    BlankTable,
    CheckTable,
    MachineTable,
    MarkTable,
    SetupTable,
    StationTable,
    TiltTable,
    ToolTable,
)
from flipreg.job.problem import KeyPath

__all__ = ["Draft", "Reference"]

_INCH_MM = 25.4


@dataclass(frozen=True, slots=True)
class Reference:
    """A place where the file names something, whatever else is wrong around it.

    Attributes
    ----------
    path : KeyPath
        Where.
    kind : str
        What is named: 'marks', 'tools', 'setups' or 'files'.
    name : str
        The name.
    """

    path: KeyPath
    kind: str
    name: str


@dataclass(frozen=True, slots=True)
class Draft:
    """What may be compared for contradictions, though other parts of the file may be wrong.

    Attributes
    ----------
    inch : bool
        Whether the lengths are inches.
    blank : BlankTable or None
        The blank, None where its table is wrong.
    machine : MachineTable or None
        The machine, None where there is none or its table is wrong.
    check : CheckTable or None
        What the check looks for, None where nothing is said or the table is wrong.
    marks, tools, setups, stations, fitted_parts : mapping from int
        The tables that are right, by their place in the file.
    names : mapping from str
        For each kind of table that has names the names in all of them, also in those that are wrong otherwise.
    references : tuple of Reference
        Everywhere something is named.
    existing_files : frozenset of str
        Which of the programs' files are there, as the job file spells them.
    """

    inch: bool
    blank: BlankTable | None
    machine: MachineTable | None
    check: CheckTable | None
    marks: Mapping[int, MarkTable]
    tools: Mapping[int, ToolTable]
    setups: Mapping[int, SetupTable]
    stations: Mapping[int, StationTable]
    fitted_parts: Mapping[int, FittedPartTable]
    names: Mapping[str, tuple[str | None, ...]]
    references: tuple[Reference, ...]
    existing_files: frozenset[str]

    def unit_hint(self, size: float, limit: float) -> str:
        """Say so where the other unit would put a length on the blank: inches in a file of mm, or the reverse."""
        other = "mm" if self.inch else "inch"
        if self.inch and abs(size) / _INCH_MM <= limit:
            return f" (if it is in {other}, the file's units is wrong or this number is)"
        if not self.inch and abs(size) <= limit * _INCH_MM:
            return f" (if the blank's size is in {other}, the file's units is wrong or that size is)"
        return ""

    def mark(self, name: str) -> MarkTable | None:
        """Return the right table of a mark, None where there is none."""
        return next((mark for mark in self.marks.values() if mark.name == name), None)

    def tilts(self) -> dict[int, TiltTable]:
        """Return the tilts by the place of their setup."""
        return {index: setup.tilt for index, setup in self.setups.items() if setup.tilt is not None}

    def hinges(self) -> set[str]:
        """Return the names of the marks whose line is a hinge, also in setups that are wrong otherwise."""
        return {reference.name for reference in self.references if reference.path[-1] == "hinge"}
