"""Write a job, its job file and programs, into a folder."""

from pathlib import Path

from tests.dexels.bench import Cutter, Program, Setup
from tests.dexels.board import Job


def write(job: Job, folder: Path, *, grid: float) -> Path:
    """Return the path of the job file; `grid` is the step that the check is to work with, in millimetres."""
    for setup in job.bench.setups:
        for program in setup.programs:
            (folder / program.file).write_text(program.text)
    path = folder / "job.toml"
    path.write_text("\n".join(_lines(job, grid)) + "\n")
    return path


def _lines(job: Job, grid: float) -> list[str]:
    blank = job.bench.blank
    lines = [f'name = "{job.name}"', 'units = "mm"', "tolerance = 0.2", "[blank]"]
    lines += [f"length = {blank.length:.4f}", f"width = {blank.width:.4f}", f"thickness = {blank.thickness}"]
    if blank.measured is not None:
        lines.append(f"measured_thickness = {blank.measured}")
    lines += [f'edge = "{blank.edge}"', f"centre_line = {blank.centre_line:.4f}"]
    lines += ["[check]", f"grid = {grid}", f"least_web = {job.least_web}"]
    lines.append(f"least_tab = {{ thickness = {job.least_tab[0]}, width = {job.least_tab[1]} }}")
    lines += ["[[marks]]", 'name = "A"', 'face = "both"', f"along = {blank.mark_along:.4f}"]
    tools = {tool.name: tool for setup in job.bench.setups for p in setup.programs for tool in p.tools.values()}
    for tool in tools.values():
        lines += _tool(tool)
    for setup in job.bench.setups:
        lines += _setup(setup)
    return lines


def _tool(tool: Cutter) -> list[str]:
    lines = ["[[tools]]", f'name = "{tool.name}"', f'shape = "{tool.shape}"', f"diameter = {tool.diameter}"]
    if tool.shape == "vee":
        lines.append(f"angle = {tool.angle}")
    if tool.shape == "drill":
        lines.append(f"point_angle = {tool.angle}")
    else:
        lines.append(f"plunge = {str(tool.plunge).lower()}")
    if tool.flutes is not None:
        lines.append(f"flute_length = {tool.flutes}")
    return lines


def _setup(setup: Setup) -> list[str]:
    lines = ["[[setups]]", f'name = "{setup.up}"', f'up = "{setup.up}"']
    if setup.up == "back":
        lines.append(f'flip = "{setup.flip}"')
    lines += ['mark = "A"', f"zero = [{setup.zero[0]}, {setup.zero[1]}]", f'z_zero = "{setup.z_zero}"', "programs = ["]
    return [*lines, *(f"  {_program(program)}," for program in setup.programs), "]"]


def _program(program: Program) -> str:
    tools = list(program.tools.items())
    words = [f'file = "{program.file}"']
    if len(tools) == 1:
        words.append(f'tool = "{tools[0][1].name}"')
    else:
        words.append("tools = { " + ", ".join(f'{number} = "{tool.name}"' for number, tool in tools) + " }")
    words += [f"{word} = true" for word in ("profile", "through") if getattr(program, word)]
    if program.may_fall:
        words.append("may_fall = [" + ", ".join(f"[{x:.4f}, {y:.4f}]" for x, y in program.may_fall) + "]")
    return "{ " + ", ".join(words) + " }"
