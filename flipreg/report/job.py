"""The report of the check of a job: as plain text, and as one JSON object."""

from flipreg.findings import Finding, Status
from flipreg.job_check.report import JobReport, PairReport, SetupReport
from flipreg.report.bites import bites_json, bites_lines
from flipreg.report.json import remedies_json, to_json
from flipreg.report.motion import motion_lines
from flipreg.report.paragraph import entry, paragraph, table
from flipreg.report.remark import remark_text
from flipreg.report.times import times_json, times_lines
from flipreg.report.wood import wood_json, wood_lines
from flipreg.stock.floors import Floor, Seam

__all__ = ["job_json", "job_text"]

_LAST = (
    "This compares programs with the job file and with each other, and knows nothing of the machine, the real blank or "
    "how it is held: try every program above the work first."
)


def job_text(report: JobReport) -> str:
    """Return the report as lines of at most 88 columns: the verdict, what to do, the numbers, the findings."""
    lines = [*_verdict(report), ""]
    if not report.passes:
        lines += [*entry("What to do", report.diagnosis or _without_diagnosis(report)), ""]
    lines += entry("Job", f"{report.name} ({report.source})")
    lines += entry("Blank", f"{report.thickness_mm:g} mm thick")
    for pair in report.pairs:
        lines += entry("Compared", _compared(pair))
    for tie in report.ties:
        if tie.holds:
            lines += entry("Tied", f"{tie.one} / {tie.other}: {tie.agreeing} holes of both at the same points")
    lines += ["", "Program zero on the blank, and where each setup cuts (tool centre)", *_setups(report)]
    lines += ["", "What is left under the lowest cut of each program", *_floors(report)]
    lines += wood_lines(report)
    lines += bites_lines(report)
    lines += motion_lines(report)
    lines += times_lines(report.times)
    if report.remarks:
        lines.append("")
    for number, remark in enumerate(report.remarks, 1):
        lines += paragraph(remark_text(remark), mark=f"{number}. ")
    return "\n".join([*lines, "", *paragraph(_LAST)]) + "\n"


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
        "by_marks": report.by_marks,
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


def _verdict(report: JobReport) -> list[str]:
    limit = f"{report.tolerance_mm:g} mm"
    worst = None if report.worst is None else report.worst.report.register.worst_mm
    if report.by_marks:
        text = (
            "BY THE MARKS: program zeros, jogs and mark lines agree, and the programs do not contradict them. "
            "That the faces are in register rests on the lines alone."
        )
    elif report.in_register and worst is not None:
        text = f"IN REGISTER: everything the setups share agrees within {worst:z.3f} mm (allowed {limit})."
    elif report.in_register is None:
        text = "NOT DETERMINED: these programs do not show whether all setups are in register. That is not a pass."
    elif worst is not None and worst > report.tolerance_mm:
        text = f"NOT IN REGISTER: setups are up to {worst:z.3f} mm apart (allowed {limit})."
    else:
        text = "NOT IN REGISTER: the setups do not belong together, or not on this blank."
    lines = paragraph(text)
    failed = [number for number, one in enumerate(report.remarks, 1) if one.status is Status.FAIL]
    if report.in_register and failed:
        lines += paragraph(f"BUT NOT AS IT SHOULD BE: see {', '.join(map(str, failed))} below.")
    if report.in_register and not report.wood_is_known:
        lines += paragraph("BUT THE WOOD WAS NOT JUDGED: programs cut where nobody knows. That is not a pass.")
    return lines


def _without_diagnosis(report: JobReport) -> str:
    """Say what to do where no usual mistake explains it."""
    failed = [str(number) for number, one in enumerate(report.remarks, 1) if one.status is Status.FAIL]
    if failed:
        return f"Mend what fails, in this order, for one may come from another: {', '.join(failed)} below."
    return "Read below what is not determined, and what each would need."


def _compared(pair: PairReport) -> str:
    register = pair.report.register
    found = f"{pair.front} / {pair.back}: {register.evidence}"
    if register.worst_mm is None:
        return found
    return f"{found}; worst {register.worst_mm:z.3f} mm"


def _setups(report: JobReport) -> list[str]:
    rows: list[tuple[str, ...]] = [("setup", "zero X", "Y", "Z", "cuts X", "cuts Y")]
    for setup in report.setups:
        box = setup.cut_mm
        across, along = (
            ("-", "-") if box is None else (f"{box[0]:z.1f} to {box[2]:z.1f}", f"{box[1]:z.1f} to {box[3]:z.1f}")
        )
        rows.append((setup.setup.name, *(f"{value:z.2f}" for value in setup.zero_mm), across, along))
    return table(rows, right="lrrrrr")


def _floors(report: JobReport) -> list[str]:
    rows: list[tuple[str, ...]] = [("setup", "program", "Z zero", "planned", "is", "other Z zero")]
    for floor in report.floors:
        name = floor.program.replace("\\", "/").rpartition("/")[2]
        left = (floor.planned_left_mm, floor.left_mm, floor.other_left_mm)
        rows.append((floor.setup, name, floor.z_zero.value, *(f"{value:z.2f}" for value in left)))
    return table(rows, right="lllrrr")


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
