"""A job file as far as it could be read: the tables that are right, and the names in all that are there."""

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from flipreg.job.file.fitted_table import FittedPartTable
from flipreg.job.file.length import in_unit
from flipreg.job.file.tables import BlankTable, CheckTable, MachineTable, MarkTable, SetupTable, ToolTable
from flipreg.job.file.values import blank_of, fitted_part_of, limits_of, mark_of, setup_of, tool_of
from flipreg.job.name import is_name
from flipreg.job.parts import Parts, Reference
from flipreg.job.problem import KeyPath, Problem
from flipreg.units import INCH_MM

__all__ = ["RightTables"]

_KINDS = ("marks", "tools", "setups", "stations", "fitted_parts")

_Table = TypeVar("_Table", bound=BaseModel)
_Value = TypeVar("_Value")


@dataclass(frozen=True, slots=True)
class RightTables:
    """What may be looked at, though other parts of the file may be wrong.

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
    marks, tools, setups, fitted_parts : mapping from int
        The tables that are right, by their place in the file.
    names : mapping from str
        For each kind of table that has names the names in all of them, also in those that are wrong otherwise.
    references : tuple of Reference
        Everywhere something is named, also in tables that are wrong otherwise.
    missing_files : tuple of Problem
        The programs' files that are not there.
    """

    inch: bool
    blank: BlankTable | None
    machine: MachineTable | None
    check: CheckTable | None
    marks: Mapping[int, MarkTable]
    tools: Mapping[int, ToolTable]
    setups: Mapping[int, SetupTable]
    fitted_parts: Mapping[int, FittedPartTable]
    names: Mapping[str, tuple[str | None, ...]]
    references: tuple[Reference, ...]
    missing_files: tuple[Problem, ...]

    @classmethod
    def of(cls, raw: Mapping[str, object], folder: str) -> "RightTables":
        """Return what can be looked at in a file; programs are looked for in the folder, but not read."""
        tables = {kind: _listed(raw, kind) for kind in _KINDS}
        inch = raw.get("units") == "inch"
        return cls(
            inch=inch,
            blank=_right(raw.get("blank"), BlankTable, inch=inch),
            machine=_right(raw.get("machine"), MachineTable, inch=inch),
            check=_right(raw.get("check"), CheckTable, inch=inch),
            marks=_all_right(tables["marks"], MarkTable, inch=inch),
            tools=_all_right(tables["tools"], ToolTable, inch=inch),
            setups=_all_right(tables["setups"], SetupTable, inch=inch),
            fitted_parts=_all_right(tables["fitted_parts"], FittedPartTable, inch=inch),
            names={kind: _names(tables[kind]) for kind in _KINDS},
            references=tuple(_references(tables)),
            missing_files=tuple(_missing_files(tables["setups"], folder)),
        )

    def parts(self) -> Parts:
        """Return the values of the tables that are right, with programs named as the file names them."""
        unit_mm = INCH_MM if self.inch else 1.0
        return Parts(
            inch=self.inch,
            blank=_value(self.blank, lambda table: blank_of(table, unit_mm)),
            limits=_value(self.check, lambda table: limits_of(table, unit_mm)),
            marks=_values(self.marks, lambda table: mark_of(table, unit_mm)),
            tools=_values(self.tools, lambda table: tool_of(table, unit_mm)),
            setups=_values(self.setups, lambda table: setup_of(table, unit_mm, "")),
            fitted_parts=_values(self.fitted_parts, lambda table: fitted_part_of(table, unit_mm, "")),
            names=self.names,
            references=self.references,
        )


def _value(table: _Table | None, value_of: Callable[[_Table], _Value]) -> _Value | None:
    """Return the value of a table; one that contradicts itself has none, and `table_rules` says why."""
    try:
        return None if table is None else value_of(table)
    except ValueError:
        return None


def _values(tables: Mapping[int, _Table], value_of: Callable[[_Table], _Value]) -> dict[int, _Value]:
    """Return the values of tables that have one, by their place."""
    found = {index: _value(table, value_of) for index, table in tables.items()}
    return {index: value for index, value in found.items() if value is not None}


def _right(table: object, model: type[_Table], *, inch: bool) -> _Table | None:
    """Return a table if it is right."""
    try:
        return model.model_validate(table, context=in_unit(inch=inch))
    except ValidationError:
        return None


def _all_right(tables: Sequence[object], model: type[_Table], *, inch: bool) -> dict[int, _Table]:
    """Return the tables that are right, by their place."""
    found = {index: _right(table, model, inch=inch) for index, table in enumerate(tables)}
    return {index: table for index, table in found.items() if table is not None}


def _references(tables: Mapping[str, Sequence[object]]) -> Iterator[Reference]:
    for path, mark in _mappings(tables["marks"], ("marks",)):
        yield from _named(mark.get("carried"), (*path, "carried"), "from", "marks")
    for path, setup in _mappings(tables["setups"], ("setups",)):
        yield from _named(setup, path, "mark", "marks")
        yield from _named(setup.get("tilt"), (*path, "tilt"), "hinge", "marks")
        for runs, program in _mappings(_listed(setup, "programs"), (*path, "programs")):
            yield from _named(program, runs, "tool", "tools")
            numbered = program.get("tools")
            for number in numbered if isinstance(numbered, Mapping) else ():
                yield from _named(numbered, (*runs, "tools"), number, "tools")
    for path, part in _mappings(tables["fitted_parts"], ("fitted_parts",)):
        yield from _named(part, path, "setup", "setups")


def _missing_files(setups: Sequence[object], folder: str) -> Iterator[Problem]:
    for path, setup in _mappings(setups, ("setups",)):
        for runs, program in _mappings(_listed(setup, "programs"), (*path, "programs")):
            file = program.get("file")
            if isinstance(file, str) and file.strip() and not os.path.isfile(os.path.join(folder, file)):
                yield Problem((*runs, "file"), f"there is no file {file!r} in the job file's folder")


def _named(table: object, path: KeyPath, key: str, kind: str) -> Iterator[Reference]:
    name = table.get(key) if isinstance(table, Mapping) else None
    if isinstance(name, str) and name.strip():
        yield Reference((*path, key), kind, name)


def _mappings(tables: Sequence[object], path: KeyPath) -> Iterator[tuple[KeyPath, Mapping[str, object]]]:
    for index, table in enumerate(tables):
        if isinstance(table, Mapping):
            yield (*path, index), table


def _listed(raw: Mapping[Any, object], key: str) -> Sequence[object]:
    value = raw.get(key)
    return value if isinstance(value, list) else []


def _names(tables: Sequence[object]) -> tuple[str | None, ...]:
    found = [table.get("name") if isinstance(table, Mapping) else None for table in tables]
    return tuple(name if isinstance(name, str) and is_name(name) else None for name in found)
