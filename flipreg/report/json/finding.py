"""How findings and times are written in every JSON report."""

from flipreg.program.duration import Duration
from flipreg.report.json.encoder import Keys, KeyTable, own

__all__ = ["FINDING", "IN_A_JOB", "TIMES", "WITHOUT_PROGRAM"]

FINDING = Keys(
    own("check", "status", "message", "program", "line"), without=("says", "section", "at_mm", "setups", "settle")
)
"""Of programs."""

IN_A_JOB = Keys({**FINDING.named, **own("section", "at_mm")}, without=("says", "setups", "settle"), decimals=3)
"""With the place on the blank."""

WITHOUT_PROGRAM = Keys(
    own("check", "status", "message"),
    without=("says", "program", "line", "section", "at_mm", "setups", "settle"),
)
"""Of checks that are about no program."""

TIMES: KeyTable = {Duration: Keys(decimals=3)}
"""Times are in seconds."""
