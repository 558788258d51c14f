"""Findings on what holds: tabs after every setup, and pieces that come loose while the cutter runs."""

from collections.abc import Iterator, Sequence

from flipreg.job.layout import Layout
from flipreg.verify.carve import Carved
from flipreg.verify.finding import Finding, Status
from flipreg.verify.left import Held
from flipreg.verify.loose import Loose
from flipreg.verify.section import section_name
from flipreg.verify.shear import SHEAR_SOURCE, shear_strength_kpa

__all__ = ["holding_findings"]

_KPA_MM2_PER_N = 1000.0


def holding_findings(carved: Carved, layout: Layout) -> Iterator[Finding]:
    """Yield findings of the code 'holding'."""
    for loose in carved.loose:
        yield _loose_finding(loose)
    for section, kerf in zip(carved.sections, carved.kerfs, strict=True):
        if kerf is None:
            yield Finding(
                "holding",
                Status.NOT_DETERMINED,
                f"{section.name} section: what holds the part is not known; it would need profile = true at the "
                "programs that cut along the part's edge",
                section=section.name,
            )
        elif not kerf.pieces:
            yield Finding(
                "holding",
                Status.NOT_DETERMINED,
                f"{section.name} section: the profile programs do not go all round anything; it would need the cut "
                "that closes the way round, or no profile = true",
                section=section.name,
            )
        elif not bool(kerf.blank.any()):
            yield Finding(
                "holding",
                Status.NOT_DETERMINED,
                f"{section.name} section: nothing of the blank is left outside the profile, so no wood of it holds "
                "the part; what does would have to be known",
                section=section.name,
            )
    yield from _tabs(carved.held, layout)


def _loose_finding(loose: Loose) -> Finding:
    x_mm, y_mm = loose.piece.at_mm
    what = f"the piece of {loose.piece.area_mm2 / 100.0:.0f} cm² about X {x_mm:.1f} Y {y_mm:.1f}"
    section = section_name(loose.cut.face.bend)
    if loose.line is None:
        return Finding(
            "holding",
            Status.NOT_DETERMINED,
            f"setup {loose.cut.face.name!r}: what still holds {what} is thinner or narrower than the grid of the maps "
            "can tell, or lies where it is not known; a smaller grid in [check] may tell more",
            loose.cut.program.name,
            None,
            section,
            loose.piece.at_mm,
        )
    return Finding(
        "holding",
        Status.FAIL,
        f"setup {loose.cut.face.name!r}: {what} comes loose while the cutter is running; leave tabs, or hold it in "
        "another way",
        loose.cut.program.name,
        loose.line,
        section,
        loose.piece.at_mm,
    )


def _tabs(held: Sequence[Held], layout: Layout) -> Iterator[Finding]:
    strength = shear_strength_kpa(layout.job.blank.species)
    for one in held:
        if not one.is_joined:
            # That it came loose, or that nobody can tell, is a finding of its own, once.
            continue
        x_mm, y_mm = one.at_mm
        where = f"after setup {one.setup!r} the piece of {one.area_mm2 / 100.0:.0f} cm² about X {x_mm:.1f} Y {y_mm:.1f}"
        if not one.tabs:
            floor = "" if one.floor_mm is None else f" all along the cut, by {one.floor_mm:.1f} mm at the thinnest"
            yield Finding("holding", Status.PASS, f"{where} is still joined to the blank{floor}", section=one.section)
            continue
        thin = min(tab.thickness_mm for tab in one.tabs)
        narrow = min(tab.width_mm for tab in one.tabs)
        bears = ""
        if strength is not None:
            newtons = strength * one.section_mm2 / _KPA_MM2_PER_N
            bears = (
                f"; clear {layout.job.blank.species} shears there at about {_two_digits(newtons):g} N along the grain, "
                f"an estimate ({SHEAR_SOURCE}, averages), no rating"
            )
        yield Finding(
            "holding",
            Status.PASS,
            f"{where} is joined by {len(one.tabs)} {'tab' if len(one.tabs) == 1 else 'tabs'}, "
            f"together {one.section_mm2:.0f} mm², the narrowest {narrow:.1f} mm wide, "
            f"the thinnest {thin:.1f} mm thick{bears}",
            section=one.section,
        )


def _two_digits(value: float) -> float:
    return float(f"{value:.1e}")
