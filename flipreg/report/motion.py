"""What the checks of motion say of setups at which nothing is wrong: lines of the text report."""

from flipreg.findings import Status
from flipreg.job_check.report import JobReport
from flipreg.report.paragraph import WIDTH, entry

__all__ = ["motion_lines"]

_SAID = {"travel": "Travel", "clamp": "Clamps", "zero": "Zero"}


def motion_lines(report: JobReport, width: int = WIDTH) -> list[str]:
    """Return a line for each thing that is said of setups, with all setups that it is said of."""
    said: dict[tuple[str, str], list[str]] = {}
    for one in report.findings:
        if one.status is Status.PASS and one.check in _SAID:
            said.setdefault((one.check, one.says), []).extend(one.setups)
    lines = [""] if said else []
    for (check, says), setups in said.items():
        lines += entry(_SAID[check], f"{', '.join(setups)}: {says}", width=width)
    return lines
