"""The summary of one program as JSON."""

from flipreg.findings import Finding
from flipreg.program.summary import Summary
from flipreg.report.json.encoder import KeyTable, as_object, json_text
from flipreg.report.json.finding import FINDING, TIMES

__all__ = ["summary_json"]

_SUMMARY: KeyTable = {Finding: FINDING, **TIMES}


def summary_json(summary: Summary) -> str:
    """Return the summary as one JSON object; what is not known is null."""
    return json_text(as_object(summary, _SUMMARY))
