"""What touched marks say, as text for the bench."""

from decimal import Decimal

from flipreg.align.nudge import Correction
from flipreg.align.touch_report import TouchOutcome, TouchReport
from flipreg.findings import Finding, Status
from flipreg.report.paragraph import entry, paragraph, table
from flipreg.report.remark import remark_text
from flipreg.units import INCH, limit_text, plain, shown_now

__all__ = ["touch_text"]

_LAST = (
    "Positions are in the numbers of this setup's programs, in {}. Touch again after every nudge, and try "
    "every program above the work first."
)


def touch_text(report: TouchReport, *, setup: str) -> str:
    """Return the report as lines, text of at most 80 columns: the verdict, what to do, the numbers, the answers."""
    verdict, said = _verdict(report, setup)
    lines = [*paragraph(verdict), ""]
    lines += _advice(report)
    lines += [*_marks(report), ""]
    if report.distances:
        lines += [*_distances(report), ""]
    if report.turn_deg is not None and report.turn_within_deg is not None:
        within = f"within {report.turn_within_deg:z.2g}°, 19 times in 20"
        turned = f"{report.turn_deg:+z.4f}° against the plan, counter-clockwise positive; {within}"
        lines += [*entry("Turned by", turned), ""]
    findings = [finding for finding in report.findings if finding is not said]
    lines += [line for finding in findings for line in paragraph(remark_text(finding), mark="- ")]
    if findings:
        lines.append("")
    return "\n".join([*lines, *paragraph(_LAST.format("inches" if shown_now().inch else "millimetres"))]) + "\n"


def _verdict(report: TouchReport, setup: str) -> tuple[str, Finding | None]:
    """Return the verdict, and the finding that is told by it already."""
    first = report.findings[0]
    if report.as_planned is None:
        says = "what was touched lies as planned, and how the blank is turned is open"
        if not _only_turn_is_open(report):
            says = "the touches do not show how the blank lies"
        return f"NOT DETERMINED: {setup!r}: {says}. That is not a pass.", None
    if report.correction is not None and not report.as_planned and not report.may_be_applied:
        limit = f"allowed {limit_text(report.tolerance_mm)}"
        return f"NOT EXPLAINED: {setup!r}: no push and turn brings the touched marks to the plan ({limit}).", None
    refused = "REFUSED" if report.fit is TouchOutcome.REFUSED else "NOT AS PLANNED"
    return f"{'AS PLANNED' if report.as_planned else refused}: {setup!r}: {first.message}.", first


def _only_turn_is_open(report: TouchReport) -> bool:
    """Return whether all that is known is within the tolerance, and only the turn isn't known."""
    others = {finding.status for finding in report.findings if finding.check != "turn"}
    return report.as_planned is None and others <= {Status.PASS, Status.WARN}


def _advice(report: TouchReport) -> list[str]:
    if report.fit is TouchOutcome.REFUSED or report.as_planned:
        return []
    steps = [f"{step}." for step in (() if report.nudge is None else report.nudge.words)]
    if report.correction is None or _only_turn_is_open(report):
        steps = ["touch two marks that are as far apart as there are, and ask again; until then push nothing."]
    lines: list[str] = []
    for number, step in enumerate(steps):
        lines += entry("What to do" if number == 0 else "", step)
    if _only_turn_is_open(report):
        return [*lines, ""]
    if report.correction is not None and not report.correction.is_nothing:
        shift = f"flipreg shift PROGRAM {_options(report.correction)}"
        lines += entry("Or instead", f"leave the blank and move each program: {shift}")
    if not report.explained and report.fit is TouchOutcome.WHOLE:
        lines += entry("But first" if lines else "What to do", "find out what is wrong with the marks: below.")
    return [*lines, ""] if lines else []


def _options(correction: Correction) -> str:
    turn_deg, (x, y), (dx, dy) = correction.turn_deg, correction.about_mm, correction.by_mm
    if not shown_now().inch:
        turn = f"--turn {turn_deg:z.5f} --about {plain(x)},{plain(y)} " if turn_deg else ""
        return f"{turn}--by {dx:f},{dy:f}"
    turn = f"--turn {turn_deg:z.5f} --about {_inches(x)},{_inches(y)} " if turn_deg else ""
    return f"{turn}--by {_inches(dx)},{_inches(dy)}"


def _inches(length_mm: Decimal) -> str:
    """Return a length with six decimals of an inch at most: finer than the millimetre's four."""
    return f"{plain(round(length_mm / INCH, 6))}in"


def _marks(report: TouchReport) -> list[str]:
    shown = shown_now()
    rows: list[tuple[str, ...]] = [("mark", "planned X", "Y", "touched X", "Y", "left over X", "Y", "")]
    for mark in report.marks:
        left = mark.residual_mm
        rows.append(
            (
                mark.name,
                *(shown.number(value, 3) for value in (*mark.planned_mm, *mark.touched_mm)),
                *(
                    ("-", "-", "")
                    if left is None or mark.off_mm is None
                    else (*(shown.signed(value, 3) for value in left), shown.number(mark.off_mm, 3))
                ),
            )
        )
    return table(rows, right="lrrrrrrr")


def _distances(report: TouchReport) -> list[str]:
    shown, rows = shown_now(), [("from", "to", "planned", "measured", "difference")]
    rows += [
        (
            gap.first,
            gap.second,
            shown.number(gap.planned_mm, 3),
            shown.number(gap.measured_mm, 3),
            shown.signed(gap.excess_mm, 3),
        )
        for gap in report.distances
    ]
    return table(rows, right="llrrr")
