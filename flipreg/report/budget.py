"""An error budget as text for people or as JSON for scripts."""

import json

from flipreg.align.budget_report import BudgetReport, FeatureError
from flipreg.align.coverage import position_diameter
from flipreg.align.remark import Verdict
from flipreg.report.paragraph import entry, paragraph, table

__all__ = ["budget_json", "budget_text"]

_DECIMALS = 6

_SHOWN_MM = 0.0005
"""A shift below this rounds to 0.000."""

_LAST = (
    "The budget knows what the job file says and nothing else: not a slipped blank, a wrong number or a tool that "
    "bends. It doesn't take the place of touching the marks."
)


def budget_text(report: BudgetReport) -> str:
    """Return the budget as lines of at most 88 columns."""
    verdict = {True: "WITHIN THE TOLERANCE", False: "OUTSIDE THE TOLERANCE", None: "NOT DETERMINED"}[report.within]
    first, *others = report.remarks
    lines = [*paragraph(f"{verdict}: {first.message}."), ""]
    lines += entry("Compared", f"the back as cut in {report.back!r} with the front as cut in {report.front!r}")
    if report.left_out:
        left_out = ", ".join(source.value for source in report.left_out)
        lines += entry("Left out", f"{left_out}: the job file says nothing about it, so it counts as exact")
    lines += ["", *paragraph("Register error at each place, in mm (X across, Y along the blank):")]
    lines += [*_features(report), ""]
    lines += [*paragraph(f"What it comes from at {report.worst.name!r}, the worst of them:"), *_sources(report), ""]
    if report.reliefs:
        lines += [*paragraph(f"What {report.tolerance_mm:g} mm would need there:"), *_reliefs(report), ""]
    lines += [*paragraph("Over the blank: the distance in mm that 19 parts in 20 stay within"), *_map(report), ""]
    for remark in others:
        word = {Verdict.PASS: "holds", Verdict.WARN: "look"}.get(remark.verdict, remark.verdict.value)
        lines += paragraph(f"{remark.code}, {word}: {remark.message}.", mark="- ")
    return "\n".join([*lines, "", *paragraph(_LAST)]) + "\n"


def budget_json(report: BudgetReport) -> str:
    """Return the budget as one JSON object; keys as documented for `flipreg budget --json`."""
    data: dict[str, object] = {
        "within": report.within,
        "tolerance_mm": report.tolerance_mm,
        "front": report.front,
        "back": report.back,
        "draws": report.draws,
        "left_out": [source.value for source in report.left_out],
        "features": [_feature(feature) for feature in report.features],
        "worst": report.worst.name,
        "needed": [
            {
                "source": None if relief.source is None else relief.source.value,
                "factor": _rounded(relief.factor),
                "without_mm": _rounded(relief.without_mm),
            }
            for relief in report.reliefs
        ],
        "map": {
            "x_mm": _listed(report.map.x_mm.tolist()),
            "y_mm": _listed(report.map.y_mm.tolist()),
            "distance_mm": [_listed(row) for row in report.map.distance_mm.tolist()],
        },
        "findings": [
            {"check": remark.code, "status": remark.verdict.value, "message": remark.message}
            for remark in report.remarks
        ],
    }
    return json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _features(report: BudgetReport) -> list[str]:
    rows: list[tuple[str, ...]] = [("place", "X", "Y", "expected X", "Y", "standard X", "Y", "95 % X", "Y", "within")]
    for feature in report.features:
        rows.append(
            (
                feature.name,
                *(f"{value:z.0f}" for value in feature.at_mm),
                *(f"{value:+z.3f}" for value in feature.mean_mm),
                *(f"{value:z.3f}" for value in feature.standard_mm),
                *(f"±{value:z.3f}" for value in feature.expanded_mm),
                f"{feature.drawn_distance_mm:z.3f}",
            )
        )
    return table(rows, right="lrrrrrrrrr")


def _sources(report: BudgetReport) -> list[str]:
    rows: list[tuple[str, ...]] = [("source", "shift X", "Y", "standard", "share of the spread")]
    rows += [
        (
            part.source.value,
            *(f"{value:+z.3f}" if abs(value) >= _SHOWN_MM else "-" for value in part.shift_mm),
            f"{part.standard_mm:z.3f}",
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
        rows.append((name, factor, f"{relief.without_mm:z.3f} mm"))
    return table(rows, right="lrr")


def _map(report: BudgetReport) -> list[str]:
    across = [f"X {x:z.0f}" for x in report.map.x_mm.tolist()]
    rows = [("", *across)]
    for y, row in reversed(list(zip(report.map.y_mm.tolist(), report.map.distance_mm.tolist(), strict=True))):
        rows.append((f"Y {y:z.0f}", *(f"{value:z.2f}" for value in row)))
    return table(rows, right="r" * len(rows[0]))


def _feature(feature: FeatureError) -> dict[str, object]:
    return {
        "name": feature.name,
        "at_mm": _listed(feature.at_mm),
        "depth_mm": _rounded(feature.depth_mm),
        "mean_mm": _listed(feature.mean_mm),
        "standard_mm": _listed(feature.standard_mm),
        "expanded_mm": _listed(feature.expanded_mm),
        "distance_mm": _rounded(feature.distance_mm),
        "monte_carlo": {
            "mean_mm": _listed(feature.drawn_mean_mm),
            "standard_mm": _listed(feature.drawn_standard_mm),
            "standard_error_mm": _listed(feature.drawn_standard_error_mm),
            "distance_mm": _rounded(feature.drawn_distance_mm),
            "distance_error_mm": _rounded(feature.drawn_distance_error_mm),
            "position_diameter_mm": _rounded(position_diameter(feature.drawn_distance_mm, 0.0)),
        },
        "contributions": [
            {
                "source": part.source.value,
                "shift_mm": _listed(part.shift_mm),
                "standard_mm": _rounded(part.standard_mm),
                "share": _rounded(part.share),
            }
            for part in feature.contributions
        ],
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, _DECIMALS) + 0.0


def _listed(values: "tuple[float, ...] | list[float]") -> list[float]:
    return [round(value, _DECIMALS) + 0.0 for value in values]
