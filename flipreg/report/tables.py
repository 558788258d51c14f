"""The tables of a job's report: setups, floors, wood, bites, motion, times."""

from flipreg.job_check.report import JobReport, PairReport
from flipreg.names import bare_name
from flipreg.report.bites import bites_lines
from flipreg.report.motion import motion_lines
from flipreg.report.paragraph import entry, table
from flipreg.report.times import times_lines
from flipreg.report.wood import wood_lines
from flipreg.units import Shown

__all__ = ["table_lines"]


def table_lines(report: JobReport, width: int) -> list[str]:
    """Return all that the check measured, in the job's unit; running text is wrapped to the width."""
    shown = Shown(report.inch)
    lines = ["", *entry("Job", f"{report.name} ({report.source})", width=width)]
    lines += entry("Blank", f"{shown.plain(report.thickness_mm)} thick", width=width)
    for pair in report.pairs:
        lines += entry("Compared", _compared(pair, shown), width=width)
    for common in report.common_holes:
        if common.agrees:
            text = f"{common.one} / {common.other}: {common.agreeing} holes of both at the same points"
            lines += entry("Tied", text, width=width)
    lines += ["", f"Program zero on the blank, and where each setup cuts (tool centre), {shown.name}"]
    lines += _setups(report, shown)
    lines += ["", f"What is left under the lowest cut of each program, {shown.name}"]
    lines += ["(the last column: if Z zero had been touched off on the other side)", *_floors(report, shown)]
    lines += wood_lines(report, width)
    lines += bites_lines(report)
    lines += motion_lines(report, width)
    lines += times_lines(report.times, width)
    return lines


def _compared(pair: PairReport, shown: Shown) -> str:
    register = pair.report.register
    found = f"{pair.front} / {pair.back}: {register.evidence}"
    if register.worst_mm is None:
        return found
    return f"{found}; worst {shown.length(register.worst_mm, 3)}"


def _setups(report: JobReport, shown: Shown) -> list[str]:
    rows: list[tuple[str, ...]] = [("setup", "zero X", "Y", "Z", "cuts X", "cuts Y")]
    for setup in report.setups:
        across = along = "-"
        if setup.cut_mm is not None:
            low_x, low_y, high_x, high_y = (shown.number(value, 1) for value in setup.cut_mm)
            across, along = f"{low_x} to {high_x}", f"{low_y} to {high_y}"
        rows.append((setup.setup.name, *map(shown.number, setup.zero_mm), across, along))
    return table(rows, right="lrrrrr")


def _floors(report: JobReport, shown: Shown) -> list[str]:
    rows: list[tuple[str, ...]] = [("setup", "program", "Z zero on", "planned", "is", "other side")]
    for floor in report.floors:
        left = (floor.planned_left_mm, floor.left_mm, floor.other_left_mm)
        rows.append((floor.setup, bare_name(floor.program), floor.z_zero.value, *map(shown.number, left)))
    return table(rows, right="lllrrr")
