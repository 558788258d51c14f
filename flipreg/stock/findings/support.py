"""Findings on what holds: tabs after every setup, and pieces that come loose while the cutter runs."""

from collections.abc import Iterator, Sequence

import numpy as np

from flipreg.findings import Finding, Status
from flipreg.job.layout import Layout
from flipreg.stock.cutting.release import Release
from flipreg.stock.cutting.simulation import Carved
from flipreg.stock.findings.shear import SHEAR_SOURCE, shear_strength_kpa
from flipreg.stock.sections.permission import declared
from flipreg.stock.sections.remaining import PartSupport
from flipreg.stock.sections.section import SectionCut, section_name
from flipreg.units import area_text, length_text, limit_text, place_text, shown_now

__all__ = ["holding_findings"]

_KPA_MM2_PER_N = 1000.0


def holding_findings(
    carved: Carved, held: Sequence[PartSupport], lifted: Sequence[Sequence[Finding]], layout: Layout
) -> Iterator[Finding]:
    """Yield findings of the code 'holding': pieces that come loose, pieces that hang, and what cannot be told.

    `lifted` are those of `lift_findings`, by section.
    """
    yield from _release_findings(carved.released)
    # A program that changes tools is cut in several stretches.
    programs = {(cut.face.name, cut.program.name): cut for section in carved.sections for cut in section.cuts}
    for (setup, name), cut in programs.items():
        mine = [one for one in carved.released if (one.cut.face.name, one.cut.program.name) == (setup, name)]
        yield from _unused(cut, mine)
    for section, kerf, over_tabs in zip(carved.sections, carved.kerfs, lifted, strict=True):
        if kerf.pieces and not kerf.blank:
            yield Finding(
                "holding",
                Status.NOT_DETERMINED,
                f"{section.lead}nothing of the blank is left outside the profile, so no wood of it holds "
                "the part; what does would have to be known",
                section=section.name,
            )
        elif not kerf.pieces and any(cut.is_profile for cut in section.cuts):
            yield Finding(
                "holding",
                Status.NOT_DETERMINED,
                f"{section.lead}the profile programs do not part anything from the blank; it would need the "
                "cut that closes the way round, or no profile = true",
                section=section.name,
            )
        yield from over_tabs
    yield from _tabs(held, layout)


def _release_findings(released: Sequence[Release]) -> Iterator[Finding]:
    for one in released:
        if not one.piece.is_chip:
            yield _release_finding(one)
    chips = [one for one in released if one.piece.is_chip and not one.is_permitted]
    for cut in dict.fromkeys(one.cut for one in chips):
        mine = [one for one in chips if one.cut is cut]
        x_mm, y_mm = mine[0].piece.at_mm
        many = "a chip comes" if len(mine) == 1 else f"{len(mine)} chips come"
        yield Finding(
            "holding",
            Status.WARN,
            f"setup {cut.face.name!r}: {many} loose, of {area_text(mine[0].piece.area_mm2)} or less, no larger than a "
            f"cutter's end, the largest about {place_text((x_mm, y_mm))}",
            cut.program.name,
            section=section_name(cut.face.bend),
            at_mm=mine[0].piece.at_mm,
        )


def _release_finding(released: Release) -> Finding:
    x_mm, y_mm = released.piece.at_mm
    what = f"the piece of {_area(released.piece.area_mm2)} about {place_text((x_mm, y_mm))}"
    where = f"setup {released.cut.face.name!r}"
    if not released.is_known:
        status, line = Status.NOT_DETERMINED, None
        says = f"{where}: what still holds {what} lies where the wood is not known"
    elif released.line is None:
        status, line = Status.FAIL, None
        says = (
            f"{where}: what still holds {what} is thinner or narrower than the grid of the maps can tell; leave more, "
            "or take a smaller grid in [check] to see how much it is"
        )
    elif released.is_permitted:
        status, line = Status.PASS, released.line
        says = f"{where}: {what} comes loose while the cutter is running, as may_fall says"
    else:
        inner_x, inner_y = (_written(value) for value in _in_program(released))
        status, line = Status.FAIL, released.line
        says = (
            f"{where}: {what} comes loose while the cutter is running (held is {released.held}); leave tabs, or hold "
            f"it in another way and say may_fall = [[{inner_x}, {inner_y}]] at the program"
        )
    section = section_name(released.cut.face.bend)
    return Finding("holding", status, says, released.cut.program.name, line, section, released.piece.at_mm)


def _in_program(released: Release) -> tuple[float, float]:
    """Return a point of the piece in the program's own numbers."""
    at = (~released.cut.face.seen_from_above).apply(np.array([[*released.piece.inside_mm, 0.0]]))[0]
    return float(at[0]), float(at[1])


def _written(length_mm: float) -> str:
    """Return a coordinate as it stands in the job file: in its unit, to a tenth of a millimetre or finer."""
    return f"{float(shown_now().number(length_mm, 1)):z.6g}"


def _unused(cut: SectionCut, released: Sequence[Release]) -> Iterator[Finding]:
    used = sum(one.is_permitted for one in released)
    asked = len(declared(cut).may_fall)
    if used < asked:
        many = "piece falls" if asked - used == 1 else "pieces fall"
        yield Finding(
            "holding",
            Status.WARN,
            f"setup {cut.face.name!r}: {asked - used} {many} less than may_fall says: no loose piece has its point",
            cut.program.name,
        )


def _area(area_mm2: float) -> str:
    return shown_now().area(area_mm2) if area_mm2 >= 1000.0 else area_text(area_mm2)


def _tabs(held: Sequence[PartSupport], layout: Layout) -> Iterator[Finding]:
    strength = shear_strength_kpa(layout.job.blank.species)
    least_thick, least_wide = layout.job.limits.least_tab_mm
    for one in held:
        if not one.is_joined:
            # That it came loose, or that nobody can tell, is a finding of its own, once.
            continue
        x_mm, y_mm = one.at_mm
        where = f"after setup {one.setup!r} the piece of {_area(one.area_mm2)} about {place_text((x_mm, y_mm))}"
        if not one.tabs:
            floor = ""
            if one.floor_mm is not None:
                floor = f" all along the cut, by {length_text(one.floor_mm, 1)} at the thinnest"
            yield Finding("holding", Status.PASS, f"{where} is still joined to the blank{floor}", section=one.section)
            continue
        thin = min(one.tabs, key=lambda tab: tab.thickness_mm)
        narrow = min(one.tabs, key=lambda tab: tab.width_mm)
        bears = ""
        if strength is not None:
            newtons = strength * one.section_mm2 / _KPA_MM2_PER_N
            bears = (
                f"; clear {layout.job.blank.species} shears there at about {_two_digits(newtons):g} N along the grain, "
                f"an estimate ({SHEAR_SOURCE}, averages), no rating"
            )
        says = (
            f"{where} is joined by {len(one.tabs)} {'tab' if len(one.tabs) == 1 else 'tabs'}, "
            f"together {area_text(one.section_mm2)}, the narrowest {length_text(narrow.width_mm, 1)} wide, "
            f"the thinnest {length_text(thin.thickness_mm, 1)} thick{bears}"
        )
        weak = thin if thin.thickness_mm < least_thick else narrow
        if not (weak.thickness_mm < least_thick or weak.width_mm < least_wide):
            yield Finding("holding", Status.PASS, says, section=one.section)
            continue
        at_x, at_y = weak.at_mm
        says += (
            f"; the tab at {place_text((at_x, at_y))} is {length_text(weak.width_mm)} wide and "
            f"{length_text(weak.thickness_mm)} "
            f"thick, and least_tab is {limit_text(least_wide)} wide and {limit_text(least_thick)} thick"
        )
        yield Finding("holding", Status.FAIL, says, section=one.section, at_mm=weak.at_mm)


def _two_digits(value: float) -> float:
    return float(f"{value:.1e}")
