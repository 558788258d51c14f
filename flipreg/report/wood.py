"""What a job leaves of the wood: the tables of the text report and the keys of the JSON report."""

from flipreg.cut.holding import Tab
from flipreg.findings import Status
from flipreg.job_check.report import JobReport
from flipreg.report.paragraph import WIDTH, entry, table
from flipreg.stock.edge_step import EdgeStep
from flipreg.stock.remaining import PartSupport, RemainingStock, Thickness
from flipreg.units import Shown

__all__ = ["wood_json", "wood_lines"]

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
        rows = [("station", "front cut", "back cut", "left")]
        rows += [_station_row(one, shown) for one in report.stations]
        lines += ["", f"Finished thickness, to compare with a caliper, {shown.name}", *table(rows, right="lrrr")]
    if report.held:
        lines += ["", f"What holds each piece after each setup, {shown.name} (figures err to the thin side)"]
        lines += table(
            [("setup", "piece", "held by", "narrow", "thin", "together"), *_held_rows(report, shown)], right="lllrrr"
        )
    tabs = report.tabs
    if tabs:
        rows = [("tab", "section", "X", "Y", "wide", "thick", "area")]
        rows += [_tab_row(number, section, tab, shown) for number, (section, tab) in enumerate(tabs, 1)]
        lines += ["", f"Tabs when all setups have run, {shown.name}", *table(rows, right="llrrrrr")]
    return lines


def wood_json(report: JobReport) -> dict[str, object]:
    """Return the keys of the JSON report: plain dicts, lists, strings, numbers and None."""
    return {
        "left": [_left_json(left) for left in report.left],
        "held": [_held_json(held) for held in report.held],
        "tabs": [
            {"number": number, "section": section, **_tab_json(tab)}
            for number, (section, tab) in enumerate(report.tabs, 1)
        ],
        "stations": [_station_json(station) for station in report.stations],
        "steps": [_step_json(step) for step in report.steps],
    }


def _station_row(one: Thickness, shown: Shown) -> tuple[str, ...]:
    values = (one.front_mm, one.back_mm, one.left_mm)
    return one.name, *("not known" if value is None else shown.number(value) for value in values)


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
            sizes = shown.number(narrow, 1), shown.number(thin, 1), shown.section(one.section_mm2)
            rows.append((one.setup, piece, count, *sizes))
    return rows


def _tab_row(number: int, section: str, tab: Tab, shown: Shown) -> tuple[str, ...]:
    sizes = (shown.number(value, 1) for value in (*tab.at_mm, tab.width_mm, tab.thickness_mm))
    return f"T{number}", section, *sizes, shown.section(tab.section_mm2)


def _left_json(left: RemainingStock) -> dict[str, object]:
    return {
        "section": left.name,
        "setups": [*left.setups],
        "grid_mm": left.grid.step_mm,
        "known_mm2": round(float(left.known.sum()) * left.grid.cell_mm2, 3),
        "not_known_mm2": round(float((~left.known).sum()) * left.grid.cell_mm2, 3),
    }


def _held_json(one: PartSupport) -> dict[str, object]:
    return {
        "setup": one.setup,
        "section": one.section,
        "at_mm": _rounded(one.at_mm),
        "area_mm2": round(one.area_mm2, 3),
        "joined": one.is_joined,
        "floor_mm": None if one.floor_mm is None else round(one.floor_mm, 4),
        "tabs": [_tab_json(tab) for tab in one.tabs],
        "section_mm2": round(one.section_mm2, 3),
    }


def _tab_json(tab: Tab) -> dict[str, object]:
    return {
        "at_mm": _rounded(tab.at_mm),
        "width_mm": round(tab.width_mm, 3),
        "thickness_mm": round(tab.thickness_mm, 3),
        "section_mm2": round(tab.section_mm2, 3),
    }


def _station_json(one: Thickness) -> dict[str, object]:
    return {
        "name": one.name,
        "section": one.section,
        "at_mm": _rounded(one.at_mm),
        "front_mm": None if one.front_mm is None else round(one.front_mm, 4),
        "back_mm": None if one.back_mm is None else round(one.back_mm, 4),
        "left_mm": None if one.left_mm is None else round(one.left_mm, 4),
    }


def _step_json(one: EdgeStep) -> dict[str, object]:
    worst = int(one.step_mm.argmax())
    return {
        "section": one.section,
        "worst_mm": round(float(one.step_mm[worst]), 4),
        "worst_at_mm": one.at_mm[worst].round(3).tolist(),
        "at_mm": one.at_mm.round(3).tolist(),
        "step_mm": one.step_mm.round(4).tolist(),
    }


def _rounded(at_mm: tuple[float, float]) -> list[float]:
    return [round(value, 3) + 0.0 for value in at_mm]
