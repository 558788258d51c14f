"""What the check of a job comes to, in words: the verdict, and what to do."""

from flipreg.findings import Status
from flipreg.job_check.report import JobReport
from flipreg.units import Shown

__all__ = ["VERDICTS", "verdict_words", "what_to_do"]

VERDICTS = {True: "IN REGISTER", False: "NOT IN REGISTER", None: "REGISTER NOT DETERMINED"}
"""What is over a picture, by whether the faces are in register."""


def verdict_words(report: JobReport) -> list[str]:
    """Return the verdict, and each reason why it is not all there is to say, as paragraphs in the job's unit."""
    words = [_register(report)]
    if not report.in_register:
        return words
    failed = _failed(report)
    if failed:
        words.append(f"BUT NOT AS IT SHOULD BE: see {failed} below.")
    elif report.fails:
        words.append("BUT THE JOB FILE DOES NOT FIT: see what to do.")
    if report.guesses:
        count = len(report.guesses)
        says = f"BUT {count} GUESSES ARE NOT CONFIRMED, and this holds only as far as they do. That is not a pass."
        if count == 1:
            says = "BUT A GUESS IS NOT CONFIRMED, and this holds only as far as it does. That is not a pass."
        words.append(says)
    if not report.wood_is_known:
        words.append("BUT THE WOOD WAS NOT JUDGED: programs cut where nobody knows. That is not a pass.")
    return words


def what_to_do(report: JobReport) -> str:
    """Return what to do about a job that does not pass."""
    if report.diagnosis:
        return report.diagnosis
    failed = _failed(report)
    if failed:
        order = ", in this order, for one may come from another" if "," in failed else ""
        return f"Mend what fails{order}: {failed} below."
    if report.in_register is None and len(report.setups) == 1:
        return (
            'If the part is cut in one setup only, say register = "by marks" in the job file: then where it cuts rests '
            "on the marks. Else add the other setups."
        )
    if report.in_register and report.guesses and report.wood_is_known:
        return "Confirm the guesses below at the bench, take their words away, and check again."
    return "Read below what is not determined, and what each would need."


def _register(report: JobReport) -> str:
    shown = Shown(report.inch)
    limit = shown.plain(report.tolerance_mm)
    worst = None if report.worst is None else report.worst.report.register.worst_mm
    alone = len(report.setups) == 1
    if report.by_marks and alone:
        return "BY THE MARKS: there is one setup only, and where it cuts rests on the lines alone."
    if report.by_marks:
        return (
            "BY THE MARKS: program zeros, jogs and mark lines agree, and the programs do not contradict them. "
            "That the faces are in register rests on the lines alone."
        )
    if report.in_register and worst is not None:
        return f"IN REGISTER: all that the setups share agrees within {shown.length(worst, 3)} (allowed {limit})."
    if report.in_register is None and alone:
        return (
            "NOT DETERMINED: there is one setup only, and nothing that it could be in register with. "
            "That is not a pass."
        )
    if report.in_register is None:
        return "NOT DETERMINED: these programs do not show whether all setups are in register. That is not a pass."
    if worst is not None and worst > report.tolerance_mm:
        return f"NOT IN REGISTER: setups are up to {shown.length(worst, 3)} apart (allowed {limit})."
    return "NOT IN REGISTER: the setups do not belong together, or not on this blank."


def _failed(report: JobReport) -> str:
    """Return the numbers of what fails."""
    return ", ".join(str(number) for number, one in enumerate(report.remarks, 1) if one.status is Status.FAIL)
