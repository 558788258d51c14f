"""What can be wrong with a job file though every key has the right type: parts that contradict each other."""

from collections.abc import Iterator
from difflib import get_close_matches

from flipreg.job.file.check_contradictions import check_contradictions
from flipreg.job.file.draft import Draft
from flipreg.job.file.fitted_table import fitted_problems
from flipreg.job.file.tables import MarkTable, SetupTable, TiltTable
from flipreg.job.problem import Problem

__all__ = ["contradictions"]

_OTHER_BOARD = 1.5
"""A measured thickness this many times larger or smaller than the planned one is of another board, or in another
unit; ours."""


def contradictions(draft: Draft) -> Iterator[Problem]:
    """Yield every contradiction between the parts of a file, with its key path."""
    yield from _names(draft)
    yield from _references(draft)
    yield from _blank(draft)
    yield from _marks(draft)
    yield from _tools(draft)
    yield from _setups(draft)
    yield from _tilts(draft)
    yield from check_contradictions(draft)
    yield from _fitted(draft)


def _names(draft: Draft) -> Iterator[Problem]:
    for kind, names in draft.names.items():
        for index, name in enumerate(names):
            if name is not None and name in names[:index]:
                first = names.index(name)
                yield Problem((kind, index, "name"), f"the name {name!r} is taken by $.{kind}[{first}] already")


def _references(draft: Draft) -> Iterator[Problem]:
    for reference in draft.references:
        name = reference.name
        if reference.kind == "files":
            if name not in draft.existing_files:
                yield Problem(reference.path, f"there is no file {name!r} in the job file's folder")
        elif name not in draft.names[reference.kind]:
            yield Problem(reference.path, _unknown(reference.kind[:-1], name, draft.names[reference.kind]))


def _blank(draft: Draft) -> Iterator[Problem]:
    blank = draft.blank
    if blank is None:
        return
    if blank.centre_line >= blank.width:
        yield Problem(
            ("blank", "centre_line"),
            f"the centre line is off the blank: {blank.centre_line:g} from the edge, and the blank is "
            f"{blank.width:g} wide" + draft.unit_hint(blank.centre_line, blank.width),
        )
    measured = blank.measured_thickness
    if measured is not None and not 1 / _OTHER_BOARD < measured / blank.thickness < _OTHER_BOARD:
        yield Problem(
            ("blank", "measured_thickness"),
            f"{measured:g} measured and {blank.thickness:g} planned cannot be one blank: another unit, or another one?",
        )


def _marks(draft: Draft) -> Iterator[Problem]:
    for index, mark in draft.marks.items():
        path = ("marks", index)
        if mark.along is None and mark.carried is None:
            yield Problem(path, f"mark {mark.name!r} needs along, its distance from the near end, or carried")
        if mark.along is not None and mark.carried is not None:
            yield Problem(
                (*path, "along"), f"mark {mark.name!r} has along and carried: its line can come from one only"
            )
        if mark.carried is not None:
            yield from _carried(draft, index, mark)
    first = draft.marks.get(0)
    if first is not None and (first.face == "back" or first.carried is not None):
        yield Problem(
            ("marks", 0), "the first mark is the origin of the blank frame: it is on the front, at a distance along"
        )


def _carried(draft: Draft, index: int, mark: MarkTable) -> Iterator[Problem]:
    assert mark.carried is not None
    source = mark.carried.from_mark
    if source in draft.names["marks"] and source not in draft.hinges():
        yield Problem(
            ("marks", index, "carried", "from"),
            f"mark {source!r} is the hinge of no setup's tilt, so the angle of the bend is not known",
        )
    hinge = draft.mark(source)
    if mark.face == "both" or (hinge is not None and hinge.face == mark.face):
        yield Problem(
            ("marks", index, "face"), f"a carried mark is on the one face that its hinge mark {source!r} is not on"
        )


def _tools(draft: Draft) -> Iterator[Problem]:
    numbers: dict[int, int] = {}
    belongs = {"corner_radius": ("bull",), "angle": ("vee",), "point_angle": ("drill",)}
    for index, tool in draft.tools.items():
        for key, shapes in belongs.items():
            if getattr(tool, key) is not None and tool.shape not in shapes:
                yield Problem(
                    ("tools", index, key), f"{key} belongs to shape {shapes[0]!r}, and this is {tool.shape!r}"
                )
        if tool.number is not None and numbers.setdefault(tool.number, index) != index:
            yield Problem(
                ("tools", index, "number"),
                f"the number {tool.number} is taken by $.tools[{numbers[tool.number]}] already",
            )
        for shape, key in (("bull", "corner_radius"), ("vee", "angle")):
            if tool.shape == shape and getattr(tool, key) is None:
                yield Problem(("tools", index), f"tool {tool.name!r} of shape {shape!r} needs {key}")
        if tool.corner_radius is not None and tool.corner_radius > tool.diameter / 2:
            yield Problem(
                ("tools", index, "corner_radius"),
                f"a corner radius is at most half the diameter, {tool.diameter / 2:g}, got {tool.corner_radius:g}",
            )
        if tool.plunge is False and tool.shape == "drill":
            yield Problem(("tools", index, "plunge"), "a drill goes straight down: leave plunge out")
        if tool.ramp_angle is not None and tool.plunge:
            yield Problem(("tools", index, "ramp_angle"), "a tool that may plunge needs no ramp_angle: leave it out")
        if draft.blank is not None and tool.diameter > draft.blank.width:
            yield Problem(
                ("tools", index, "diameter"),
                f"tool {tool.name!r} is wider than the blank: {tool.diameter:g}, and the blank is "
                f"{draft.blank.width:g} wide" + draft.unit_hint(tool.diameter, draft.blank.width),
            )


def _setups(draft: Draft) -> Iterator[Problem]:
    for index, setup in draft.setups.items():
        path = ("setups", index)
        if setup.up == "front" and setup.flip is not None:
            yield Problem((*path, "flip"), "with the front up the blank is not turned over: leave flip out")
        if setup.up == "back" and setup.flip is None:
            yield Problem(path, f"setup {setup.name!r} has the back up and needs flip: was it turned about 'x' or 'y'?")
        mark = draft.mark(setup.mark)
        if mark is not None and mark.face not in (setup.up, "both"):
            yield Problem(
                (*path, "mark"),
                f"mark {setup.mark!r} is on the {mark.face} only, and the {setup.up} is up",
            )
        yield from _programs(index, setup, numbered=any(tool.number is not None for tool in draft.tools.values()))


def _programs(index: int, setup: SetupTable, *, numbered: bool) -> Iterator[Problem]:
    files = [program.file for program in setup.programs]
    for place, file in enumerate(files):
        if file in files[:place]:
            yield Problem(("setups", index, "programs", place, "file"), f"{file!r} runs twice in setup {setup.name!r}")
    for place, program in enumerate(setup.programs):
        path = ("setups", index, "programs", place)
        if program.tool is None and not program.tools and not numbered:
            yield Problem(path, "expected tool, the name of its tool, or tools, their names by the program's T numbers")
        values = [int(number) for number in program.tools]
        if len(set(values)) < len(values):
            yield Problem((*path, "tools"), "one T number is written in two ways")


def _tilts(draft: Draft) -> Iterator[Problem]:
    sections = _sections(draft)
    for index, tilt in draft.tilts().items():
        path = ("setups", index, "tilt")
        if tilt.angle == 0.0:
            yield Problem((*path, "angle"), "a tilt of 0 degrees is none: leave tilt out")
        hinge = draft.mark(tilt.hinge)
        if hinge is not None and (hinge.along is None or hinge.face == "both"):
            yield Problem(
                (*path, "hinge"),
                f"the hinge mark {tilt.hinge!r} is on one face, at a distance along; on the other face its line lies "
                "elsewhere and is a mark of its own, carried from it",
            )
        first = sections[tilt.section]
        if (tilt.hinge, tilt.angle) != (first.hinge, first.angle):
            yield Problem(
                path,
                f"the {tilt.section} section cannot lean {tilt.angle:g} degrees at {tilt.hinge!r} here and "
                f"{first.angle:g} degrees at {first.hinge!r} in another setup",
            )


def _fitted(draft: Draft) -> Iterator[Problem]:
    programs = {setup.name: tuple(program.file for program in setup.programs) for setup in draft.setups.values()}
    blank = draft.blank
    board = None if blank is None else blank.measured_thickness or blank.thickness
    yield from fitted_problems(draft.fitted_parts, programs, board)


def _sections(draft: Draft) -> dict[str, TiltTable]:
    """Return the first tilt of each section."""
    found: dict[str, TiltTable] = {}
    for tilt in draft.tilts().values():
        found.setdefault(tilt.section, tilt)
    return found


def _unknown(kind: str, name: str, names: tuple[str | None, ...]) -> str:
    known = [other for other in names if other is not None]
    close = get_close_matches(name, known, n=1)
    meant = f"; did you mean {close[0]!r}?" if close else f"; there are {', '.join(map(repr, known)) or 'none'}"
    return f"there is no {kind} {name!r}{meant}"
