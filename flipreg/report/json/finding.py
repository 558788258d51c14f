"""How findings and times are written in every JSON report."""

from flipreg.program.duration import Duration
from flipreg.report.json.encoder import Keys, Table

__all__ = ["FINDING", "IN_A_JOB", "OF_MARKS", "TIMES"]

FINDING = Keys(
    {"check": "check", "status": "status", "message": "message", "program": "program", "line": "line"},
    without=("says", "section", "at_mm", "setups", "settle"),
)
"""Of programs."""

IN_A_JOB = Keys(
    {**FINDING.named, "section": "section", "at_mm": "at_mm"}, without=("says", "setups", "settle"), decimals=3
)
"""With the place on the blank."""

OF_MARKS = Keys(
    {"check": "check", "status": "status", "message": "message"},
    without=("says", "program", "line", "section", "at_mm", "setups", "settle"),
)
"""Of what no program is about."""

TIMES: Table = {Duration: Keys(decimals=3)}
"""Times are in seconds."""
