"""The report of a check as plain text, for the person at the terminal."""

from flipreg.findings import Finding, Status
from flipreg.register.decision.directions import Direction
from flipreg.register.faces.bounds import Box
from flipreg.register.faces.number import place
from flipreg.register.report import Report
from flipreg.report.paragraph import WIDTH, entry, paragraph
from flipreg.report.remark import STATUS_WORDS
from flipreg.units import length_text, limit_text, place_text, shown_in, shown_now

__all__ = ["to_text"]

_LAST = (
    "This compares two programs and knows nothing of the machine, the blank or how it is held: "
    "try both programs above the work first."
)

_OF_PROGRAMS = ("program", "spindle", "length", "tool", "habit")
"""Checks of single programs, whose findings don't say themselves where they are."""

_MOST_PLACES = 3
"""Places that one remark names (chosen)."""


def to_text(report: Report, *, width: int = WIDTH) -> str:
    """Return the report as lines: the verdict, what to do, the numbers, the findings.

    Parameters
    ----------
    report : Report
        What a check found out; it is told in the unit that the report says.
    width : int
        Columns that it is wrapped to.
    """
    with shown_in(inch=report.inch):
        lines = paragraph(_verdict(report), width=width)
        if report.in_register and not report.passes:
            lines += paragraph("BUT NOT AS IT SHOULD BE: see what fails below.", width=width)
        lines.append("")
        if not report.in_register:
            what = report.diagnosis or _without_diagnosis(report)
            lines += [*entry("What to do", what, width=width), ""]
        lines += [line for label, says in _numbers(report) for line in entry(label, says, width=width)]
        lines.append("")
        remarks = [line for text in _remarks(report) for line in paragraph(text, mark="- ", width=width)]
        lines += [*remarks, ""] if remarks else []
        lines += paragraph(_LAST, width=width)
    return "\n".join(lines) + "\n"


def _verdict(report: Report) -> str:
    limit, worst = limit_text(report.tolerance_mm), report.register.worst_mm
    if report.in_register and worst is None:
        return f"IN REGISTER: the shapes of both faces agree in all directions (allowed {limit})."
    if report.in_register and worst is not None:
        text = f"IN REGISTER: all that both faces share agrees within {length_text(worst, 3)} (allowed {limit})."
        return f"{text} It holds only with the flip and the datum below." if report.flip.is_found else text
    if report.in_register is None:
        return "NOT DETERMINED: these programs do not show whether the faces are in register. That is not a pass."
    if worst is not None and worst > report.tolerance_mm:
        return f"NOT IN REGISTER: the faces are up to {length_text(worst, 3)} apart (allowed {limit})."
    return "NOT IN REGISTER: the two faces do not belong together as they are."


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


def _numbers(report: Report) -> list[tuple[str, str]]:
    """Return what was compared and how it lies: each a label and what stands beside it."""
    register, choice, shown = report.register, report.flip.choice, shown_now()
    found = "fits best, not settled" if report.in_register is None else "worked out"
    how = found if report.flip.is_found else "given"
    lines = [("Front", ", ".join(report.front)), ("Back", ", ".join(report.back))]
    lines.append(("Flip", choice.words if choice.datum_mm is None else f"{choice.words} ({how})"))
    if choice.datum_mm is not None:
        lines.append(("Back's zero", f"{place(choice.datum_mm)} in the front's numbers"))
    for other in report.flip.alternatives:
        if other.datum_mm is not None:
            name = "  or also" if choice.datum_mm is not None else "  may be"
            lines.append((name, f"{other.words}, zero at {place(other.datum_mm)}"))
    lines.append(("Compared", register.evidence))
    if not report.in_register:
        lines += _directions(report)
    if register.dx_mm is not None and register.dy_mm is not None and register.rotation_deg is not None:
        offset = f"X {shown.signed(register.dx_mm, 3)}  Y {shown.signed(register.dy_mm, 3)} {shown.name}"
        lines.append(("Back is off", f"{offset}  turned {register.rotation_deg:+z.4f}°  (about the front's zero)"))
    if register.worst_mm is not None and register.worst_at_mm is not None:
        where = f", {register.program} line {register.line}" if register.program and register.line else ""
        at = place_text(register.worst_at_mm, 2)
        lines.append(("Worst point", f"{length_text(register.worst_mm, 3)} at {at}{where}"))
    lines += [("Front cuts", _box(report.bounds.front_mm)), ("Back cuts", _box(report.bounds.back_mm))]
    failed = {finding.check for finding in report.findings if finding.status is not Status.PASS}
    passed = dict.fromkeys(f.check for f in report.findings if f.check not in failed)
    if passed:
        lines.append(("Passed", ", ".join(passed)))
    return lines


def _directions(report: Report) -> list[tuple[str, str]]:
    """Return what is shown in each direction, and how much coincides against chance."""
    lines: list[tuple[str, str]] = []
    names = {"across": "Across", "along": "Along", "turn": "Turn"}
    for direction in report.directions:
        if direction.off is None or direction.uncertainty is None:
            # Out of register, there is something to mend before anything is to settle.
            if report.in_register is None:
                lines.append((names[direction.name], f"not determined; to settle it, {direction.settle}"))
            continue
        # What all was compared stands above: only other evidence is named again.
        by = "" if direction.evidence == report.register.evidence else f", by {direction.evidence}"
        says = f"{_measured(direction)}, {direction.status.value}{by}"
        lines.append((names[direction.name], says + (f"; {direction.settle}" if direction.settle else "")))
    vote = report.vote
    if vote is not None:
        says = f"{vote.coincide} of {vote.features} features"
        # Where nothing coincides as it was told, the vote is of the place where most does.
        if report.register.dx_mm is None and vote.coincide and vote.others and vote.others[0].coincide == vote.coincide:
            says += f" if the back is taken as {vote.others[0].choice.words}"
        says += f"; chance would give {vote.by_chance:z.1f}"
        lines.append(("Coincide", says))
    return lines


def _measured(direction: Direction) -> str:
    """Return how far off a direction is, with its uncertainty."""
    off, uncertainty = direction.off or 0.0, direction.uncertainty or 0.0
    if direction.unit != "mm":
        return f"{off:+z.4f} ±{uncertainty:z.4f}°"
    return f"{shown_now().signed(off, 3)} ±{length_text(uncertainty, 3)}"


def _remarks(report: Report) -> list[str]:
    """Return what the lines above do not say already: everything that is no pass."""
    told = [mistake.finding for mistake in report.mistakes]
    flip = next((finding for finding in report.findings if finding.check == "flip"), None)
    if flip is not None and flip.status is Status.NOT_DETERMINED and report.flip.choice.datum_mm is not None:
        # The flip that was used is shown above; that it is not proved follows from the verdict.
        told.append(flip)
    remarks: dict[tuple[str, str], dict[str, None]] = {}
    for finding in report.findings:
        repeated = finding.check == "register" and finding.status is not Status.NOT_DETERMINED
        repeated |= finding.check == "diagnosis" or finding in told
        if finding.status is Status.PASS or repeated:
            continue
        what = f"{finding.check}, {STATUS_WORDS[finding.status]}"
        remarks.setdefault((what, finding.message), {})[_place(finding)] = None
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


def _box(box: Box | None) -> str:
    if box is None:
        return "not known"
    x0, y0, x1, y1 = (shown_now().number(side) for side in box)
    return f"X {x0} to {x1}  Y {y0} to {y1}  (tool centre, front frame)"
