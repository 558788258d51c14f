"""Findings on bites that are deeper than the cutter's flutes."""

from collections.abc import Iterator, Sequence

from flipreg.findings import Finding, Status
from flipreg.job.layout import Layout
from flipreg.stock.cutting.bite import Bitten
from flipreg.stock.sections.section import of_section, section_name
from flipreg.units import length_text, limit_text, place_text

__all__ = ["bite_findings"]

_OVER_MM = 0.05
"""A bite that is deeper by less is as deep as the flutes; millimetres (chosen): what the maps are true to."""


def bite_findings(bitten: Sequence[Bitten], layout: Layout) -> Iterator[Finding]:
    """Yield a finding of the code 'bite' for every program whose cutter has shorter flutes than its deepest bite."""
    for one in bitten:
        flutes_mm, bite = one.cut.tool.flute_length_mm, one.bite
        if flutes_mm is None or bite is None or bite.depth_mm <= flutes_mm + _OVER_MM:
            continue
        x_mm, y_mm = bite.at_mm
        yield Finding(
            "bite",
            Status.FAIL,
            f"setup {one.cut.face.name!r}: the tool {one.cut.tool.name!r} bites {length_text(bite.depth_mm)} deep at "
            f"once, and its flutes are {limit_text(flutes_mm)} long, about {place_text((x_mm, y_mm))}"
            f"{of_section(one.cut.face.bend, layout)}",
            one.cut.program.name,
            bite.line,
            section_name(one.cut.face.bend),
            bite.at_mm,
        )
