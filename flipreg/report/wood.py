"""What a job leaves of the wood: the tables of the text report."""

from flipreg.cut.holding import Tab
from flipreg.findings import Status
from flipreg.job_check.report import JobReport
from flipreg.report.paragraph import entry, table
from flipreg.stock.remaining import Thickness

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


def wood_lines(report: JobReport) -> list[str]:
    """Return the lines of the text report; none where nothing is cut."""
    if not report.left:
        return []
    lines = ["", "What is left of the wood"]
    for one in report.findings:
        if one.status is Status.PASS and one.check in _SAID:
            lines += entry(_SAID[one.check], one.message)
    if report.stations:
        rows = [("station", "front cut", "back cut", "left"), *map(_station_row, report.stations)]
        lines += ["", "Finished thickness, to compare with a caliper", *table(rows, right="lrrr")]
    if report.held:
        lines += ["", "What holds each piece after each setup (figures err to the thin side)"]
        lines += table(
            [("setup", "piece", "held by", "narrowest", "thinnest", "together"), *_held_rows(report)], right="lllrrr"
        )
    tabs = report.tabs
    if tabs:
        rows = [("tab", "section", "X", "Y", "wide", "thick", "section mm²")]
        rows += [_tab_row(number, section, tab) for number, (section, tab) in enumerate(tabs, 1)]
        lines += ["", "Tabs when all setups have run", *table(rows, right="llrrrrr")]
    return lines


def _station_row(one: Thickness) -> tuple[str, ...]:
    values = (one.front_mm, one.back_mm, one.left_mm)
    return one.name, *("not known" if value is None else f"{value:z.2f}" for value in values)


def _held_rows(report: JobReport) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    for one in report.held:
        x_mm, y_mm = one.at_mm
        piece, tabs = f"{one.area_mm2 / 100:z.0f} cm² about X {x_mm:z.0f} Y {y_mm:z.0f}", one.tabs
        if not one.is_joined:
            rows.append((one.setup, piece, "not by wood here", "", "", ""))
        elif not tabs:
            floor = "" if one.floor_mm is None else f"{one.floor_mm:z.1f}"
            rows.append((one.setup, piece, "floor all along", "", floor, ""))
        else:
            count = f"{len(tabs)} {'tab' if len(tabs) == 1 else 'tabs'}"
            narrow, thin = min(tab.width_mm for tab in tabs), min(tab.thickness_mm for tab in tabs)
            rows.append((one.setup, piece, count, f"{narrow:z.1f}", f"{thin:z.1f}", f"{one.section_mm2:z.0f} mm²"))
    return rows


def _tab_row(number: int, section: str, tab: Tab) -> tuple[str, ...]:
    x_mm, y_mm = tab.at_mm
    size = (f"{tab.width_mm:z.1f}", f"{tab.thickness_mm:z.1f}", f"{tab.section_mm2:z.0f}")
    return f"T{number}", section, f"{x_mm:z.1f}", f"{y_mm:z.1f}", *size
