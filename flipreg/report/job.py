"""The report of the check of a job as plain text: the verdict, what to do, what to read, key figures, tables."""

from flipreg.findings import Status
from flipreg.job_check.report import JobReport
from flipreg.report.figures import figure_lines, is_brief
from flipreg.report.paragraph import WIDTH, entry, paragraph
from flipreg.report.remark import remark_text
from flipreg.report.tables import table_lines
from flipreg.units import Shown

__all__ = ["job_text"]

_LAST = (
    "This compares programs with the job file and with each other, and knows nothing of the machine, the real blank or "
    "how it is held: try every program above the work first."
)
_MOST_LINES = 3
"""Lines of a remark that nothing fails by, if not all is asked for (chosen)."""


def job_text(report: JobReport, *, width: int = WIDTH, full: bool = False) -> str:
    """Return the report in the job's unit.

    Parameters
    ----------
    report : JobReport
        What a check found out.
    width : int
        Columns that running text is wrapped to; tables are as wide as their numbers.
    full : bool
        Whether every remark is told whole, and the tables come after the key figures.
    """
    lines = _verdict(report, width)
    if not report.passes:
        lines += ["", *entry("What to do", report.diagnosis or _without_diagnosis(report), width=width)]
    lines += _remarks(report, width, full=full)
    lines += _guesses(report, width)
    lines += figure_lines(report, width, full=full)
    if full:
        lines += table_lines(report, width)
    return "\n".join([*lines, "", *paragraph(_LAST, width=width)]) + "\n"


def _verdict(report: JobReport, width: int) -> list[str]:
    shown = Shown(report.inch)
    limit = shown.plain(report.tolerance_mm)
    worst = None if report.worst is None else report.worst.report.register.worst_mm
    alone = len(report.setups) == 1
    if report.by_marks and alone:
        text = "BY THE MARKS: there is one setup only, and where it cuts rests on the lines alone."
    elif report.by_marks:
        text = (
            "BY THE MARKS: program zeros, jogs and mark lines agree, and the programs do not contradict them. "
            "That the faces are in register rests on the lines alone."
        )
    elif report.in_register and worst is not None:
        text = f"IN REGISTER: all that the setups share agrees within {shown.length(worst, 3)} (allowed {limit})."
    elif report.in_register is None and alone:
        text = (
            "NOT DETERMINED: there is one setup only, and nothing that it could be in register with. "
            "That is not a pass."
        )
    elif report.in_register is None:
        text = "NOT DETERMINED: these programs do not show whether all setups are in register. That is not a pass."
    elif worst is not None and worst > report.tolerance_mm:
        text = f"NOT IN REGISTER: setups are up to {shown.length(worst, 3)} apart (allowed {limit})."
    else:
        text = "NOT IN REGISTER: the setups do not belong together, or not on this blank."
    lines = paragraph(text, width=width)
    if not report.in_register:
        return lines
    failed = _numbers_of(report, Status.FAIL)
    if failed:
        lines += paragraph(f"BUT NOT AS IT SHOULD BE: see {failed} below.", width=width)
    if report.guesses:
        count = len(report.guesses)
        says = f"BUT {count} GUESSES ARE NOT CONFIRMED, and this holds only as far as they do."
        if count == 1:
            says = "BUT A GUESS IS NOT CONFIRMED, and this holds only as far as it does."
        lines += paragraph(says, width=width)
    if not report.wood_is_known:
        says = "BUT THE WOOD WAS NOT JUDGED: programs cut where nobody knows. That is not a pass."
        lines += paragraph(says, width=width)
    return lines


def _without_diagnosis(report: JobReport) -> str:
    """Say what to do where no usual mistake explains it."""
    failed = _numbers_of(report, Status.FAIL)
    if failed:
        return f"Mend what fails, in this order, for one may come from another: {failed} below."
    if report.in_register is None and len(report.setups) == 1:
        return (
            'If the part is cut in one setup only, say register = "by marks" in the job file: then where it cuts rests '
            "on the marks. Else add the other setups."
        )
    return "Read below what is not determined, and what each would need."


def _numbers_of(report: JobReport, status: Status) -> str:
    return ", ".join(str(number) for number, one in enumerate(report.remarks, 1) if one.status is status)


def _remarks(report: JobReport, width: int, *, full: bool) -> list[str]:
    """Return what fails and what to look at; what is not determined only where nothing short says what settles it."""
    lines = []
    for number, remark in enumerate(report.remarks, 1):
        if remark.check == "guess" or (not full and is_brief(remark)):
            continue
        most = None if full or remark.status is Status.FAIL else _MOST_LINES
        lines += paragraph(remark_text(remark), mark=f"{number}. ", width=width, most=most)
    return ["", *lines] if lines else []


def _guesses(report: JobReport, width: int) -> list[str]:
    if not report.guesses:
        return []
    lines = ["", f"Guesses in {report.source}, to confirm by taking '# check:' away"]
    for guess in report.guesses:
        place = "" if guess.line is None else f"line {guess.line}"
        lines += entry(f"  {place}", guess.message, width=width, column=10)
    return lines
