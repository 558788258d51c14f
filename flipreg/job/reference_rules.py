"""Whether the parts of a job name one another rightly: names, references, marks and the hinges they come from.

A job that breaks one of these has no layout: nobody knows where its marks are.
"""

from collections.abc import Iterator
from difflib import get_close_matches

from flipreg.job.blank import BlankFace
from flipreg.job.mark import Mark
from flipreg.job.name import is_name
from flipreg.job.parts import Parts
from flipreg.job.problem import KeyPath, Problem
from flipreg.job.setup import Section, Setup, Tilt

__all__ = ["reference_rules"]


def reference_rules(parts: Parts) -> Iterator[Problem]:
    """Yield every part that is named wrongly, or comes from one that it cannot come from, with its key path."""
    yield from _names(parts)
    yield from _references(parts)
    yield from _marks(parts)
    yield from _numbers(parts)
    yield from _setups(parts)
    yield from _tilts(parts)
    yield from _fitted(parts)


def _names(parts: Parts) -> Iterator[Problem]:
    for kind, names in parts.names.items():
        for index, name in enumerate(names):
            if name is None:
                continue
            if not is_name(name):
                message = f"expected a name on one line, without blanks at its ends, got {name!r}"
                yield Problem((kind, index, "name"), message)
            if name in names[:index]:
                message = f"the name {name!r} is taken by $.{kind}[{names.index(name)}] already"
                yield Problem((kind, index, "name"), message)


def _references(parts: Parts) -> Iterator[Problem]:
    for reference in parts.references:
        known = [name for name in parts.names[reference.kind] if name is not None]
        if reference.name not in known:
            close = get_close_matches(reference.name, known, n=1)
            meant = f"; did you mean {close[0]!r}?" if close else f"; there are {', '.join(map(repr, known)) or 'none'}"
            yield Problem(reference.path, f"there is no {reference.kind[:-1]} {reference.name!r}{meant}")


def _marks(parts: Parts) -> Iterator[Problem]:
    for index, mark in parts.marks.items():
        if mark.carried is not None:
            yield from _carried(parts, index, mark, mark.carried.from_mark)
    first = parts.marks.get(0)
    if first is not None and (BlankFace.FRONT not in first.faces or first.carried is not None):
        message = "the first mark is the origin of the blank frame: it is on the front, at a distance along"
        yield Problem(("marks", 0), message)


def _carried(parts: Parts, index: int, mark: Mark, source: str) -> Iterator[Problem]:
    if source in parts.names["marks"] and source not in parts.hinges():
        message = f"mark {source!r} is the hinge of no setup's tilt, so the angle of the bend is not known"
        yield Problem(("marks", index, "carried", "from"), message)
    hinge = parts.mark(source)
    if len(mark.faces) > 1 or (hinge is not None and hinge.faces == mark.faces):
        message = f"a carried mark is on the one face that its hinge mark {source!r} is not on"
        yield Problem(("marks", index, "face"), message)


def _numbers(parts: Parts) -> Iterator[Problem]:
    numbers: dict[int, int] = {}
    for index, tool in parts.tools.items():
        if tool.number is not None and numbers.setdefault(tool.number, index) != index:
            message = f"the number {tool.number} is taken by $.tools[{numbers[tool.number]}] already"
            yield Problem(("tools", index, "number"), message)


def _setups(parts: Parts) -> Iterator[Problem]:
    numbered = any(tool.number is not None for tool in parts.tools.values())
    for index, setup in parts.setups.items():
        path: KeyPath = ("setups", index)
        mark = parts.mark(setup.mark)
        if mark is not None and setup.up not in mark.faces:
            where = " and ".join(face.value for face in mark.faces)
            message = f"mark {setup.mark!r} is on the {where} only, and the {setup.up.value} is up"
            yield Problem((*path, "mark"), message)
        yield from _programs(path, setup, numbered=numbered)


def _programs(path: KeyPath, setup: Setup, *, numbered: bool) -> Iterator[Problem]:
    files = [program.file for program in setup.programs]
    for place, program in enumerate(setup.programs):
        if program.file in files[:place]:
            message = f"{program.file!r} runs twice in setup {setup.name!r}"
            yield Problem((*path, "programs", place, "file"), message)
        if not program.tool_names and not numbered:
            message = "expected tool, the name of its tool, or tools, their names by the program's T numbers"
            yield Problem((*path, "programs", place), message)


def _tilts(parts: Parts) -> Iterator[Problem]:
    sections: dict[Section, Tilt] = {}
    for index, tilt in parts.tilts().items():
        path = ("setups", index, "tilt")
        hinge = parts.mark(tilt.hinge)
        if hinge is not None and (hinge.along_mm is None or len(hinge.faces) > 1):
            message = (
                f"the hinge mark {tilt.hinge!r} is on one face, at a distance along; on the other face its line lies "
                "elsewhere and is a mark of its own, carried from it"
            )
            yield Problem((*path, "hinge"), message)
        first = sections.setdefault(tilt.section, tilt)
        if tilt != first:
            message = (
                f"the {tilt.section.value} section cannot lean {tilt.angle_deg:g} degrees at {tilt.hinge!r} here and "
                f"{first.angle_deg:g} degrees at {first.hinge!r} in another setup"
            )
            yield Problem(path, message)


def _fitted(parts: Parts) -> Iterator[Problem]:
    files = {setup.name: [program.file for program in setup.programs] for setup in parts.setups.values()}
    for index, part in parts.fitted_parts.items():
        known = files.get(part.setup)
        if known is not None and part.program not in known:
            message = f"setup {part.setup!r} runs no program {part.program!r}; it runs {', '.join(map(repr, known))}"
            yield Problem(("fitted_parts", index, "program"), message)
