"""The report of the check of a job as plain text: the verdict, what to do, what to read, key figures, tables."""

from flipreg.findings import Status
from flipreg.job_check.report import JobReport
from flipreg.report.figures import figure_lines, is_brief
from flipreg.report.paragraph import WIDTH, entry, paragraph
from flipreg.report.remark import remark_text
from flipreg.report.tables import table_lines
from flipreg.report.verdict import verdict_words, what_to_do

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
        lines += ["", *entry("What to do", what_to_do(report), width=width)]
    lines += _remarks(report, width, full=full)
    lines += _guesses(report, width)
    lines += figure_lines(report, width, full=full)
    if full:
        lines += table_lines(report, width)
    return "\n".join([*lines, "", *paragraph(_LAST, width=width)]) + "\n"


def _verdict(report: JobReport, width: int) -> list[str]:
    return [line for words in verdict_words(report) for line in paragraph(words, width=width)]


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
