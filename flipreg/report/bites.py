"""How deep each program of a job bites: the table of the text report."""

from flipreg.job_check.report import JobReport
from flipreg.names import bare_name
from flipreg.report.paragraph import table
from flipreg.stock.cutting.bite import Bitten
from flipreg.units import Shown

__all__ = ["bites_lines"]


def bites_lines(report: JobReport) -> list[str]:
    """Return the lines of the text report; none where nothing is cut."""
    if not report.bitten:
        return []
    shown = Shown(report.inch)
    rows: list[tuple[str, ...]] = [("setup", "program", "tool", "bite", "line", "flutes", "takes")]
    return [
        "",
        f"The deepest bite of each program, {shown.name}: wood met at once, from its top to the tip",
        *table([*rows, *(_row(one, shown) for one in report.bitten)], right="lllrrrr"),
    ]


def _row(one: Bitten, shown: Shown) -> tuple[str, ...]:
    flutes_mm = one.cut.tool.flute_length_mm
    flutes = "-" if flutes_mm is None else shown.bare(flutes_mm)
    depth, line = ("none", "-") if one.bite is None else (shown.number(one.bite.depth_mm, 1), f"{one.bite.line}")
    program = bare_name(one.cut.program.name)
    return one.cut.face.name, program, one.cut.tool.name, depth, line, flutes, shown.volume(one.taken_mm3)
