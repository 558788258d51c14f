"""An error budget as text for people."""

from flipreg.align.budget_report import BudgetReport
from flipreg.report.paragraph import entry, paragraph, table
from flipreg.report.remark import remark_text
from flipreg.units import length_text, limit_text, shown_now

__all__ = ["budget_text"]

_SHOWN_MM = 0.0005
"""A shift below this rounds to 0.000."""

_LAST = (
    "The budget knows what the job file says and nothing else: not a slipped blank, a wrong number or a tool that "
    "bends. It doesn't take the place of touching the marks."
)


def budget_text(report: BudgetReport) -> str:
    """Return the budget as lines, text of at most 80 columns."""
    verdict = {True: "WITHIN THE TOLERANCE", False: "OUTSIDE THE TOLERANCE", None: "NOT DETERMINED"}[report.within]
    first, *others = report.findings
    lines = [*paragraph(f"{verdict}: {first.message}."), ""]
    lines += entry("Compared", f"the back as cut in {report.back!r} with the front as cut in {report.front!r}")
    if report.left_out:
        left_out = ", ".join(source.value for source in report.left_out)
        lines += entry("Left out", f"{left_out}: the job file says nothing about it, so it counts as exact")
    lines += ["", *paragraph(f"Register error at each place, in {shown_now().name} (X across, Y along the blank):")]
    lines += [*_features(report), ""]
    lines += [*paragraph(f"What it comes from at {report.worst.name!r}, the worst of them:"), *_sources(report), ""]
    if report.reliefs:
        lines += [*paragraph(f"What {limit_text(report.tolerance_mm)} would need there:"), *_reliefs(report), ""]
    over = f"Over the blank: the distance in {shown_now().name} that 19 parts in 20 stay within"
    lines += [*paragraph(over), *_map(report), ""]
    for finding in others:
        lines += paragraph(remark_text(finding), mark="- ")
    return "\n".join([*lines, "", *paragraph(_LAST)]) + "\n"


def _features(report: BudgetReport) -> list[str]:
    shown = shown_now()
    rows: list[tuple[str, ...]] = [("place", "X", "Y", "expected X", "Y", "standard X", "Y", "95 % X", "Y", "within")]
    for feature in report.features:
        rows.append(
            (
                feature.name,
                *(shown.number(value, 0) for value in feature.at_mm),
                *(shown.signed(value, 3) for value in feature.mean_mm),
                *(shown.number(value, 3) for value in feature.standard_mm),
                *(f"±{shown.number(value, 3)}" for value in feature.expanded_mm),
                shown.number(feature.drawn_distance_mm, 3),
            )
        )
    return table(rows, right="lrrrrrrrrr")


def _sources(report: BudgetReport) -> list[str]:
    shown = shown_now()
    rows: list[tuple[str, ...]] = [("source", "shift X", "Y", "standard", "share of the spread")]
    rows += [
        (
            part.source.value,
            *(shown.signed(value, 3) if abs(value) >= _SHOWN_MM else "-" for value in part.shift_mm),
            shown.number(part.standard_mm, 3),
            f"{part.share * 100:z.0f} %",
        )
        for part in report.worst.contributions
    ]
    return table(rows, right="lrrrr")


def _reliefs(report: BudgetReport) -> list[str]:
    rows = [("making smaller", "to", "without it")]
    for relief in report.reliefs:
        name = "all of them alike" if relief.source is None else relief.source.value
        factor = "not enough" if relief.factor is None else f"{relief.factor * 100:z.0f} %"
        rows.append((name, factor, length_text(relief.without_mm, 3)))
    return table(rows, right="lrr")


def _map(report: BudgetReport) -> list[str]:
    shown = shown_now()
    across = [f"X {shown.number(x, 0)}" for x in report.map.x_mm.tolist()]
    rows = [("", *across)]
    for y, row in reversed(list(zip(report.map.y_mm.tolist(), report.map.distance_mm.tolist(), strict=True))):
        rows.append((f"Y {shown.number(y, 0)}", *map(shown.number, row)))
    return table(rows, right="r" * len(rows[0]))
