"""The report of a check as plain text, for the person at the terminal."""

from textwrap import wrap

from flipreg.findings import Finding, Status
from flipreg.register.bounds import Box
from flipreg.register.number import place
from flipreg.register.report import Report

__all__ = ["to_text"]

_WIDTH = 88
"""Columns; fits a terminal of 90."""
_LABEL = 12

_LAST = (
    "This compares two programs and knows nothing of the machine, the blank or how it is held: "
    "try both programs above the work first."
)

_INCHES = "Lengths and places here are in millimetres, also those of programs in inches."

_OF_PROGRAMS = ("program", "spindle", "length", "tool", "habit")
"""Checks of single programs, whose findings don't say themselves where they are."""

_MOST_PLACES = 3
"""Places that one remark names (chosen)."""


def to_text(report: Report, *, inch: bool = False) -> str:
    """Return the report as lines of at most 88 columns: the verdict, what to do, the numbers, the findings.

    Parameters
    ----------
    report : Report
        What a check found out.
    inch : bool
        Whether a program has numbers in inches, so that it has to be said that these lengths are none.
    """
    lines = [*_verdict(report), ""]
    if not report.in_register:
        lines += [*_entry("What to do", report.diagnosis or _without_diagnosis(report)), ""]
    lines += [*_numbers(report), ""]
    lines += [line for text in _remarks(report) for line in _entry("", text, mark="- ")]
    if lines[-1]:
        lines.append("")
    lines += wrap(f"{_INCHES} {_LAST}" if inch else _LAST, _WIDTH)
    return "\n".join(lines) + "\n"


def _verdict(report: Report) -> list[str]:
    limit, worst = f"{report.tolerance_mm:g} mm", report.register.worst_mm
    if report.in_register and worst is None:
        text = f"IN REGISTER: the shapes of both faces agree in all directions (allowed {limit})."
    elif report.in_register:
        text = f"IN REGISTER: everything both faces share agrees within {worst:z.3f} mm (allowed {limit})."
        if report.flip.is_found:
            text += " It holds only with the flip and the datum below."
    elif report.in_register is None:
        text = "NOT DETERMINED: these programs do not show whether the faces are in register. That is not a pass."
    elif worst is not None and worst > report.tolerance_mm:
        text = f"NOT IN REGISTER: the faces are up to {worst:z.3f} mm apart (allowed {limit})."
    else:
        text = "NOT IN REGISTER: the two faces do not belong together as they are."
    lines = wrap(text, _WIDTH)
    if report.in_register and not report.passes:
        lines += wrap("BUT NOT AS IT SHOULD BE: see what fails below.", _WIDTH)
    return lines


def _without_diagnosis(report: Report) -> str:
    """Say what to do where no usual mistake explains it."""
    if report.in_register is None:
        return (
            "Read below what is not determined and what it would need: an outline, or two holes through the blank, "
            "that both faces cut, or the flip axis and the back's zero."
        )
    register = report.register
    where = f" at {register.program} line {register.line}" if register.program and register.line else ""
    return f"No usual mistake explains it: compare both faces with the plan, first what lies worst{where}."


def _numbers(report: Report) -> list[str]:
    register, choice = report.register, report.flip.choice
    how = "worked out" if report.flip.is_found else "given"
    lines = _entry("Front", ", ".join(report.front)) + _entry("Back", ", ".join(report.back))
    lines += _entry("Flip", choice.words if choice.datum_mm is None else f"{choice.words} ({how})")
    if choice.datum_mm is not None:
        lines += _entry("Back's zero", f"{place(choice.datum_mm)} in the front's numbers")
    for other in report.flip.alternatives:
        if other.datum_mm is not None:
            name = "  or also" if choice.datum_mm is not None else "  may be"
            lines += _entry(name, f"{other.words}, zero at {place(other.datum_mm)}")
    lines += _entry("Compared", register.evidence)
    if not report.in_register:
        lines += _directions(report)
    if register.dx_mm is not None and register.dy_mm is not None and register.rotation_deg is not None:
        offset = f"X {register.dx_mm:+z.3f}  Y {register.dy_mm:+z.3f} mm  turned {register.rotation_deg:+z.4f}°"
        lines += _entry("Back is off", f"{offset}  (about the front's zero)")
    if register.worst_mm is not None and register.worst_at_mm is not None:
        at = f"X {register.worst_at_mm[0]:z.2f}  Y {register.worst_at_mm[1]:z.2f}"
        where = f", {register.program} line {register.line}" if register.program and register.line else ""
        lines += _entry("Worst point", f"{register.worst_mm:z.3f} mm at {at}{where}")
    lines += _entry("Front cuts", _box(report.bounds.front_mm)) + _entry("Back cuts", _box(report.bounds.back_mm))
    failed = {finding.check for finding in report.findings if finding.status is not Status.PASS}
    passed = dict.fromkeys(f.check for f in report.findings if f.check not in failed)
    if passed:
        lines += _entry("Passed", ", ".join(passed))
    return lines


def _directions(report: Report) -> list[str]:
    """Return what is shown in each direction, and how much coincides against chance."""
    lines: list[str] = []
    names = {"across": "Across", "along": "Along", "turn": "Turn"}
    for direction in report.directions:
        if direction.off is None or direction.uncertainty is None:
            # Out of register, there is something to mend before anything is to settle.
            if report.in_register is None:
                lines += _entry(names[direction.name], f"not determined; to settle it, {direction.settle}")
            continue
        unit, places = ("mm", 3) if direction.unit == "mm" else ("°", 4)
        value = f"{direction.off:+z.{places}f} ±{direction.uncertainty:z.{places}f}{' ' if unit == 'mm' else ''}{unit}"
        # What all was compared stands above: only other evidence is named again.
        by = "" if direction.evidence == report.register.evidence else f", by {direction.evidence}"
        says = f"{value}, {direction.status.value}{by}"
        lines += _entry(names[direction.name], says + (f"; {direction.settle}" if direction.settle else ""))
    vote = report.vote
    if vote is not None:
        says = f"{vote.coincide} of {vote.features} features; chance would give {vote.by_chance:z.1f}"
        lines += _entry("Coincide", says)
    return lines


def _remarks(report: Report) -> list[str]:
    """Return what the lines above do not say already: everything that is no pass."""
    told = [mistake.finding for mistake in report.mistakes]
    words = {Status.FAIL: "fails", Status.WARN: "look", Status.NOT_DETERMINED: "not determined"}
    remarks: dict[tuple[str, str], dict[str, None]] = {}
    for finding in report.findings:
        repeated = finding.check == "register" and finding.status is not Status.NOT_DETERMINED
        # The flip is shown above; that it is not proved follows from the verdict.
        repeated |= (
            finding.check == "flip"
            and finding.status is Status.NOT_DETERMINED
            and report.flip.choice.datum_mm is not None
        )
        repeated |= finding.check == "diagnosis" or finding in told
        if finding.status is Status.PASS or repeated:
            continue
        remarks.setdefault((f"{finding.check}, {words[finding.status]}", finding.message), {})[_place(finding)] = None
    return [f"{what}: {_listed(list(places))}{message}." for (what, message), places in remarks.items()]


def _place(finding: Finding) -> str:
    """Return which program's line a remark about a program means; the other checks say so themselves."""
    if finding.check not in _OF_PROGRAMS or finding.program is None:
        return ""
    return finding.program if finding.line is None else f"{finding.program} line {finding.line}"


def _listed(places: list[str]) -> str:
    """Return the places of one remark, the first few by name, with the colon after them."""
    if places == [""]:
        return ""
    more = len(places) - _MOST_PLACES
    return ", ".join(places[:_MOST_PLACES]) + (f" and {more} more: " if more > 0 else ": ")


def _entry(label: str, text: str, *, mark: str = "") -> list[str]:
    """Return a label in its column and text beside it, wrapped."""
    width = _LABEL if label else 0
    first = f"{label:<{width}} " if label else mark
    return wrap(
        text,
        _WIDTH,
        initial_indent=first,
        subsequent_indent=" " * len(first),
        break_long_words=False,
        break_on_hyphens=False,
    )


def _box(box: Box | None) -> str:
    if box is None:
        return "not known"
    return f"X {box[0]:z.2f} to {box[2]:z.2f}  Y {box[1]:z.2f} to {box[3]:z.2f}  (tool centre, front frame)"
