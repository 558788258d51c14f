"""What the commands of the bench say, as JSON: the marking sheet, touched marks, the error budget."""

from collections.abc import Mapping
from dataclasses import dataclass

from flipreg.align.budget_report import BudgetReport, FeatureError
from flipreg.align.coverage import position_diameter
from flipreg.align.marking_sheet import FaceSheet, MarkingSheet, SetupSheet
from flipreg.align.nudge import Nudge
from flipreg.align.touch_report import MarkDistance, TouchedMark, TouchReport
from flipreg.findings import Finding
from flipreg.report.json.encoder import SPREAD, Keys, Table, as_object, json_text
from flipreg.report.json.finding import OF_MARKS

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


_MARKS: Table = {
    MarkingSheet: Keys(without=("inch",)),
    FaceSheet: Keys({"face": "face", "edge_is": "edge_is", "corners_mm": "corners_mm", "marks": "marks"}),
    SetupSheet: Keys(
        {
            "name": "name",
            "up": "up",
            "steps": "steps",
            "edge_lies": "edge_lies",
            "near_end_lies": "near_end_lies",
            "z_zero": "z_zero",
            "jogs": "jogs",
            "programs": lambda setup: [{"file": file, "tool": tool} for file, tool in setup.programs],
        },
        without=("outlines_mm",),
    ),
}

_TOUCH: Table = {
    _Touched: Keys({"setup": "setup", "report": SPREAD}),
    TouchReport: Keys(
        {
            "tolerance_mm": "tolerance_mm",
            "as_planned": "as_planned",
            "fit": "fit",
            "turn_deg": "turn_deg",
            "turn_within_deg": "turn_within_deg",
            "away_mm": "away_mm",
            "cut_away_mm": "cut_away_mm",
            "marks": "marks",
            "distances": "distances",
            "nudge": "nudge",
            "shift": "correction",
            "findings": "findings",
        },
        without=("reference",),
    ),
    TouchedMark: Keys(
        {
            "name": "name",
            "planned_mm": "planned_mm",
            "touched_mm": "touched_mm",
            "residual_mm": "residual_mm",
            "off_mm": "off_mm",
        }
    ),
    MarkDistance: Keys({"marks": lambda gap: (gap.first, gap.second)}, without=("first", "second")),
    Nudge: Keys(
        {
            "hold": "hold",
            "push": "push",
            "push_mm": "push_mm",
            "turn_deg": "turn_deg",
            "move_mm": "move_mm",
            "words": "words",
        }
    ),
    Finding: OF_MARKS,
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


_BUDGET: Table = {
    BudgetReport: Keys(
        {
            "within": "within",
            "tolerance_mm": "tolerance_mm",
            "front": "front",
            "back": "back",
            "draws": "draws",
            "left_out": "left_out",
            "features": "features",
            "worst": "worst.name",
            "needed": "reliefs",
            "map": "map",
            "findings": "findings",
        }
    ),
    FeatureError: Keys(
        {
            "name": "name",
            "at_mm": "at_mm",
            "depth_mm": "depth_mm",
            "mean_mm": "mean_mm",
            "standard_mm": "standard_mm",
            "expanded_mm": "expanded_mm",
            "distance_mm": "distance_mm",
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
    Finding: OF_MARKS,
}
