"""The report of the check of a job as one JSON object."""

from flipreg.findings import Finding
from flipreg.job_check.report import JobReport, PairReport, SetupReport
from flipreg.report.bites import bites_json
from flipreg.report.json import remedies_json, to_json
from flipreg.report.times import times_json
from flipreg.report.wood import wood_json
from flipreg.stock.floors import Floor, Seam

__all__ = ["job_json"]


def job_json(report: JobReport) -> dict[str, object]:
    """Return the report as plain dicts, lists, strings, numbers and None.

    The keys of the check of two faces that one number can stand for are those of the worst pair; `pairs` has the full
    report of each.
    """
    worst = report.worst
    shown = None if worst is None else to_json(worst.report)
    nothing = dict.fromkeys(("dx_mm", "dy_mm", "rotation_deg", "worst_mm", "worst_at_mm"))
    return {
        "job": report.name,
        "in_register": report.in_register,
        "tolerance_mm": report.tolerance_mm,
        "thickness_mm": report.thickness_mm,
        "flip": {"axis": None, "datum_mm": None, "found": False, "alternatives": []},
        "register": {**nothing, "evidence": "nothing was compared"} if shown is None else shown["register"],
        "datum": {"offset_mm": None},
        "bounds": {"front_mm": None, "back_mm": None} if shown is None else shown["bounds"],
        "diagnosis": report.diagnosis,
        "remedies": remedies_json(report.mistakes),
        "setups": [_setup_json(setup) for setup in report.setups],
        "pairs": [{"front": pair.front, "back": pair.back, **_pair_json(pair)} for pair in report.pairs],
        "ties": [
            {"setups": [tie.one, tie.other], "holes": tie.agreeing, "apart_mm": _rounded(tie.apart_mm)}
            for tie in report.ties
        ],
        "floors": [_floor_json(floor) for floor in report.floors],
        "seams": [_seam_json(seam) for seam in report.seams],
        "times": times_json(report.times),
        **wood_json(report),
        "bites": bites_json(report),
        "findings": [_finding_json(finding) for finding in report.findings],
    }


def _setup_json(setup: SetupReport) -> dict[str, object]:
    return {
        "name": setup.setup.name,
        "up": setup.setup.up.value,
        "zero_mm": [*setup.zero_mm],
        "cut_mm": None if setup.cut_mm is None else [*setup.cut_mm],
    }


def _pair_json(pair: PairReport) -> dict[str, object]:
    report = to_json(pair.report)
    return {key: report[key] for key in ("in_register", "register", "bounds")}


def _floor_json(floor: Floor) -> dict[str, object]:
    return {
        "setup": floor.setup,
        "program": floor.program,
        "line": floor.line,
        "z_zero": floor.z_zero.value,
        "planned_left_mm": floor.planned_left_mm,
        "left_mm": floor.left_mm,
        "other_left_mm": floor.other_left_mm,
    }


def _seam_json(seam: Seam) -> dict[str, object]:
    return {
        "front": seam.front,
        "back": seam.back,
        "planned_overlap_mm": seam.planned_overlap_mm,
        "overlap_mm": seam.overlap_mm,
        "planned_z_mm": seam.planned_z_mm,
        "z_mm": seam.z_mm,
    }


def _finding_json(finding: Finding) -> dict[str, object]:
    return {
        "check": finding.check,
        "status": finding.status.value,
        "message": finding.message,
        "program": finding.program,
        "line": finding.line,
        "section": finding.section,
        "at_mm": None if finding.at_mm is None else [round(value, 3) + 0.0 for value in finding.at_mm],
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 6)
