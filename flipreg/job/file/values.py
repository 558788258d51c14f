"""From the job file's tables to the values they mean: words to kinds, lengths to millimetres."""

import os
from typing import TYPE_CHECKING

from flipreg.job.blank import Blank, BlankFace, Edge, Grain
from flipreg.job.clamp import Clamp
from flipreg.job.fitted import FittedPart
from flipreg.job.job import Job
from flipreg.job.limits import Limits
from flipreg.job.machine import Machine, Range
from flipreg.job.mark import Carried, Mark, Square
from flipreg.job.setup import Section, Setup, SetupProgram, Tilt, ZZero
from flipreg.job.station import Station
from flipreg.job.tool import Tool, ToolShape
from flipreg.units import INCH_MM

if TYPE_CHECKING:
    from flipreg.job.file.fitted_table import FittedPartTable
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

__all__ = ["blank_of", "fitted_part_of", "job_of", "limits_of", "mark_of", "setup_of", "tool_of"]


def job_of(table: "FileTable", *, source: str, folder: str) -> Job:
    """Return the job of a whole file; its programs' paths start with the folder."""
    unit_mm = INCH_MM if table.units == "inch" else 1.0
    return Job(
        source=source,
        name=table.name,
        tolerance_mm=table.tolerance * unit_mm,
        inch=table.units == "inch",
        blank=blank_of(table.blank, unit_mm),
        marks=tuple(mark_of(mark, unit_mm) for mark in table.marks),
        tools=tuple(tool_of(tool, unit_mm) for tool in table.tools),
        setups=tuple(setup_of(setup, unit_mm, folder) for setup in table.setups),
        budget=None if table.budget is None else table.budget.budget(unit_mm=unit_mm),
        machine=None if table.machine is None else _machine(table.machine, unit_mm),
        limits=Limits() if table.check is None else limits_of(table.check, unit_mm),
        stations=tuple(_station(station, unit_mm) for station in table.stations),
        fitted_parts=tuple(fitted_part_of(part, unit_mm, folder) for part in table.fitted_parts),
        passive=tuple(table.passive),
        by_marks=table.register_by is not None,
    )


def blank_of(table: "BlankTable", unit_mm: float) -> Blank:
    """Return the blank of its table."""
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


def mark_of(table: "MarkTable", unit_mm: float) -> Mark:
    """Return the mark of its table."""
    faces = (BlankFace.FRONT, BlankFace.BACK) if table.face == "both" else (BlankFace(table.face),)
    carried = table.carried
    return Mark(
        name=table.name,
        faces=faces,
        along_mm=None if table.along is None else table.along * unit_mm,
        across_mm=table.across * unit_mm,
        carried=None if carried is None else Carried(carried.from_mark, Square(carried.square)),
    )


def tool_of(table: "ToolTable", unit_mm: float) -> Tool:
    """Return the tool of its table."""
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


def setup_of(table: "SetupTable", unit_mm: float, folder: str) -> Setup:
    """Return the setup of its table."""
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


def limits_of(table: "CheckTable", unit_mm: float) -> Limits:
    """Return the limits of the table `check`."""
    tab = table.least_tab
    return Limits(
        grid_mm=_scaled(table.grid, unit_mm),
        least_web_mm=_scaled(table.least_web, unit_mm),
        least_tab_mm=Limits().least_tab_mm if tab is None else (tab.thickness * unit_mm, tab.width * unit_mm),
        most_into_spoilboard_mm=_scaled(table.most_into_spoilboard, unit_mm),
        over_zero_at_mm=_scaled(table.over_zero_at, unit_mm),
        clearance_mm=table.clearance * unit_mm,
    )


def fitted_part_of(table: "FittedPartTable", unit_mm: float, folder: str) -> FittedPart:
    """Return the fitted part of its table; its program's path starts with the folder."""
    program = os.path.join(folder, table.program)
    return FittedPart(table.name, table.setup, program, table.thickness * unit_mm, table.proud * unit_mm)


def _station(table: "StationTable", unit_mm: float) -> Station:
    planned = table.thickness
    if planned is None:
        return Station(table.name, table.along * unit_mm, table.across * unit_mm)
    sizes = (table.along, table.across, planned.planned, planned.tolerance)
    return Station(table.name, *(size * unit_mm for size in sizes))


def _scaled(value: float | None, unit_mm: float) -> float | None:
    return None if value is None else value * unit_mm
