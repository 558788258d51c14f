"""The report of the check of a job: as plain text."""

from flipreg.findings import Status
from flipreg.job_check.report import JobReport, PairReport
from flipreg.report.bites import bites_lines
from flipreg.report.motion import motion_lines
from flipreg.report.paragraph import entry, paragraph, table
from flipreg.report.remark import remark_text
from flipreg.report.times import times_lines
from flipreg.report.wood import wood_lines

__all__ = ["job_text"]

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
