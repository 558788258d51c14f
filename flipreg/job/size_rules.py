"""What the blank is too small for, wherever it lies: tools, limits of the check, pockets of fitted parts."""

from collections.abc import Iterator

from flipreg.job.blank import Blank
from flipreg.job.parts import Parts, in_unit, unit_hint
from flipreg.job.problem import Problem

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
    measured_mm = blank.measured_thickness_mm
    if measured_mm is not None and not 1 / _OTHER_BOARD < measured_mm / blank.thickness_mm < _OTHER_BOARD:
        message = (
            f"{_shown(parts, measured_mm)} measured and {_shown(parts, blank.thickness_mm)} planned cannot be one "
            "blank: another unit, or another one?"
        )
        yield Problem(("blank", "measured_thickness"), message)


def _tools(parts: Parts, blank: Blank) -> Iterator[Problem]:
    for index, tool in parts.tools.items():
        if tool.diameter_mm > blank.width_mm:
            message = (
                f"tool {tool.name!r} is wider than the blank: {_shown(parts, tool.diameter_mm)}, and the blank is "
                f"{_shown(parts, blank.width_mm)} wide{unit_hint(tool.diameter_mm, blank.width_mm, inch=parts.inch)}"
            )
            yield Problem(("tools", index, "diameter"), message)


def _limits(parts: Parts, blank: Blank) -> Iterator[Problem]:
    limits = parts.limits
    if limits is None:
        return
    for key, value_mm, size_mm, name in (
        ("least_web", limits.least_web_mm, blank.thickness_mm, "thick"),
        ("grid", limits.grid_mm, blank.width_mm, "wide"),
    ):
        if value_mm is not None and value_mm > size_mm:
            message = f"{_shown(parts, value_mm)} is more than the blank, which is {_shown(parts, size_mm)} {name}"
            yield Problem(("check", key), message)
    narrow = min(parts.tools.values(), key=lambda tool: tool.diameter_mm, default=None)
    grid_mm = limits.grid_mm
    if grid_mm is not None and narrow is not None and narrow.diameter_mm / 2 < grid_mm <= blank.width_mm:
        message = (
            f"{_shown(parts, grid_mm)} is too coarse to see what the tool {narrow.name!r} cuts: take at most half its "
            f"diameter of {_shown(parts, narrow.diameter_mm)}, or leave the grid out"
        )
        yield Problem(("check", "grid"), message)


def _fitted(parts: Parts, blank: Blank) -> Iterator[Problem]:
    board_mm = blank.actual_thickness_mm
    for index, part in parts.fitted_parts.items():
        deep_mm = part.thickness_mm - part.proud_mm
        if deep_mm >= board_mm:
            message = (
                f"the pocket would be {_shown(parts, deep_mm)} deep, and the blank is {_shown(parts, board_mm)} thick"
            )
            key = "proud" if part.thickness_mm < board_mm else "thickness"
            yield Problem(("fitted_parts", index, key), message)


def _shown(parts: Parts, length_mm: float) -> str:
    return in_unit(length_mm, inch=parts.inch)
