"""The key figures of a job, in a line each: what a person keeps in mind while cutting."""

from collections.abc import Iterator

from flipreg.findings import Finding, Status
from flipreg.job_check.report import JobReport
from flipreg.names import bare_name
from flipreg.program.duration import together
from flipreg.report.paragraph import entry
from flipreg.report.tab_name import tab_name
from flipreg.report.times import clock_text
from flipreg.stock.findings.edge_step import EdgeStep
from flipreg.units import Shown

__all__ = ["figure_lines", "is_brief", "key_figures"]

_COLUMN = 15
_NO_STEP_MM = (0.01, 0.0254)
"""A smaller step is none that anybody feels, in a job of millimetres and in one of inches (chosen)."""


def figure_lines(report: JobReport, width: int, *, full: bool) -> list[str]:
    """Return the lines of the figures that are known, and of what is open with what would settle it."""
    lines: list[str] = []
    for label, text in key_figures(report):
        lines += entry(label, text, width=width, column=_COLUMN)
    if not full:
        for settle, numbers, checks in _open(report):
            text = f"{', '.join(checks)} ({', '.join(numbers)}): would need {settle}"
            lines += entry("Not determined", text, width=width, column=_COLUMN)
        lines += entry("All of it", f"flipreg check {report.source} --full", width=width, column=_COLUMN)
    return ["", *lines] if lines else []


def is_brief(remark: Finding) -> bool:
    """Tell whether a remark is told in short among the figures: it is open, and a few words say what settles it."""
    return remark.status is Status.NOT_DETERMINED and remark.settle is not None


def key_figures(report: JobReport) -> Iterator[tuple[str, str]]:
    """Yield what each figure is of, and the figure with its place, in the job's unit."""
    shown = Shown(report.inch)
    if report.webs:
        section, web = min(report.webs, key=lambda one: one[1].left_mm)
        where = shown.place(web.at_mm) + _of_section(report, section)
        yield "Thinnest web", f"{shown.length(max(0.0, web.left_mm))} at {where}"
    if report.tabs:
        numbered = list(enumerate(report.tabs, 1))
        number, (section, tab) = min(numbered, key=lambda one: one[1][1].section_mm2)
        size = f"{shown.number(tab.width_mm, 1)} × {shown.length(tab.thickness_mm, 1)}"
        where = shown.place(tab.at_mm) + _of_section(report, section)
        which = f"{tab_name(number)} of {len(numbered)}"
        yield "Weakest tab", f"{which}: {size}, {shown.small_area(tab.section_mm2)}, at {where}"
    bites = [(one.bite, one.cut) for one in report.bitten if one.bite is not None]
    if bites:
        bite, cut = max(bites, key=lambda one: one[0].depth_mm)
        deep = shown.length(bite.depth_mm, 1)
        yield "Deepest bite", f"{deep} with {cut.tool.name}, {bare_name(cut.program.name)} line {bite.line}"
    if report.steps:
        worst = max(report.steps, key=lambda one: float(one.step_mm.max()))
        yield "Step at seam", _step(report, worst, shown)
    if report.times:
        whole = together(setup.duration for setup in report.times)
        least, most = clock_text(whole.least_s), clock_text(whole.most_s)
        yield "Time in all", f"{clock_text(whole.estimate_s)} ({least} to {most}), without tool changes"


def _step(report: JobReport, worst: EdgeStep, shown: Shown) -> str:
    step_mm = float(worst.step_mm.max())
    least_mm = _NO_STEP_MM[shown.inch]
    if step_mm < least_mm:
        return f"less than {shown.plain(least_mm)}"
    at_x, at_y = worst.at_mm[int(worst.step_mm.argmax())].tolist()
    return f"up to {shown.length(step_mm)}, at {shown.place((at_x, at_y))}{_of_section(report, worst.section)}"


def _of_section(report: JobReport, section: str) -> str:
    """Return the section a place is on, where the part has more than one."""
    return f" of the {section} section" if len({left.name for left in report.left}) > 1 else ""


def _open(report: JobReport) -> list[tuple[str, list[str], list[str]]]:
    """Return what is open, by what would settle it: with the remarks' numbers and codes."""
    found: dict[str, tuple[list[str], dict[str, None]]] = {}
    for number, remark in enumerate(report.remarks, 1):
        if is_brief(remark) and remark.settle is not None:
            numbers, checks = found.setdefault(remark.settle, ([], {}))
            numbers.append(str(number))
            checks[remark.check] = None
    return [(settle, numbers, list(checks)) for settle, (numbers, checks) in found.items()]
