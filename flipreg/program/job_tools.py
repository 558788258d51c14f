"""The tools that a job's programs run with."""

import numpy as np

from flipreg.job.job import Job
from flipreg.job.problem import JobFileError, KeyPath, Problem, path_text
from flipreg.job.setup import SetupProgram
from flipreg.job.tool import Tool
from flipreg.program.cutters import cutter_of
from flipreg.program.face import FaceProgram
from flipreg.program.tool_runs import Numbered, tool_rows, with_runs

__all__ = ["with_tools"]


def with_tools(
    program: FaceProgram, named: SetupProgram, job: Job, *, path: KeyPath
) -> tuple[FaceProgram, tuple[Tool, ...]]:
    """Return a program with the diameters and shapes of its tools, and the tool of each of its runs.

    The program's own `tools` say which tool a T number means. Where they don't, and the program changes tools or names
    no plain one, it is the job's tool with that number.

    Parameters
    ----------
    program : FaceProgram
        As it was read.
    named : SetupProgram
        What its setup says of it.
    job : Job
        Its job.
    path : KeyPath
        Where the job file has the program.

    Raises
    ------
    ProgramError, RefusedError
        At a T number that the job does not know, and where it is not known which tool is in the spindle.
    JobFileError
        If nothing says with which tool it runs, or its only T number is of another tool than the one that is named.
    """
    plain = None if named.tool is None else job.tool(named.tool)
    own = {number: job.tool(name) for number, name in named.tools.items()}
    of_job = {tool.number: tool for tool in job.tools if tool.number is not None}
    place = path_text(path)
    used = [number for number in np.unique(program.path.tool).tolist() if number > 0]
    used = used or [one.number for one in program.words.selected if one.number > 0]
    if plain is not None and len(used) == 1 and used[0] not in own and of_job.get(used[0], plain) != plain:
        says = f"{program.name} says T{used[0]}, the number of {of_job[used[0]].name!r}, and this {plain.name!r}"
        raise JobFileError(job.source, [Problem((*path, "tool"), says)])

    def settle(number: int) -> str:
        return f"give a tool of {job.source} number = {number}, or {place} tools = {{ {number} = \"...\" }}"

    rows = tool_rows(program, Numbered(plain, {**of_job, **own}, lambda tool: tool.diameter_mm, settle))
    tools = [tool for _, _, tool in rows if tool is not None]
    if len(tools) < len(rows):
        says = f"{program.name} has no T word, so this needs tool, the name of its tool"
        raise JobFileError(job.source, [Problem(path, says)])
    return with_runs(program, rows, lambda tool: tool.diameter_mm, cutter_of), tuple(tools)
