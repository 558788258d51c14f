"""Findings on motions that meet wood they should not, and on motions that the maps leave out."""

from collections.abc import Iterator, Sequence

from flipreg.findings import Finding, Status
from flipreg.job.layout import Layout
from flipreg.job.tool import Tool, ToolShape
from flipreg.stock.cutting.rapids import Crash, Misuse, first_plunge
from flipreg.stock.cutting.simulation import Carved, Crashes, LeftOut
from flipreg.stock.cutting.slanted import Slant
from flipreg.stock.cutting.steep import DEFAULT_RAMP_DEG
from flipreg.stock.sections.section import of_section, section_name
from flipreg.units import length_text, place_text, shown_now

__all__ = ["IN_THE_AIR", "crash_findings", "left_out_findings"]

IN_THE_AIR = "a run in the air"
"""What shows whether traverses to places that no program says are clear."""

_PLUNGE = "plunge in [[tools]]"
_TOLD = Misuse.TRAVERSE, Misuse.PLUNGE, Misuse.SIDEWAYS


def crash_findings(carved: Carved, layout: Layout) -> Iterator[Finding]:
    """Yield findings of the codes 'rapid', 'plunge' and 'drill': one a program, or one that all traverses are well."""
    for one in carved.crashes:
        traverses, plunges, sideways = ([crash for crash in one.found if crash.misuse is misuse] for misuse in _TOLD)
        if traverses:
            yield Finding("rapid", Status.FAIL, *_told(one, traverses, _through("a traverse goes", traverses), layout))
        if plunges:
            yield Finding("plunge", Status.FAIL, *_told(one, plunges, _steep(one.cut.tool, plunges), layout))
        if sideways:
            what = _through(f"the drill {one.cut.tool.name!r} is fed sideways", sideways)
            yield Finding("drill", Status.FAIL, *_told(one, sideways, what, layout))
    yield from (_slant(slant) for slant in carved.slants)
    yield from _unsaid_plunges(carved)
    clear = not any(crash.misuse is Misuse.TRAVERSE for one in carved.crashes for crash in one.found)
    if carved.sections and clear and not carved.slants:
        yield Finding(
            "rapid",
            Status.PASS,
            "no traverse goes through wood that the programs before it have left, as far as that is known",
        )


def left_out_findings(carved: Carved) -> Iterator[Finding]:
    """Yield findings of the code 'map': what has no place in the maps, so that all they say is said without it."""
    yield from _left_out(carved.left_out)
    for section in carved.sections:
        unknown = int((~section.known).sum())
        if unknown:
            yield Finding(
                "map",
                Status.NOT_DETERMINED,
                f"{section.lead}setups of another section may cut it at a slant over "
                f"{shown_now().area(unknown * section.grid.cell_mm2, 1)}; what is left there is not known",
                section=section.name,
            )


def _slant(slant: Slant) -> Finding:
    x_mm, y_mm = slant.at_mm
    many = f"; {slant.count} such" if slant.count > 1 else ""
    return Finding(
        "rapid",
        Status.FAIL,
        f"setup {slant.cut.face.name!r}: a traverse goes through wood of the {slant.section} section, which does "
        f"not lie flat, {length_text(slant.depth_mm, 1)} deep, about {place_text((x_mm, y_mm))} of it{many}; traverse "
        "higher",
        slant.cut.program.name,
        slant.line,
        slant.section,
        slant.at_mm,
    )


def _through(what: str, found: Sequence[Crash]) -> str:
    return f"{what} through wood, {length_text(found[0].removed.depth_mm)} deep"


def _steep(tool: Tool, found: Sequence[Crash]) -> str:
    ramp_deg = DEFAULT_RAMP_DEG if tool.ramp_deg is None else tool.ramp_deg
    return (
        f"a plunge into {length_text(found[0].removed.depth_mm)} of wood with the tool {tool.name!r}, which cannot "
        f"plunge: straight down, steeper than {ramp_deg:g}°, or on a way narrower than half of it"
    )


def _told(
    one: Crashes, found: Sequence[Crash], what: str, layout: Layout
) -> tuple[str, str, int, str | None, tuple[float, float]]:
    """Return what a finding on crashes of one kind says, and where the first of them is."""
    first, worst = found[0], max(found, key=lambda crash: crash.removed.depth_mm)
    many = ""
    if len(found) > 1:
        many = f"; {len(found)} such, the deepest {length_text(worst.removed.depth_mm)} (line {worst.line})"
    place = place_text(first.removed.at_mm) + of_section(one.cut.face.bend, layout)
    says = f"setup {one.cut.face.name!r}: {what}, about {place}{many}"
    return says, one.cut.program.name, first.line, section_name(one.cut.face.bend), first.removed.at_mm


def _unsaid_plunges(carved: Carved) -> Iterator[Finding]:
    """Yield that nobody said whether a tool may plunge, once for each tool of which it counts."""
    told: set[str] = set()
    for cut in (cut for section in carved.sections for cut in section.cuts):
        name = cut.tool.name
        if cut.tool.plunge is not None or cut.tool.shape is ToolShape.DRILL or name in told:
            continue
        line = first_plunge(cut.path, cut.tool)
        if line is not None:
            told.add(name)
            yield Finding(
                "plunge",
                Status.NOT_DETERMINED,
                f"the tool {name!r} is fed down steeply; whether it can do that would need {_PLUNGE}",
                cut.program.name,
                line,
                settle=_PLUNGE,
            )


def _left_out(parts: Sequence[LeftOut]) -> Iterator[Finding]:
    """Yield what is left out of each program: once for its traverses, and once for what is fed."""
    of_program: dict[tuple[str, str, bool, bool], list[LeftOut]] = {}
    for part in parts:
        key = part.cut.face.name, part.cut.program.name, part.is_fed, part.count == 0
        of_program.setdefault(key, []).append(part)
    for (setup, program, is_fed, is_elsewhere), mine in of_program.items():
        count, line = sum(part.count for part in mine), min(part.line for part in mine)
        settle = None
        if is_elsewhere:
            what = "motions in another work offset are left out of the maps; where that is would have to be known"
        elif is_fed:
            what = (
                f"left out of the maps: {count} {'motion' if count == 1 else 'motions'} that may cut, under cutter "
                "compensation, or from or to a point that the program does not say"
            )
        else:
            what = (
                f"left out of the maps: {count} {'traverse' if count == 1 else 'traverses'} from or to a point that "
                "the program does not say, such as a position of the machine; whether wood is in the way would need "
                f"{IN_THE_AIR}"
            )
            settle = IN_THE_AIR
        yield Finding("map", Status.NOT_DETERMINED, f"setup {setup!r}: {what}", program, line, settle=settle)
