"""A finding that a person has to read, in the words of the report."""

from flipreg.findings import Finding, Status

__all__ = ["file_name", "remark_text"]

_WORDS = {Status.FAIL: "fails", Status.WARN: "look", Status.NOT_DETERMINED: "not determined"}


def remark_text(finding: Finding) -> str:
    """Return the check, how it ended, what it found and where, as one sentence; for findings that do not pass."""
    place = f" ({file_name(finding.program)} line {finding.line})" if finding.program and finding.line else ""
    return f"{finding.check}, {_WORDS[finding.status]}: {finding.message}{place}."


def file_name(path: str) -> str:
    """Return the name of a file without its folders."""
    return path.replace("\\", "/").rpartition("/")[2]
