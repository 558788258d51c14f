"""What the blank is too small for, wherever it lies: tools, limits of the check, pockets of fitted parts."""

from collections.abc import Iterator

from flipreg.job.blank import Blank
from flipreg.job.parts import Parts, unit_hint
from flipreg.job.problem import Problem
from flipreg.units import Shown

__all__ = ["size_rules"]

_OTHER_BOARD = 1.5
"""A measured thickness this many times larger or smaller than the planned one is of another board, or in another unit
(chosen)."""


def size_rules(parts: Parts) -> Iterator[Problem]:
    """Yield every size that the blank contradicts, with its key path."""
    if parts.blank is None:
        return
    yield from _measured(parts, parts.blank)
    yield from _tools(parts, parts.blank)
    yield from _limits(parts, parts.blank)
    yield from _fitted(parts, parts.blank)


def _measured(parts: Parts, blank: Blank) -> Iterator[Problem]:
    bare = Shown(parts.inch).bare
    measured_mm = blank.measured_thickness_mm
    if measured_mm is not None and not 1 / _OTHER_BOARD < measured_mm / blank.thickness_mm < _OTHER_BOARD:
        message = (
            f"{bare(measured_mm)} measured and {bare(blank.thickness_mm)} planned cannot be one "
            "blank: another unit, or another one?"
        )
        yield Problem(("blank", "measured_thickness"), message)


def _tools(parts: Parts, blank: Blank) -> Iterator[Problem]:
    bare = Shown(parts.inch).bare
    for index, tool in parts.tools.items():
        if tool.diameter_mm > blank.width_mm:
            message = (
                f"tool {tool.name!r} is wider than the blank: {bare(tool.diameter_mm)}, and the blank is "
                f"{bare(blank.width_mm)} wide{unit_hint(tool.diameter_mm, blank.width_mm, inch=parts.inch)}"
            )
            yield Problem(("tools", index, "diameter"), message)


def _limits(parts: Parts, blank: Blank) -> Iterator[Problem]:
    bare = Shown(parts.inch).bare
    limits = parts.limits
    if limits is None:
        return
    for key, value_mm, size_mm, name in (
        ("least_web", limits.least_web_mm, blank.thickness_mm, "thick"),
        ("grid", limits.grid_mm, blank.width_mm, "wide"),
    ):
        if value_mm is not None and value_mm > size_mm:
            message = f"{bare(value_mm)} is more than the blank, which is {bare(size_mm)} {name}"
            yield Problem(("check", key), message)
    narrow = min(parts.tools.values(), key=lambda tool: tool.diameter_mm, default=None)
    grid_mm = limits.grid_mm
    if grid_mm is not None and narrow is not None and narrow.diameter_mm / 2 < grid_mm <= blank.width_mm:
        message = (
            f"{bare(grid_mm)} is too coarse to see what the tool {narrow.name!r} cuts: take at most half its "
            f"diameter of {bare(narrow.diameter_mm)}, or leave the grid out"
        )
        yield Problem(("check", "grid"), message)


def _fitted(parts: Parts, blank: Blank) -> Iterator[Problem]:
    bare = Shown(parts.inch).bare
    board_mm = blank.actual_thickness_mm
    for index, part in parts.fitted_parts.items():
        deep_mm = part.thickness_mm - part.proud_mm
        if deep_mm >= board_mm:
            message = (
                f"the pocket would be {bare(deep_mm)} deep, and the blank is {bare(board_mm)} thick"
            )
            key = "proud" if part.thickness_mm < board_mm else "thickness"
            yield Problem(("fitted_parts", index, key), message)
