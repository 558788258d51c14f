"""Findings on how deep programs cut into what the blank lies on."""

from collections.abc import Iterator, Sequence

from flipreg.findings import Finding, Status
from flipreg.job.layout import Layout
from flipreg.stock.findings.floors import Floor
from flipreg.units import length_text, limit_text

__all__ = ["spoilboard_findings"]

_DEEP_MM = 5.0
"""Deeper fails where the job says nothing: a drill's point through the wood goes less deep, and many boards that the
blank lies on are little thicker (common practice, no source); millimetres (chosen)."""


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
            status = Status.FAIL if -lowest.left_mm > _DEEP_MM else Status.WARN
            if status is Status.FAIL:
                says += "; deeper than a cut goes there on purpose, unless most_into_spoilboard in [check] says so"
        else:
            status = Status.FAIL if -lowest.left_mm > most else Status.PASS
            says += f" (at most {limit_text(most)} allowed)"
        yield Finding("spoilboard", status, says, lowest.program, lowest.line)
