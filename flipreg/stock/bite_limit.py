"""Findings on bites that are deeper than the cutter's flutes."""

from collections.abc import Iterator, Sequence

from flipreg.findings import Finding, Status
from flipreg.stock.bite import Bitten
from flipreg.stock.section import section_name

__all__ = ["bite_findings"]

_OVER_MM = 0.05
"""A bite that is deeper by less is as deep as the flutes; millimetres (chosen): what the maps are true to."""


def bite_findings(bitten: Sequence[Bitten]) -> Iterator[Finding]:
    """Yield a finding of the code 'bite' for every program whose cutter has shorter flutes than its deepest bite."""
    for one in bitten:
        flutes_mm, bite = one.cut.tool.flute_length_mm, one.bite
        if flutes_mm is None or bite is None or bite.depth_mm <= flutes_mm + _OVER_MM:
            continue
        x_mm, y_mm = bite.at_mm
        yield Finding(
            "bite",
            Status.FAIL,
            f"setup {one.cut.face.name!r}: the tool {one.cut.tool.name!r} bites {bite.depth_mm:z.2f} mm deep at once, "
            f"and its flutes are {flutes_mm:g} mm long, about X {x_mm:z.1f} Y {y_mm:z.1f} of the section",
            one.cut.program.name,
            bite.line,
            section_name(one.cut.face.bend),
            bite.at_mm,
        )
