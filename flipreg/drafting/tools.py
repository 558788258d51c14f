"""The tools of programs, as a job lists them: by T number, and as their comments describe them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from flipreg.drafting.tool_comment import ToolComment, tool_comment
from flipreg.drafting.unit import Unit
from flipreg.job.tool import Tool, ToolShape
from flipreg.names import bare_name
from flipreg.program.cutters import cutter_of
from flipreg.program.face import FaceProgram
from flipreg.program.tool_runs import Numbered, tool_rows, with_runs

__all__ = ["DraftedTools", "drafted_tools"]

_ALIKE_MM = 0.06
"""Sizes this close are one size, rounded; millimetres (chosen)."""
_USUAL = (6.0, 0.25)
"""The diameter where no comment says one, in a job of millimetres and in one of inches (chosen), told as a guess."""
_USUAL_VEE_DEG = 60.0
"""The angle of a vee where no comment says one (chosen), told as a guess."""
_USUAL_CORNER = 0.125
"""Corner radius of a bull nose over its diameter where no comment says one (chosen), told as a guess."""


@dataclass(frozen=True, slots=True, eq=False)
class DraftedTools:
    """The tools of all programs.

    Attributes
    ----------
    tools : tuple of Tool
        Each once, in the order they are first used.
    says : tuple of mapping
        Of each tool what was guessed: words by the key of the job file.
    of_program : tuple of mapping
        Of each program its tools by T number, with None for the one that is put in by hand.
    programs : tuple of FaceProgram
        The programs, with the diameters of their tools.
    runs : tuple of tuple of Tool
        Of each program, the tool of each of its runs.
    """

    tools: tuple[Tool, ...]
    says: tuple[Mapping[str, str], ...]
    of_program: tuple[Mapping[int | None, Tool], ...]
    programs: tuple[FaceProgram, ...]
    runs: tuple[tuple[Tool, ...], ...]


@dataclass(slots=True)
class _Entry:
    """A tool while comments are still being gathered."""

    number: int | None
    comment: ToolComment
    needs: list[tuple[int, int | None]] = field(default_factory=list)
    only_drills: bool = True


def drafted_tools(programs: Sequence[FaceProgram], *, unit: Unit) -> DraftedTools:
    """Return the tools that programs need, and the programs with them.

    Parameters
    ----------
    programs : sequence of FaceProgram
        The programs of all setups.
    unit : Unit
        The job's unit; names and usual sizes are made for it.

    Raises
    ------
    RefusedError
        Where it is not known which tool of a program cuts.
    """
    entries: list[_Entry] = []
    for place, program in enumerate(programs):
        numbers = _numbers(program)
        for number in numbers:
            comment = tool_comment(program, number, alone=len(numbers) == 1)
            entry = next((one for one in entries if _is_one_tool(one, number, comment)), None)
            if entry is None:
                entry = _Entry(number, comment)
                entries.append(entry)
            elif entry.comment.diameter_mm is None or (entry.comment.shape is None and comment.shape is not None):
                entry.comment = comment
            entry.needs.append((place, number))
            entry.only_drills &= _only_drills(program, number)
    tools: list[Tool] = []
    says: list[Mapping[str, str]] = []
    of_program: list[dict[int | None, Tool]] = [{} for _ in programs]
    for entry in entries:
        tool, told = _tool(entry, tools, unit=unit)
        tools.append(tool)
        says.append(told)
        for place, number in entry.needs:
            of_program[place][number] = tool
    made, runs = [], []
    for program, mine in zip(programs, of_program, strict=True):
        numbered = {number: tool for number, tool in mine.items() if number is not None}
        rows = tool_rows(program, Numbered(mine.get(None), numbered, lambda tool: tool.diameter_mm, str))
        made.append(with_runs(program, rows, lambda tool: tool.diameter_mm, cutter_of))
        runs.append(tuple(tool for _, _, tool in rows if tool is not None))
    return DraftedTools(tuple(tools), tuple(says), tuple(of_program), tuple(made), tuple(runs))


def _numbers(program: FaceProgram) -> list[int | None]:
    """Return the T numbers that a program moves with, None for a tool that is put in by hand and cuts."""
    column = program.path.tool
    used: list[int | None] = [int(number) for number in dict.fromkeys(column.tolist()) if number > 0]
    if used:
        return [None, *used] if bool((column[program.path.is_cut] <= 0).any()) else used
    selected = [one.number for one in program.words.selected if one.number > 0]
    return [selected[0]] if len(selected) == 1 else [None]


def _is_one_tool(entry: _Entry, number: int | None, comment: ToolComment) -> bool:
    """Tell whether a tool may be one that is known: what has a number is another only where comments contradict."""
    ours, theirs = entry.comment, comment
    if entry.number != number:
        return False
    if ours.diameter_mm is None or theirs.diameter_mm is None:
        # Two that are put in by hand, of which nothing is known, may be one as well as not.
        return number is not None or (ours.diameter_mm, theirs.diameter_mm) == (None, None)
    same_shape = ours.shape is theirs.shape or None in (ours.shape, theirs.shape)
    return same_shape and abs(ours.diameter_mm - theirs.diameter_mm) <= _ALIKE_MM


def _only_drills(program: FaceProgram, number: int | None) -> bool:
    path = program.path
    mine = path.is_cut & (path.tool == number if number is not None and bool((path.tool == number).any()) else True)
    return bool(mine.any()) and bool((path.cycle[mine] > 0).all())


def _tool(entry: _Entry, others: Sequence[Tool], *, unit: Unit) -> tuple[Tool, dict[str, str]]:
    """Return the tool, and what was guessed of it."""
    comment, says = entry.comment, {}
    quoted = f'a comment says "{comment.text}" ({bare_name(comment.program)} line {comment.line})'
    diameter_mm = None if comment.diameter_mm is None else unit.written(comment.diameter_mm)
    says["diameter"] = f"{quoted}; measure the cutter"
    if diameter_mm is None:
        diameter_mm = unit.of(*_USUAL)
        says["diameter"] = "no comment says it with its unit; measure the cutter"
    shape = comment.shape
    if shape is not None:
        says["shape"] = f"{quoted}; flat, ball, bull, vee or drill"
    else:
        shape = ToolShape.DRILL if entry.only_drills else ToolShape.FLAT
        why = "it only drills" if entry.only_drills else "no comment with a size says it"
        says["shape"] = f"{why}; flat, ball, bull, vee or drill"
    angle, corner_mm = comment.angle_deg, comment.corner_mm and unit.written(comment.corner_mm)
    if shape in (ToolShape.VEE, ToolShape.DRILL) and angle is not None:
        says["angle" if shape is ToolShape.VEE else "point_angle"] = quoted
    if shape is ToolShape.BULL and corner_mm is not None:
        says["corner_radius"] = quoted
    if shape is ToolShape.VEE and not (angle is not None and 0.0 < angle < 179.9):
        angle = _USUAL_VEE_DEG
        says["angle"] = "no comment says it; the angle from flank to flank, in degrees"
    if shape is ToolShape.BULL and not (corner_mm is not None and 0.0 < corner_mm <= diameter_mm / 2):
        corner_mm = unit.written(diameter_mm * _USUAL_CORNER)
        says["corner_radius"] = "no comment says it"
    name = _name(entry, diameter_mm, shape, {tool.name for tool in others}, unit=unit)
    taken = {tool.number for tool in others}
    number = None if entry.number in taken else entry.number
    return Tool(name, shape, diameter_mm, corner_radius_mm=corner_mm, angle_deg=angle, number=number), says


def _name(entry: _Entry, diameter_mm: float, shape: ToolShape, taken: set[str], *, unit: Unit) -> str:
    plain = "by hand" if entry.number is None else f"T{entry.number}"
    if entry.comment.diameter_mm is not None:
        plain = f"{unit.size(diameter_mm)} {shape.value}"
    found, count = plain, 1
    while found in taken:
        count += 1
        found = f"{plain} {count}"
    return found
