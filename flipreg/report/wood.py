"""What a job leaves of the wood: the tables of the text report."""

from flipreg.cut.holding import Tab
from flipreg.findings import Status
from flipreg.job_check.report import JobReport
from flipreg.report.paragraph import WIDTH, entry, table
from flipreg.report.tab_name import tab_name
from flipreg.stock.sections.remaining import Thickness
from flipreg.units import Shown

__all__ = ["wood_lines"]

_SAID = {
    "breakthrough": "Meeting",
    "web": "Web",
    "skin": "Through",
    "step": "Edge",
    "rapid": "Traverses",
    "spoilboard": "Below",
}
"""Checks of which a pass has something to tell, and the label it stands beside."""


def wood_lines(report: JobReport, width: int = WIDTH) -> list[str]:
    """Return the lines of the text report; none where nothing is cut."""
    if not report.left:
        return []
    shown = Shown(report.inch)
    lines = ["", "What is left of the wood"]
    for one in report.findings:
        if one.status is Status.PASS and one.check in _SAID:
            lines += entry(_SAID[one.check], one.message, width=width)
    if report.stations:
        rows: list[tuple[str, ...]] = [("station", "front cut", "back cut", "left", "planned")]
        rows += [_station_row(one, shown) for one in report.stations]
        if all(one.planned_mm is None for one in report.stations):
            rows = [row[:-1] for row in rows]
        columns = "l" + "r" * (len(rows[0]) - 1)
        lines += ["", f"Finished thickness, to compare with a caliper, {shown.name}", *table(rows, right=columns)]
    if report.held:
        lines += ["", f"What holds each piece after each setup, {shown.name} (figures err to the thin side)"]
        lines += table(
            [("setup", "piece", "held by", "narrow", "thin", "together"), *_held_rows(report, shown)], right="lllrrr"
        )
    tabs = report.tabs
    if tabs:
        rows = [("tab", "section", "X", "Y", "wide", "thick", "area")]
        rows += [_tab_row(number, section, tab, shown) for number, (section, tab) in enumerate(tabs, 1)]
        if len(report.left) == 1:
            rows = [(row[0], *row[2:]) for row in rows]
        columns = "l" * (len(rows[0]) - 5) + "rrrrr"
        lines += ["", f"Tabs when all setups have run, {shown.name}", *table(rows, right=columns)]
    return lines


def _station_row(one: Thickness, shown: Shown) -> tuple[str, ...]:
    values = (one.front_mm, one.back_mm, one.left_mm)
    planned = ""
    if one.planned_mm is not None and one.tolerance_mm is not None:
        planned = f"{shown.bare(one.planned_mm)} ± {shown.bare(one.tolerance_mm)}"
    return one.name, *("not known" if value is None else shown.number(value) for value in values), planned


def _held_rows(report: JobReport, shown: Shown) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    for one in report.held:
        piece, tabs = f"{shown.area(one.area_mm2)} at {shown.place(one.at_mm, 0)}", one.tabs
        if not one.is_joined:
            rows.append((one.setup, piece, "no wood here", "", "", ""))
        elif not tabs:
            floor = "" if one.floor_mm is None else shown.number(one.floor_mm, 1)
            rows.append((one.setup, piece, "floor", "", floor, ""))
        else:
            count = f"{len(tabs)} {'tab' if len(tabs) == 1 else 'tabs'}"
            narrow, thin = min(tab.width_mm for tab in tabs), min(tab.thickness_mm for tab in tabs)
            sizes = shown.number(narrow, 1), shown.number(thin, 1), shown.small_area(one.section_mm2)
            rows.append((one.setup, piece, count, *sizes))
    return rows


def _tab_row(number: int, section: str, tab: Tab, shown: Shown) -> tuple[str, ...]:
    sizes = (shown.number(value, 1) for value in (*tab.at_mm, tab.width_mm, tab.thickness_mm))
    return tab_name(number), section, *sizes, shown.small_area(tab.section_mm2)
