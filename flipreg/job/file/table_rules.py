"""What can be wrong with one table though every key has the right type: keys that contradict each other.

The value that a table becomes refuses the same; here the key is said. What tables contradict each other in is for
`flipreg.job.rules`, which hold for jobs made in Python too.
"""

from collections.abc import Iterator, Sequence

from flipreg.job.file.right_tables import RightTables
from flipreg.job.file.tables import MarkTable, SetupTable, ToolTable
from flipreg.job.parts import unit_hint
from flipreg.job.problem import KeyPath, Problem, path_text

__all__ = ["table_rules"]


def table_rules(tables: RightTables) -> Iterator[Problem]:
    """Yield every table of a file that contradicts itself, with its key path."""
    blank = tables.blank
    if blank is not None and blank.centre_line >= blank.width:
        message = (
            f"the centre line is off the blank: {blank.centre_line:g} from the edge, and the blank is "
            f"{blank.width:g} wide{unit_hint(blank.centre_line, blank.width, inch=tables.inch)}"
        )
        yield Problem(("blank", "centre_line"), message)
    for index, mark in tables.marks.items():
        yield from _mark(("marks", index), mark)
    for index, tool in tables.tools.items():
        yield from _tool(("tools", index), tool)
    for index, setup in tables.setups.items():
        yield from _setup(("setups", index), setup)
    yield from _machine(tables)
    for index, part in tables.fitted_parts.items():
        if part.proud >= part.thickness:
            message = f"{part.proud:g} proud of the face, and {part.thickness:g} thick: that part needs no pocket"
            yield Problem(("fitted_parts", index, "proud"), message)


def _mark(path: KeyPath, mark: MarkTable) -> Iterator[Problem]:
    if mark.along is None and mark.carried is None:
        yield Problem(path, f"mark {mark.name!r} needs along, its distance from the near end, or carried")
    if mark.along is not None and mark.carried is not None:
        yield Problem((*path, "along"), f"mark {mark.name!r} has along and carried: its line can come from one only")


def _tool(path: KeyPath, tool: ToolTable) -> Iterator[Problem]:
    belongs = {"corner_radius": "bull", "angle": "vee", "point_angle": "drill"}
    for key, shape in belongs.items():
        if getattr(tool, key) is not None and tool.shape != shape:
            yield Problem((*path, key), f"{key} belongs to shape {shape!r}, and this is {tool.shape!r}")
    for shape, key in (("bull", "corner_radius"), ("vee", "angle")):
        if tool.shape == shape and getattr(tool, key) is None:
            yield Problem(path, f"tool {tool.name!r} of shape {shape!r} needs {key}")
    if tool.corner_radius is not None and tool.corner_radius > tool.diameter / 2:
        message = f"a corner radius is at most half the diameter, {tool.diameter / 2:g}, got {tool.corner_radius:g}"
        yield Problem((*path, "corner_radius"), message)
    if tool.plunge is False and tool.shape == "drill":
        yield Problem((*path, "plunge"), "a drill goes straight down: leave plunge out")
    if tool.ramp_angle is not None and tool.plunge:
        yield Problem((*path, "ramp_angle"), "a tool that may plunge needs no ramp_angle: leave it out")


def _setup(path: KeyPath, setup: SetupTable) -> Iterator[Problem]:
    if setup.up == "front" and setup.flip is not None:
        yield Problem((*path, "flip"), "with the front up the blank is not turned over: leave flip out")
    if setup.up == "back" and setup.flip is None:
        yield Problem(path, f"setup {setup.name!r} has the back up and needs flip: was it turned about 'x' or 'y'?")
    if setup.tilt is not None and setup.tilt.angle == 0.0:
        yield Problem((*path, "tilt", "angle"), "a tilt of 0 degrees is none: leave tilt out")
    for place, program in enumerate(setup.programs):
        if len({int(number) for number in program.tools}) < len(program.tools):
            yield Problem((*path, "programs", place, "tools"), "one T number is written in two ways")
    names = [clamp.name for clamp in setup.clamps]
    for place, clamp in enumerate(setup.clamps):
        here: KeyPath = (*path, "clamps", place)
        if clamp.name in names[:place]:
            taken = path_text((*path, "clamps", names.index(clamp.name)))
            yield Problem((*here, "name"), f"the name {clamp.name!r} is taken by {taken} already")
        yield from _range(clamp.x, (*here, "x"))
        yield from _range(clamp.y, (*here, "y"))


def _machine(tables: RightTables) -> Iterator[Problem]:
    machine = tables.machine
    if machine is None:
        return
    for key, other in (("rapid", "acceleration"), ("acceleration", "rapid")):
        if getattr(machine, key) is not None and getattr(machine, other) is None:
            yield Problem(("machine", key), f"{key} without {other} tells no time: give both or none")
    if machine.travel is not None:
        for axis in ("x", "y", "z"):
            yield from _range(getattr(machine.travel, axis), ("machine", "travel", axis))


def _range(ends: Sequence[float] | None, path: KeyPath) -> Iterator[Problem]:
    if ends is not None and ends[0] >= ends[1]:
        yield Problem(path, f"expected the lower number first, got [{ends[0]:g}, {ends[1]:g}]")
