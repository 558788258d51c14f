"""The check of a whole job as JSON."""

from flipreg.cut.holding import Tab
from flipreg.findings import Finding
from flipreg.job_check.common_holes import CommonHoles
from flipreg.job_check.report import JobReport, PairReport, SetupReport
from flipreg.job_check.times import SetupTime, TimedProgram
from flipreg.report.json.encoder import SPREAD, Keys, Table, as_object, own
from flipreg.report.json.faces import FACES, remedies
from flipreg.report.json.finding import IN_A_JOB, TIMES
from flipreg.stock.cutting.bite import Bitten
from flipreg.stock.findings.edge_step import EdgeStep
from flipreg.stock.findings.floors import Floor
from flipreg.stock.sections.remaining import PartSupport, RemainingStock, Thickness
from flipreg.stock.sections.section import section_name

__all__ = ["JOB", "job_json"]


def job_json(report: JobReport) -> dict[str, object]:
    """Return the report of a job as plain dicts, lists, strings, numbers and None.

    The keys of the check of two faces that one number can stand for are those of the worst pair; `pairs` has the full
    report of each.
    """
    return as_object(report, JOB)


def _register(report: JobReport) -> object:
    if report.worst is not None:
        return report.worst.report.register
    nothing = dict.fromkeys(("dx_mm", "dy_mm", "rotation_deg", "worst_mm", "worst_at_mm", "part_mm", "part_at_mm"))
    return {**nothing, "evidence": "nothing was compared"}


def _bounds(report: JobReport) -> object:
    return {"front_mm": None, "back_mm": None} if report.worst is None else report.worst.report.bounds


def _tabs(report: JobReport) -> object:
    return [
        {"number": number, "section": section, **as_object(tab, JOB)}
        for number, (section, tab) in enumerate(report.tabs, 1)
    ]


def _worst_step(step: EdgeStep) -> int:
    return int(step.step_mm.argmax())


JOB: Table = {
    **FACES,
    JobReport: Keys(
        {
            "job": "name",
            **own("in_register", "by_marks", "tolerance_mm", "thickness_mm"),
            "flip": lambda _: {"axis": None, "half_turn": False, "datum_mm": None, "found": False, "alternatives": []},
            "register": _register,
            "datum": lambda _: {"offset_mm": None},
            "bounds": _bounds,
            "diagnosis": "diagnosis",
            "remedies": lambda report: remedies(report.mistakes),
            **own("setups", "pairs"),
            "ties": "common_holes",
            **own("floors", "seams"),
            "times": lambda report: report.times or None,
            **own("left", "held"),
            "tabs": _tabs,
            **own("stations", "steps"),
            "bites": "bitten",
            "findings": "findings",
        },
        without=("source", "verdict", "mistakes", "faces", "webs", "wood_is_known", "inch"),
    ),
    SetupReport: Keys(
        {"name": "setup.name", "up": "setup.up", "zero_mm": "zero_mm", "cut_mm": "cut_mm"}, without=("setup",)
    ),
    PairReport: Keys(
        {
            **own("front", "back"),
            "in_register": "report.in_register",
            "register": "report.register",
            "directions": lambda pair: {direction.name: direction for direction in pair.report.directions},
            "vote": "report.vote",
            "bounds": "report.bounds",
        },
        without=("section", "report"),
    ),
    CommonHoles: Keys({"setups": lambda both: (both.one, both.other), "holes": "agreeing"}, without=("one", "other")),
    Floor: Keys(without=("drills",)),
    SetupTime: Keys({"setup": "setup", "duration": SPREAD, "programs": "programs"}),
    TimedProgram: Keys({"program": "program", "duration": SPREAD}),
    **TIMES,
    RemainingStock: Keys(
        {
            "section": "name",
            "setups": "setups",
            "grid_mm": "grid.step_mm",
            "known_mm2": lambda left: float(left.known.sum()) * left.grid.cell_mm2,
            "not_known_mm2": lambda left: float((~left.known).sum()) * left.grid.cell_mm2,
        },
        without=("bend", "grid", "faces", "thin", "known", "kerf", "part", "lead"),
        decimals=3,
        finer={"grid_mm": 6},
    ),
    PartSupport: Keys(
        {
            **own("setup", "section", "at_mm", "area_mm2"),
            "joined": "is_joined",
            **own("floor_mm", "tabs", "section_mm2"),
        },
        decimals=3,
        finer={"floor_mm": 4},
    ),
    Tab: Keys(without=("direction_deg", "thinnest_mm", "top_mm", "bottom_mm"), decimals=3),
    Thickness: Keys(decimals=4, finer={"at_mm": 3}),
    EdgeStep: Keys(
        {
            "section": "section",
            "worst_mm": lambda step: step.step_mm[_worst_step(step)],
            "worst_at_mm": lambda step: step.at_mm[_worst_step(step)],
        },
        decimals=4,
        finer={"worst_at_mm": 3, "at_mm": 3},
    ),
    Bitten: Keys(
        {
            "setup": "cut.face.name",
            "section": lambda one: section_name(one.cut.face.bend),
            "program": "cut.program.name",
            "tool": "cut.tool.name",
            "depth_mm": lambda one: 0.0 if one.bite is None else one.bite.depth_mm,
            "line": lambda one: None if one.bite is None else one.bite.line,
            "at_mm": lambda one: None if one.bite is None else one.bite.at_mm,
            "flute_length_mm": "cut.tool.flute_length_mm",
            "taken_mm3": "taken_mm3",
        },
        without=("cut", "bite"),
        decimals=3,
        finer={"flute_length_mm": 6, "taken_mm3": 1},
    ),
    Finding: IN_A_JOB,
}
