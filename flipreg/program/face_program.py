"""A program read as one of a face: all its motions, with its unit and the tools that were told."""

from collections.abc import Mapping
from typing import NamedTuple

from flipreg.cut.tool import Cutter
from flipreg.job.tool import Tool
from flipreg.path import Path
from flipreg.program.cutters import cutter_of
from flipreg.program.dwell import dwell_seconds
from flipreg.program.face import FaceProgram
from flipreg.program.lint import Lint
from flipreg.program.tool_lengths import ToolLengthReader
from flipreg.program.tool_runs import Numbered, tool_rows, with_runs
from flipreg.program.tool_words import ToolWordsReader
from flipreg.rs274.interpret.state import BlockDelete
from flipreg.rs274.interpret.subprograms import executed
from flipreg.rs274.read.program import Readable

__all__ = ["face_program"]


def face_program(
    program: Readable,
    *,
    tool_diameter_mm: float | None = None,
    tools_mm: Mapping[int, float] | None = None,
    tool: Tool | None = None,
    tools: Mapping[int, Tool] | None = None,
    block_delete: BlockDelete = BlockDelete.OFF,
) -> FaceProgram:
    """Return a program as one of a face: interpreted whole, with its name, unit and tools.

    Parameters
    ----------
    program : Program or ProgramFile
        The program.
    tool_diameter_mm : float, optional
        Cutting diameter in millimetres of its tool, of the one it starts with if it changes tools.
    tools_mm : mapping from int, optional
        Cutting diameters in millimetres by T number.
    tool : Tool, optional
        The same tool as `tool_diameter_mm` is of, where its shape is known too.
    tools : mapping from int, optional
        Tools by T number, of those whose shapes are known too.
    block_delete : BlockDelete
        The machine's switch: whether lines that start with `/` are left out.

    Raises
    ------
    ProgramError, RefusedError
        If the program is not legal, or cannot be interpreted; if diameters are given, also at a T number that has none.
    """
    parts, lint, dwell_s, words, lengths = [], Lint(), 0.0, ToolWordsReader(), ToolLengthReader()
    for step in executed(program, block_delete=block_delete):
        lint.add(step)
        words.add(step)
        lengths.add(step)
        dwell_s += dwell_seconds(step)
        if len(step.path):
            parts.append(step.path)
    made = FaceProgram(
        path=Path.concatenate(parts) if parts else Path.empty(),
        name=program.source,
        inch=lint.in_inches,
        findings=lint.findings(program.source),
        dwell_s=dwell_s,
        words=words.words(),
        lengths=lengths.uses(),
        says_unit=lint.says_unit,
    )
    plain = _Told.of(tool_diameter_mm if tool is None else tool)
    told: dict[int, Tool | float] = {**(tools_mm or {}), **(tools or {})}
    by_number = {number: one for number, each in told.items() if (one := _Told.of(each)) is not None}
    if plain is None and not by_number:
        return made
    settle = "say it with its diameter, T{0}=D, or make one program of each tool"
    rows = tool_rows(made, Numbered(plain, by_number, lambda tool: tool.width_mm, settle.format))
    return with_runs(made, rows, lambda tool: tool.width_mm, lambda tool: tool.shape)


class _Told(NamedTuple):
    """What a caller told of a tool: its diameter, and its shape where that is known too."""

    width_mm: float
    shape: Cutter | None

    @classmethod
    def of(cls, tool: Tool | float | None) -> "_Told | None":
        if isinstance(tool, Tool):
            return cls(tool.diameter_mm, cutter_of(tool))
        return None if tool is None else cls(tool, None)
