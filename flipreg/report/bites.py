"""How deep each program of a job bites: the table of the text report."""

from flipreg.job_check.report import JobReport
from flipreg.report.paragraph import table
from flipreg.stock.bite import Bitten

__all__ = ["bites_lines"]


def bites_lines(report: JobReport) -> list[str]:
    """Return the lines of the text report; none where nothing is cut."""
    if not report.bitten:
        return []
    rows: list[tuple[str, ...]] = [("setup", "program", "tool", "bite", "line", "flutes", "takes")]
    return [
        "",
        "The deepest bite of each program: wood met at once, from its top to the tip",
        *table([*rows, *map(_row, report.bitten)], right="lllrrrr"),
    ]


def _row(one: Bitten) -> tuple[str, ...]:
    name = one.cut.program.name.replace("\\", "/").rpartition("/")[2]
    flutes_mm, takes = one.cut.tool.flute_length_mm, f"{one.taken_mm3 / 1000:z.1f} cm³"
    flutes = "-" if flutes_mm is None else f"{flutes_mm:g}"
    depth, line = ("none", "-") if one.bite is None else (f"{one.bite.depth_mm:z.1f}", f"{one.bite.line}")
    return one.cut.face.name, name, one.cut.tool.name, depth, line, flutes, takes
