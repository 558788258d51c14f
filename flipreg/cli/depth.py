"""The command `depth`: what its options ask for, in the three ways it can be said."""

import argparse
import os
from decimal import Decimal
from typing import TYPE_CHECKING, BinaryIO, TextIO

from flipreg.cli.arguments import length, positive
from flipreg.cli.command import Command
from flipreg.cli.opening import add_reading, opened
from flipreg.cli.options import add_output, add_program
from flipreg.cli.output import write_program
from flipreg.errors import UsageError

if TYPE_CHECKING:
    from flipreg.produce.produced import Produced

__all__ = ["COMMAND"]


def _add_arguments(parser: argparse.ArgumentParser) -> None:
    add_program(parser)
    floor = parser.add_mutually_exclusive_group(required=True)
    floor.add_argument("--floor", type=length, metavar="Z", help="where the floor shall be")
    floor.add_argument(
        "--measured", type=positive, metavar="T", help="measured thickness of the part that lies in the pocket"
    )
    floor.add_argument("--measured-part", metavar="PART=T", help="measured thickness of a fitted part of the job")
    part = parser.add_mutually_exclusive_group()
    part.add_argument("--planned", type=positive, metavar="T", help="its planned thickness: proud as planned")
    part.add_argument("--proud", type=length, metavar="H", help="how far it has to stand proud of the surface")
    parser.add_argument("--level", type=length, metavar="Z", help="where the floor that is meant is now")
    parser.add_argument(
        "--step-down",
        type=positive,
        metavar="S",
        help="largest step-down of new and moved passes; default: what the program takes itself at the place",
    )
    parser.add_argument("--top", type=length, metavar="Z", help="the surface of the wood; default 0")
    add_reading(parser)
    parser.add_argument("--job", metavar="JOB.toml", help="with --measured-part: the job that plans the part")
    parser.add_argument("--setup", metavar="NAME", help="with --measured-part: the setup that cuts its pocket")
    add_output(parser)


def _run(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    return write_program(_deepened(options, stdin), options, stdout, stderr)


def _deepened(options: argparse.Namespace, stdin: BinaryIO) -> "Produced":
    """Return the program with the floor that the options ask for."""
    _check_company(options)
    if options.measured_part is not None:
        return _for_part(options, stdin)
    from flipreg.produce.depth import depth, floor_from_proud, floor_from_thickness, floor_of

    program = opened(options.program, options, stdin)
    top = Decimal(0) if options.top is None else options.top
    floor = options.floor
    if options.proud is not None:
        floor = floor_from_proud(top, measured_mm=options.measured, proud_mm=options.proud)
    elif options.planned is not None:
        level = floor_of(program, level_mm=options.level, top_mm=top)
        floor = floor_from_thickness(level, measured_mm=options.measured, planned_mm=options.planned)
    return depth(program, floor_mm=floor, level_mm=options.level, step_down_mm=options.step_down, top_mm=top)


def _check_company(options: argparse.Namespace) -> None:
    """Refuse options that another one makes useless, and those that lack another one."""
    if options.measured_part is not None:
        said = {"--planned": options.planned, "--proud": options.proud, "--top": options.top}
        useless = [name for name, value in said.items() if value is not None]
        if useless:
            raise UsageError(f"{', '.join(useless)}: the job file says that of the part; leave it out")
        missing = [name for name, value in (("--job", options.job), ("--setup", options.setup)) if value is None]
        if missing:
            raise UsageError(f"--measured-part needs {' and '.join(missing)}: which job plans the part, and where")
        return
    if (options.job, options.setup) != (None, None):
        raise UsageError("--job and --setup go with --measured-part PART=T, a fitted part of the job")
    if options.measured is None and (options.planned, options.proud) != (None, None):
        raise UsageError("--planned and --proud go with --measured; --floor says where the floor shall be by itself")
    if options.measured is not None and (options.planned, options.proud) == (None, None):
        raise UsageError("--measured needs --planned T, the thickness as planned, or --proud H")


def _for_part(options: argparse.Namespace, stdin: BinaryIO) -> "Produced":
    from flipreg.cli.files import is_same_file
    from flipreg.job.file.read import read_job
    from flipreg.produce.fitted import MeasuredPart, depth_for_part
    from flipreg.units import parse_length_mm, with_unit

    part, equals, thickness = options.measured_part.rpartition("=")
    if not equals or not part.strip():
        raise UsageError(f"{options.measured_part!r} is no measured part; expected PART=T, for example heel=15.62")
    job = read_job(options.job)
    inch = job.inch if options.units is None else options.units == "inch"
    measured_mm = with_unit(parse_length_mm(thickness), inch=inch)
    planned = job.fitted_part(part).program
    # Whatever is wrong with a file that is not there is told when it is read.
    is_there = options.program != "-" and os.path.exists(options.program)
    if is_there and not is_same_file(options.program, planned):
        message = f"the job has the pocket of {part!r} in {planned}, not in {options.program}"
        raise UsageError(f"{message}; if this is another version of it, read it from standard input")
    return depth_for_part(
        opened(options.program, options, stdin, job=job),
        job,
        MeasuredPart(part, options.setup, measured_mm),
        level_mm=None if options.level is None else with_unit(options.level, inch=inch),
        step_down_mm=None if options.step_down is None else with_unit(options.step_down, inch=inch),
    )


COMMAND = Command(
    "depth", "move the floor of a pocket, slot, profile or hole to another depth", _add_arguments, _run
)
