"""Reading a job file: TOML in, a Job out, or every problem at once."""

import os
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

from flipreg.job.blank import Blank, BlankFace, Edge, Grain
from flipreg.job.clamp import Clamp
from flipreg.job.file.lines import line_numbers, nearest_line
from flipreg.job.file.toml_text import load_toml
from flipreg.job.job import Job
from flipreg.job.limits import Limits
from flipreg.job.machine import Machine, Range
from flipreg.job.mark import Carried, Mark, Square
from flipreg.job.problem import JobFileError, KeyPath, Problem
from flipreg.job.rules import rules
from flipreg.job.setup import Section, Setup, SetupProgram, Tilt, ZZero
from flipreg.job.station import Station
from flipreg.job.tool import Tool, ToolShape

if TYPE_CHECKING:
    from pydantic import BaseModel

    from flipreg.job.file.draft import Draft, Reference
    from flipreg.job.file.tables import (
        BlankTable,
        CheckTable,
        ClampTable,
        FileTable,
        MachineTable,
        MarkTable,
        SetupTable,
        StationTable,
        ToolTable,
    )

__all__ = ["parse_job", "read_job", "with_lines"]

_INCH_MM = 25.4

_Table = TypeVar("_Table", bound="BaseModel")


def read_job(path: str | os.PathLike[str]) -> Job:
    """Return the job of a TOML file.

    Parameters
    ----------
    path : path
        The job file; paths in it are relative to its folder.

    Raises
    ------
    JobFileError
        If the file cannot be read, is not TOML, or says something wrong; all problems at once, with key paths and
        lines.
    """
    source = os.fspath(path)
    try:
        with open(source, "rb") as file:
            data = file.read()
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise JobFileError(source, [Problem((), f"cannot be read: {reason}")]) from None
    return parse_job(data, source=source, folder=os.path.dirname(source))


def parse_job(data: bytes, *, source: str, folder: str) -> Job:
    """Return the job that a TOML text describes; see `read_job`.

    Parameters
    ----------
    data : bytes
        The text, UTF-8.
    source : str
        Its name, for messages.
    folder : str
        What the programs' paths are relative to; they are looked for there, but not read.
    """
    raw, text = load_toml(data, source=source)
    table, problems = _validated(raw)
    problems += _contradictions(raw, folder)
    job = None
    if table is not None and not problems:
        job = _job(table, source=source, folder=folder)
        problems += rules(job)
    if job is None or problems:
        lines = line_numbers(text)
        raise JobFileError(
            source, [Problem(found.path, found.message, nearest_line(lines, found.path)) for found in problems]
        )
    return job


def with_lines(error: JobFileError) -> JobFileError:
    """Return an error about a job file that turned out later, when the programs were there, with the file's lines."""
    try:
        with open(error.source, "rb") as file:
            _, text = load_toml(file.read(), source=error.source)
    except (OSError, JobFileError):
        return error
    lines = line_numbers(text)
    return JobFileError(
        error.source,
        [Problem(one.path, one.message, one.line or nearest_line(lines, one.path)) for one in error.problems],
    )


def _validated(raw: Mapping[str, object]) -> tuple["FileTable | None", list[Problem]]:
    from pydantic import ValidationError

    from flipreg.job.file.complaint import complaint
    from flipreg.job.file.tables import FileTable

    try:
        return FileTable.model_validate(raw), []
    except ValidationError as error:
        found = error.errors(include_url=False)
    # A table of a wrong key gives one problem for each key; several for one path are alternatives of one.
    return None, [
        Problem(tuple(part for part in one["loc"] if part != "[key]"), complaint(one, FileTable)) for one in found
    ]


def _contradictions(raw: Mapping[str, object], folder: str) -> list[Problem]:
    from flipreg.job.file.contradictions import contradictions

    return list(contradictions(_draft(raw, folder)))


def _draft(raw: Mapping[str, object], folder: str) -> "Draft":
    from flipreg.job.file.draft import Draft
    from flipreg.job.file.fitted_table import FittedPartTable
    from flipreg.job.file.tables import (
        BlankTable,
        CheckTable,
        MachineTable,
        MarkTable,
        SetupTable,
        StationTable,
        ToolTable,
    )

    marks, tools, setups, stations = (_listed(raw, kind) for kind in ("marks", "tools", "setups", "stations"))
    fitted = _listed(raw, "fitted_parts")
    references = (*_references(marks, setups), *_fitted_references(fitted))
    files = {reference.name for reference in references if reference.kind == "files"}
    return Draft(
        inch=raw.get("units") == "inch",
        blank=_right([raw.get("blank")], BlankTable).get(0),
        machine=_right([raw.get("machine")], MachineTable).get(0),
        check=_right([raw.get("check")], CheckTable).get(0),
        marks=_right(marks, MarkTable),
        tools=_right(tools, ToolTable),
        setups=_right(setups, SetupTable),
        stations=_right(stations, StationTable),
        fitted_parts=_right(fitted, FittedPartTable),
        names={
            "marks": _names(marks),
            "tools": _names(tools),
            "setups": _names(setups),
            "stations": _names(stations),
            "fitted_parts": _names(fitted),
        },
        references=references,
        existing_files=frozenset(file for file in files if os.path.isfile(os.path.join(folder, file))),
    )


def _references(marks: Sequence[object], setups: Sequence[object]) -> "Iterator[Reference]":
    """Yield everything that is named, also in tables that are wrong otherwise."""
    from flipreg.job.file.draft import Reference

    def named(table: object, path: KeyPath, key: str, kind: str) -> "Iterator[Reference]":
        name = table.get(key) if isinstance(table, Mapping) else None
        if isinstance(name, str) and name.strip():
            yield Reference((*path, key), kind, name)

    for index, mark in enumerate(marks):
        if isinstance(mark, Mapping):
            yield from named(mark.get("carried"), ("marks", index, "carried"), "from", "marks")
    for index, setup in enumerate(setups):
        path: KeyPath = ("setups", index)
        yield from named(setup, path, "mark", "marks")
        if not isinstance(setup, Mapping):
            continue
        yield from named(setup.get("tilt"), (*path, "tilt"), "hinge", "marks")
        for place, program in enumerate(_listed(setup, "programs")):
            yield from named(program, (*path, "programs", place), "file", "files")
            yield from named(program, (*path, "programs", place), "tool", "tools")
            numbered = program.get("tools") if isinstance(program, Mapping) else None
            for number in numbered if isinstance(numbered, Mapping) else ():
                yield from named(numbered, (*path, "programs", place, "tools"), number, "tools")


def _fitted_references(fitted: Sequence[object]) -> "Iterator[Reference]":
    from flipreg.job.file.draft import Reference

    for index, part in enumerate(fitted):
        name = part.get("setup") if isinstance(part, Mapping) else None
        if isinstance(name, str) and name.strip():
            yield Reference(("fitted_parts", index, "setup"), "setups", name)


def _listed(raw: Mapping[Any, object], key: str) -> Sequence[object]:
    value = raw.get(key)
    return value if isinstance(value, list) else []


def _right(tables: Sequence[object], model: "type[_Table]") -> "dict[int, _Table]":
    """Return the tables that are right, by their place."""
    from pydantic import ValidationError

    right: dict[int, _Table] = {}
    for index, table in enumerate(tables):
        try:
            right[index] = model.model_validate(table)
        except ValidationError:
            continue
    return right


def _names(tables: Sequence[object]) -> tuple[str | None, ...]:
    found = [table.get("name") if isinstance(table, Mapping) else None for table in tables]
    return tuple(name if isinstance(name, str) else None for name in found)


def _job(table: "FileTable", *, source: str, folder: str) -> Job:
    unit_mm = _INCH_MM if table.units == "inch" else 1.0
    return Job(
        source=source,
        name=table.name,
        tolerance_mm=table.tolerance * unit_mm,
        inch=table.units == "inch",
        blank=_blank(table.blank, unit_mm),
        marks=tuple(_mark(mark, unit_mm) for mark in table.marks),
        tools=tuple(_tool(tool, unit_mm) for tool in table.tools),
        setups=tuple(_setup(setup, unit_mm, folder) for setup in table.setups),
        budget=None if table.budget is None else table.budget.budget(mm_per=unit_mm),
        machine=None if table.machine is None else _machine(table.machine, unit_mm),
        limits=Limits() if table.check is None else _limits(table.check, unit_mm),
        stations=tuple(_station(station, unit_mm) for station in table.stations),
        fitted_parts=tuple(part.fitted_part(mm_per=unit_mm, folder=folder) for part in table.fitted_parts),
    )


def _blank(table: "BlankTable", unit_mm: float) -> Blank:
    measured = table.measured_thickness
    return Blank(
        length_mm=table.length * unit_mm,
        width_mm=table.width * unit_mm,
        thickness_mm=table.thickness * unit_mm,
        edge=Edge(table.edge),
        centre_line_mm=table.centre_line * unit_mm,
        measured_thickness_mm=None if measured is None else measured * unit_mm,
        species=table.species,
        grain=None if table.grain is None else Grain(table.grain),
    )


def _mark(table: "MarkTable", unit_mm: float) -> Mark:
    faces = (BlankFace.FRONT, BlankFace.BACK) if table.face == "both" else (BlankFace(table.face),)
    carried = table.carried
    return Mark(
        name=table.name,
        faces=faces,
        along_mm=None if table.along is None else table.along * unit_mm,
        across_mm=table.across * unit_mm,
        carried=None if carried is None else Carried(carried.from_mark, Square(carried.square)),
    )


def _tool(table: "ToolTable", unit_mm: float) -> Tool:
    radius = table.corner_radius
    return Tool(
        name=table.name,
        shape=ToolShape(table.shape),
        diameter_mm=table.diameter * unit_mm,
        corner_radius_mm=None if radius is None else radius * unit_mm,
        angle_deg=table.angle if table.point_angle is None else table.point_angle,
        plunge=table.plunge,
        number=table.number,
        ramp_deg=table.ramp_angle,
        flute_length_mm=_scaled(table.flute_length, unit_mm),
    )


def _setup(table: "SetupTable", unit_mm: float, folder: str) -> Setup:
    tilt, zero = table.tilt, table.machine_zero
    return Setup(
        name=table.name,
        up=BlankFace(table.up),
        flip_axis=table.flip,
        mark=table.mark,
        zero_mm=(table.zero[0] * unit_mm, table.zero[1] * unit_mm),
        z_zero=ZZero(table.z_zero),
        programs=tuple(
            SetupProgram(
                os.path.join(folder, part.file),
                part.tool,
                part.profile,
                {int(number): name for number, name in part.tools.items()},
                part.through,
                tuple((x * unit_mm, y * unit_mm) for x, y in part.may_fall),
            )
            for part in table.programs
        ),
        quarter_turns=table.quarter_turns,
        tilt=None if tilt is None else Tilt(tilt.hinge, tilt.angle, Section(tilt.section)),
        machine_zero_mm=None if zero is None else (zero[0] * unit_mm, zero[1] * unit_mm, zero[2] * unit_mm),
        clamps=tuple(_clamp(clamp, unit_mm) for clamp in table.clamps),
    )


def _clamp(table: "ClampTable", unit_mm: float) -> Clamp:
    x_mm, y_mm = ((ends[0] * unit_mm, ends[1] * unit_mm) for ends in (table.x, table.y))
    return Clamp(table.name, x_mm, y_mm, table.top * unit_mm)


def _machine(table: "MachineTable", unit_mm: float) -> Machine:
    def ends_mm(ends: list[float] | None) -> Range | None:
        return None if ends is None else (ends[0] * unit_mm, ends[1] * unit_mm)

    travel = table.travel
    return Machine(
        rapid_mm_per_min=_scaled(table.rapid, unit_mm),
        acceleration_mm_per_s2=_scaled(table.acceleration, unit_mm),
        stop_deg=table.stop_angle,
        travel_mm=None if travel is None else (ends_mm(travel.x), ends_mm(travel.y), ends_mm(travel.z)),
    )


def _limits(table: "CheckTable", unit_mm: float) -> Limits:
    tab = table.least_tab
    return Limits(
        grid_mm=_scaled(table.grid, unit_mm),
        least_web_mm=_scaled(table.least_web, unit_mm),
        least_tab_mm=Limits().least_tab_mm if tab is None else (tab.thickness * unit_mm, tab.width * unit_mm),
        most_into_spoilboard_mm=_scaled(table.most_into_spoilboard, unit_mm),
        over_zero_at_mm=_scaled(table.over_zero_at, unit_mm),
        clearance_mm=table.clearance * unit_mm,
    )


def _station(table: "StationTable", unit_mm: float) -> Station:
    return Station(table.name, table.along * unit_mm, table.across * unit_mm)


def _scaled(value: float | None, unit_mm: float) -> float | None:
    return None if value is None else value * unit_mm
