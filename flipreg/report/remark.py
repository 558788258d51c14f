"""A finding in the words of the text reports."""

from flipreg.findings import Finding, Status
from flipreg.names import bare_name

__all__ = ["STATUS_WORDS", "remark_text"]

STATUS_WORDS = {
    Status.PASS: "holds",
    Status.FAIL: "fails",
    Status.WARN: "look",
    Status.NOT_DETERMINED: "not determined",
}
"""How each finding ended, in all text reports."""


def remark_text(finding: Finding) -> str:
    """Return the check, how it ended, what it found and where, as one sentence."""
    place = f" ({bare_name(finding.program)} line {finding.line})" if finding.program and finding.line else ""
    return f"{finding.check}, {STATUS_WORDS[finding.status]}: {finding.message}{place}."
