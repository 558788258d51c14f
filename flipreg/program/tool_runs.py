"""Which tool makes which motions of a program: where the T number changes, and what each number stands for.

The tool is the one that M6 has put into the spindle. A program that selects one tool with T and never says M6 is run
with that one, changed by hand (common practice, no source); with several and no M6 nobody knows where each begins.
Before the first change, and after T0 M6 has emptied the spindle, the plain tool is in it, the one that a program
without T words runs with. Where there is none, feeds are refused, and traverses are looked at with the widest tool.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.tool import Cutter
from flipreg.program.face import FaceProgram, ToolRun
from flipreg.program.tool_words import Selected
from flipreg.rs274.read.location import Location, ProgramError, RefusedError

__all__ = ["Numbered", "tool_rows", "with_runs"]

_Tool = TypeVar("_Tool")


@dataclass(frozen=True, slots=True)
class Numbered(Generic[_Tool]):
    """What T numbers stand for.

    Attributes
    ----------
    plain : tool or None
        What a program runs with that never changes tools.
    tools : mapping from int
        The tools by their numbers.
    width : callable
        Returns the cutting diameter of a tool, in millimetres.
    settle : callable
        Returns, for a T number that nothing stands for, how to say what it is.
    """

    plain: _Tool | None
    tools: Mapping[int, _Tool]
    width: Callable[[_Tool], float]
    settle: Callable[[int], str]


def tool_rows(program: FaceProgram, numbered: Numbered[_Tool]) -> list[tuple[int, int, _Tool | None]]:
    """Return the motions of each tool in their order: first row, row after the last, tool.

    The tool is None only where a program neither names a tool nor has a plain one; it is then the only entry.

    Raises
    ------
    ProgramError
        At a T number that nothing stands for.
    RefusedError
        Where it is not known which tool is in the spindle.
    """
    count, column = len(program.path), _numbers(program)
    starts = np.flatnonzero(np.concatenate([[True], column[1:] != column[:-1]])) if count else np.empty(0, np.intp)
    numbers = [int(column[row]) for row in starts.tolist()]
    named = [number for number in dict.fromkeys(numbers) if _is_named(number, numbered)]
    if not named:
        return [(0, count, numbered.plain)]
    if len(named) == 1 and numbered.plain is not None and named[0] not in numbered.tools:
        return [(0, count, numbered.plain)]
    rows: list[tuple[int, int, _Tool | None]] = []
    tools = {number: _tool(program, number, numbered) for number in named}
    widest = max(tools.values(), key=numbered.width)
    for number, first, end in zip(numbers, starts.tolist(), [*starts[1:].tolist(), count], strict=True):
        tool = tools.get(number, numbered.plain)
        if tool is None:
            _refuse_feeds(program, slice(first, end))
            tool = widest
        if rows and rows[-1][2] == tool:
            first = rows.pop()[0]
        rows.append((first, end, tool))
    return rows


def with_runs(
    program: FaceProgram,
    rows: Sequence[tuple[int, int, _Tool | None]],
    width: Callable[[_Tool], float],
    shape: Callable[[_Tool], Cutter | None],
) -> FaceProgram:
    """Return a program with the diameters and shapes of its tools, given what `tool_rows` returns for it."""
    runs = tuple(
        ToolRun(first, end, None if tool is None else width(tool), None if tool is None else shape(tool))
        for first, end, tool in rows
    )
    if len(runs) == 1:
        return replace(program, tool_diameter_mm=runs[0].diameter_mm, cutter=runs[0].cutter)
    return replace(program, runs=runs)


def _is_named(number: int, numbered: Numbered[_Tool]) -> bool:
    """Return whether a number is of a tool: T0 empties the spindle unless it stands for one."""
    return number > 0 or number in numbered.tools


def _numbers(program: FaceProgram) -> NDArray[np.int32]:
    """Return the T number of each motion, shape (n,)."""
    column, selected = program.path.tool, program.words.selected
    if not selected or not len(column) or not bool((column < 0).all()):
        return column
    if len(selected) > 1:
        _refuse_no_change(selected[1])
    return np.full(len(column), selected[0].number, np.int32)


def _refuse_no_change(second: Selected) -> None:
    raise RefusedError(
        f"T{second.number} is selected and no M6 puts a tool into the spindle, so where it begins to cut is not known; "
        "write M6 where each tool is changed, or make one program of each",
        second.location,
        second.excerpt,
    )


def _tool(program: FaceProgram, number: int, numbered: Numbered[_Tool]) -> _Tool:
    found = numbered.tools.get(number)
    if found is not None:
        return found
    word = next((one for one in program.words.selected if one.number == number), None)
    line = int(program.path.line[int(np.argmax(program.path.tool == number))])
    place, excerpt = (Location(program.name, line, 1, 1), "") if word is None else (word.location, word.excerpt)
    raise ProgramError(f"nothing says what tool T{number} is; {numbered.settle(number)}", place, excerpt)


def _refuse_feeds(program: FaceProgram, rows: slice) -> None:
    fed = program.path.is_cut[rows]
    if bool(fed.any()):
        line = int(program.path.line[rows][int(fed.argmax())])
        raise RefusedError(
            "a feed while no tool is known to be in the spindle, in a program that changes tools; write T and M6 "
            "before it, or name the tool that it starts with",
            Location(program.name, line, 1, 1),
        )
