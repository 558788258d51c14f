"""What the commands of the bench say, as JSON: the marking sheet, touched marks, the error budget."""

from collections.abc import Mapping
from dataclasses import dataclass

from flipreg.align.budget_report import BudgetReport, FeatureError
from flipreg.align.coverage import position_diameter
from flipreg.align.marking_sheet import FaceSheet, MarkingSheet, SetupSheet
from flipreg.align.nudge import Nudge
from flipreg.align.touch_report import MarkDistance, TouchedMark, TouchReport
from flipreg.findings import Finding
from flipreg.report.json.encoder import SPREAD, Keys, KeyTable, as_object, json_text, own
from flipreg.report.json.finding import WITHOUT_PROGRAM

__all__ = ["budget_json", "marks_json", "touch_json"]


def marks_json(sheet: MarkingSheet) -> str:
    """Return the sheet as one JSON object; keys as documented for `flipreg marks --json`."""
    return json_text(as_object(sheet, _MARKS))


def touch_json(report: TouchReport, *, setup: str) -> str:
    """Return the report as one JSON object; keys as documented for `flipreg touch --json`."""
    return json_text(as_object(_Touched(setup, report), _TOUCH))


def budget_json(report: BudgetReport) -> str:
    """Return the budget as one JSON object; keys as documented for `flipreg budget --json`."""
    return json_text(as_object(report, _BUDGET))


@dataclass(frozen=True, slots=True)
class _Touched:
    """A setup, and how the blank lies in it."""

    setup: str
    report: TouchReport


_MARKS: KeyTable = {
    MarkingSheet: Keys(without=("inch",)),
    FaceSheet: Keys(own("face", "edge_is", "corners_mm", "marks")),
    SetupSheet: Keys(
        {
            **own("name", "up", "steps", "edge_lies", "near_end_lies", "z_zero", "jogs"),
            "programs": lambda setup: [{"file": file, "tool": tool} for file, tool in setup.programs],
        },
        without=("outlines_mm",),
    ),
}

_TOUCH: KeyTable = {
    _Touched: Keys({"setup": "setup", "report": SPREAD}),
    TouchReport: Keys(
        {
            **own("tolerance_mm", "as_planned", "fit", "turn_deg", "turn_within_deg", "away_mm", "cut_away_mm"),
            **own("marks", "distances", "nudge"),
            "shift": "correction",
            "findings": "findings",
        },
        without=("reference",),
    ),
    TouchedMark: Keys(own("name", "planned_mm", "touched_mm", "residual_mm", "off_mm")),
    MarkDistance: Keys({"marks": lambda gap: (gap.first, gap.second)}, without=("first", "second")),
    Nudge: Keys(own("hold", "push", "push_mm", "turn_deg", "move_mm", "words")),
    Finding: WITHOUT_PROGRAM,
}


def _monte_carlo(feature: FeatureError) -> Mapping[str, object]:
    return {
        "mean_mm": feature.drawn_mean_mm,
        "standard_mm": feature.drawn_standard_mm,
        "standard_error_mm": feature.drawn_standard_error_mm,
        "distance_mm": feature.drawn_distance_mm,
        "distance_error_mm": feature.drawn_distance_error_mm,
        "position_diameter_mm": position_diameter(feature.drawn_distance_mm, 0.0),
    }


_BUDGET: KeyTable = {
    BudgetReport: Keys(
        {
            **own("within", "tolerance_mm", "front", "back", "draws", "left_out", "features"),
            "worst": "worst.name",
            "needed": "reliefs",
            **own("map", "findings"),
        }
    ),
    FeatureError: Keys(
        {
            **own("name", "at_mm", "depth_mm", "mean_mm", "standard_mm", "expanded_mm", "distance_mm"),
            "monte_carlo": _monte_carlo,
            "contributions": "contributions",
        },
        without=(
            "drawn_mean_mm",
            "drawn_standard_mm",
            "drawn_mean_error_mm",
            "drawn_standard_error_mm",
            "drawn_distance_mm",
            "drawn_distance_error_mm",
        ),
    ),
    Finding: WITHOUT_PROGRAM,
}
