"""What can be wrong with what the file says of the machine, of clamps and stations, and of what is checked."""

from collections.abc import Iterator, Sequence

from flipreg.job.file.draft import Draft
from flipreg.job.problem import KeyPath, Problem

__all__ = ["check_contradictions"]


def check_contradictions(draft: Draft) -> Iterator[Problem]:
    """Yield every contradiction in machine, check, stations and clamps, with its key path."""
    yield from _machine(draft)
    yield from _limits(draft)
    yield from _clamps(draft)


def _machine(draft: Draft) -> Iterator[Problem]:
    machine = draft.machine
    if machine is None:
        return
    for key, other in (("rapid", "acceleration"), ("acceleration", "rapid")):
        if getattr(machine, key) is not None and getattr(machine, other) is None:
            yield Problem(("machine", key), f"{key} without {other} tells no time: give both or none")
    if machine.travel is not None:
        for axis in ("x", "y", "z"):
            yield from _range(getattr(machine.travel, axis), ("machine", "travel", axis))


def _limits(draft: Draft) -> Iterator[Problem]:
    check, blank = draft.check, draft.blank
    if check is None or blank is None:
        return
    for key, size, name in (("least_web", blank.thickness, "thick"), ("grid", blank.width, "wide")):
        value = getattr(check, key)
        if value is not None and value > size:
            yield Problem(("check", key), f"{value:g} is more than the blank, which is {size:g} {name}")
    narrow = min(draft.tools.values(), key=lambda tool: tool.diameter, default=None)
    if check.grid is not None and narrow is not None and narrow.diameter / 2 < check.grid <= blank.width:
        yield Problem(
            ("check", "grid"),
            f"{check.grid:g} is too coarse to see what the tool {narrow.name!r} cuts: take at most half its diameter "
            f"of {narrow.diameter:g}, or leave the grid out",
        )


def _clamps(draft: Draft) -> Iterator[Problem]:
    for index, setup in draft.setups.items():
        names = [clamp.name for clamp in setup.clamps]
        for place, clamp in enumerate(setup.clamps):
            path: KeyPath = ("setups", index, "clamps", place)
            if clamp.name in names[:place]:
                yield Problem(
                    (*path, "name"),
                    f"the name {clamp.name!r} is taken by $.setups[{index}].clamps[{names.index(clamp.name)}] already",
                )
            yield from _range(clamp.x, (*path, "x"))
            yield from _range(clamp.y, (*path, "y"))


def _range(ends: Sequence[float] | None, path: KeyPath) -> Iterator[Problem]:
    if ends is not None and ends[0] >= ends[1]:
        yield Problem(path, f"expected the lower number first, got [{ends[0]:g}, {ends[1]:g}]")
