"""A finding that a person has to read, in the words of the report."""

from flipreg.findings import Finding, Status
from flipreg.progress import bare_name

__all__ = ["remark_text"]

_WORDS = {Status.FAIL: "fails", Status.WARN: "look", Status.NOT_DETERMINED: "not determined"}


def remark_text(finding: Finding) -> str:
    """Return the check, how it ended, what it found and where, as one sentence; for findings that do not pass."""
    place = f" ({bare_name(finding.program)} line {finding.line})" if finding.program and finding.line else ""
    return f"{finding.check}, {_WORDS[finding.status]}: {finding.message}{place}."
