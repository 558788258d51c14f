"""How deep each program of a job bites: the table of the text report and the key of the JSON report."""

from flipreg.job_check.report import JobReport
from flipreg.report.paragraph import table
from flipreg.stock.bite import Bitten
from flipreg.stock.section import section_name

__all__ = ["bites_json", "bites_lines"]


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


def bites_json(report: JobReport) -> list[dict[str, object]]:
    """Return a dict for each stretch of a program with one tool, in the order of the sections and then of the cuts."""
    return [_json(one) for one in report.bitten]


def _row(one: Bitten) -> tuple[str, ...]:
    name = one.cut.program.name.replace("\\", "/").rpartition("/")[2]
    flutes_mm, takes = one.cut.tool.flute_length_mm, f"{one.taken_mm3 / 1000:z.1f} cm³"
    flutes = "-" if flutes_mm is None else f"{flutes_mm:g}"
    depth, line = ("none", "-") if one.bite is None else (f"{one.bite.depth_mm:z.1f}", f"{one.bite.line}")
    return one.cut.face.name, name, one.cut.tool.name, depth, line, flutes, takes


def _json(one: Bitten) -> dict[str, object]:
    bite = one.bite
    return {
        "setup": one.cut.face.name,
        "section": section_name(one.cut.face.bend),
        "program": one.cut.program.name,
        "tool": one.cut.tool.name,
        "depth_mm": 0.0 if bite is None else round(bite.depth_mm, 3),
        "line": None if bite is None else bite.line,
        "at_mm": None if bite is None else [round(value, 3) + 0.0 for value in bite.at_mm],
        "flute_length_mm": one.cut.tool.flute_length_mm,
        "taken_mm3": round(one.taken_mm3, 1),
    }
