"""A job file as far as it could be read: the tables that are right, and the names in all that are there."""

from collections.abc import Mapping
from dataclasses import dataclass

from flipreg.job.file import BlankTable, MarkTable, SetupTable, TiltTable, ToolTable
from flipreg.job.problem import KeyPath

__all__ = ["Draft", "Reference"]


@dataclass(frozen=True, slots=True)
class Reference:
    """A place where the file names something, whatever else is wrong around it.

    Attributes
    ----------
    path : KeyPath
        Where.
    kind : str
        What is named: 'marks', 'tools' or 'files'.
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
    marks, tools, setups : mapping from int
        The tables that are right, by their place in the file.
    names : mapping from str
        For 'marks', 'tools' and 'setups' the names in all tables, also those that are wrong otherwise.
    references : tuple of Reference
        Everywhere something is named.
    existing_files : frozenset of str
        Which of the programs' files are there, as the job file spells them.
    """

    inch: bool
    blank: BlankTable | None
    marks: Mapping[int, MarkTable]
    tools: Mapping[int, ToolTable]
    setups: Mapping[int, SetupTable]
    names: Mapping[str, tuple[str | None, ...]]
    references: tuple[Reference, ...]
    existing_files: frozenset[str]

    def mark(self, name: str) -> MarkTable | None:
        """Return the right table of a mark, None where there is none."""
        return next((mark for mark in self.marks.values() if mark.name == name), None)

    def tilts(self) -> dict[int, TiltTable]:
        """Return the tilts by the place of their setup."""
        return {index: setup.tilt for index, setup in self.setups.items() if setup.tilt is not None}

    def hinges(self) -> set[str]:
        """Return the names of the marks whose line is a hinge, also in setups that are wrong otherwise."""
        return {reference.name for reference in self.references if reference.path[-1] == "hinge"}
