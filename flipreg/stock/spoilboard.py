"""Findings on how deep programs cut into what the blank lies on."""

from collections.abc import Iterator, Sequence

from flipreg.findings import Finding, Status
from flipreg.job.layout import Layout
from flipreg.stock.floors import Floor
from flipreg.units import length_text, limit_text

__all__ = ["spoilboard_findings"]


def spoilboard_findings(floors: Sequence[Floor], layout: Layout) -> Iterator[Finding]:
    """Yield a finding of the code 'spoilboard' for each setup that cuts below the opposite face."""
    most = layout.job.limits.most_into_spoilboard_mm
    for setup in dict.fromkeys(floor.setup for floor in floors):
        lowest = min((floor for floor in floors if floor.setup == setup), key=lambda floor: floor.left_mm)
        if lowest.left_mm >= 0.0:
            continue
        deep = length_text(-lowest.left_mm)
        says = f"setup {setup!r} cuts {deep} below the opposite face, into what the blank lies on"
        if most is None:
            status = Status.WARN
        else:
            status = Status.FAIL if -lowest.left_mm > most else Status.PASS
            says += f" (at most {limit_text(most)} allowed)"
        yield Finding("spoilboard", status, says, lowest.program, lowest.line)
