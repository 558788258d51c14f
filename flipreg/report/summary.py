"""A program's summary as text."""

from math import isnan

from flipreg.findings import Finding
from flipreg.program.duration import Duration
from flipreg.program.extent import Extent
from flipreg.program.summary import Summary
from flipreg.report.remark import STATUS_WORDS
from flipreg.report.times import clock_text
from flipreg.units import INCH_MM, shown_now

__all__ = ["summary_text"]


def summary_text(summary: Summary) -> str:
    """Return the summary for a person at a terminal."""
    shown = shown_now()
    lines = [summary.source, f"  {summary.blocks} lines, {summary.motions} motions, numbers in {_unit(summary)}"]
    told = "inch" if shown.inch else "mm"
    if summary.unit != told:
        lines[1] += f", told in {told}"
    if summary.cutting is None:
        lines.append("  cuts nothing")
    else:
        lines.append(_extent_line("cutting", summary.cutting))
    if summary.moving is not None:
        lines.append(_extent_line("all motion", summary.moving))
        lines.append(f"  {'first goes to':<14}{_point(summary.start_mm)}")
        lines.append(f"  {'ends at':<14}{_point(summary.end_mm)}")
    lines.append(f"  {'tools':<14}{_tools(summary)}")
    lines.append(f"  {'feed':<14}{_feed(summary.feed_mm_per_min)}")
    lines.append(f"  {'spindle':<14}{_range(summary.speed_rpm, 'rpm')}")
    if summary.drilled:
        lines.append(f"  {'canned cycles':<14}{summary.drilled} blocks")
    lines.append(f"  {'work offset':<14}{', '.join(summary.work_offset_names) or '-'}")
    lines.append(f"  {'path':<14}{shown.length(summary.cut_mm, 1)} fed, {shown.length(summary.rapid_mm, 1)} traversed")
    lines.append(f"  {'time':<14}{_time(summary.cut_min)}")
    if summary.time is not None:
        lines += _machine_time(summary.time)
    lines += [f"  {STATUS_WORDS[finding.status]:<14}{_place(finding)}{finding.message}" for finding in summary.findings]
    return "\n".join(lines) + "\n"


def _place(finding: Finding) -> str:
    return "" if finding.line is None else f"line {finding.line}: "


def _unit(summary: Summary) -> str:
    return summary.unit if summary.unit_stated else f"{summary.unit} (not stated: no G20 or G21)"


def _extent_line(name: str, extent: Extent) -> str:
    axes = (
        f"{axis} {_number(low)} to {_number(high)}"
        for axis, low, high in zip("XYZ", extent.low_mm, extent.high_mm, strict=True)
    )
    return f"  {name:<14}{',  '.join(axes)}"


def _point(point: tuple[float, float, float]) -> str:
    return "  ".join(f"{axis} {_number(value)}" for axis, value in zip("XYZ", point, strict=True))


def _number(value: float) -> str:
    return "not named" if isnan(value) else shown_now().number(round(value, 3), 3)


def _tools(summary: Summary) -> str:
    return ", ".join("none named" if tool < 0 else f"T{tool}" for tool in summary.tools) or "-"


def _feed(pair: tuple[float, float] | None) -> str:
    if pair is None or not shown_now().inch:
        return _range(pair, "mm/min")
    return _range((pair[0] / INCH_MM, pair[1] / INCH_MM), "in/min")


def _range(pair: tuple[float, float] | None, unit: str) -> str:
    if pair is None:
        return "not named"
    low, high = pair
    return f"{low:z.0f} {unit}" if low == high else f"{low:z.0f} to {high:z.0f} {unit}"


def _time(minutes: float) -> str:
    if isnan(minutes):
        return "not determined: a cutting motion has no feed, or feed 0"
    whole = round(minutes * 60)
    return f"{whole // 60}:{whole % 60:02d} min:s of cutting at the feeds named; traverses and acceleration not counted"


def _machine_time(time: Duration) -> list[str]:
    least, estimate, most, rapid, dwell = (
        clock_text(seconds) for seconds in (time.least_s, time.estimate_s, time.most_s, time.rapid_s, time.dwell_s)
    )
    figures = f"{estimate} h:min:s estimated, {least} least, {most} most"
    if time.unknown:
        are = "motion is" if time.unknown == 1 else "motions are"
        figures = f"not determined: {time.unknown} {are} without a feed or a known way; the others: {figures}"
    return [
        f"  {'in all':<14}{figures}",
        f"  {'':<14}in it: traverses {rapid}, dwells {dwell}",
        f"  {'':<14}not in it: tool changes, run-up, dwells of canned cycles, the way to the first point",
    ]
