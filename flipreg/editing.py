"""The commands of the shop edits: depth. Read, call the library, write, return.

Streams and exit statuses are those of the command line.
"""

import argparse
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, BinaryIO, TextIO

from flipreg.errors import UsageError

if TYPE_CHECKING:
    from flipreg.produce import Produced

__all__ = ["CommandLine", "add_edits"]

DONE, NOT_SHOWN = 0, 1

Run = Callable[[argparse.Namespace, BinaryIO, BinaryIO, TextIO], int]


@dataclass(frozen=True, slots=True)
class CommandLine:
    """What the command line lends to its commands.

    Attributes
    ----------
    command : callable
        Adds a command: its name, what runs it, what it does.
    add_output : callable
        Adds the `-o` option.
    write : callable
        Writes a new program to where it is wanted.
    length, positive : callable
        Types of arguments: any length, a length over 0.
    """

    command: Callable[[str, Run, str], argparse.ArgumentParser]
    add_output: Callable[[argparse.ArgumentParser], None]
    write: Callable[["Produced", argparse.Namespace, BinaryIO, TextIO], int]
    length: Callable[[str], Decimal]
    positive: Callable[[str], Decimal]


def add_edits(line: CommandLine) -> None:
    """Add the commands."""
    _add_depth(line)


def _add_depth(line: CommandLine) -> None:
    def run(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
        return line.write(_depth(options, stdin), options, stdout, stderr)

    depth = line.command("depth", run, "move the floor of a pocket, slot, profile or hole to another depth")
    depth.add_argument("program", metavar="PROGRAM", help="a file, or - for standard input")
    floor = depth.add_mutually_exclusive_group(required=True)
    floor.add_argument("--floor", type=line.length, metavar="Z", help="where the floor shall be")
    floor.add_argument(
        "--measured", type=line.positive, metavar="T", help="measured thickness of the part that lies in the pocket"
    )
    part = depth.add_mutually_exclusive_group()
    part.add_argument("--planned", type=line.positive, metavar="T", help="its planned thickness: proud as planned")
    part.add_argument("--proud", type=line.length, metavar="H", help="how far it has to stand proud of the surface")
    depth.add_argument("--level", type=line.length, metavar="Z", help="where the floor that is meant is now")
    depth.add_argument(
        "--step-down",
        type=line.positive,
        metavar="S",
        help="largest step-down of new and moved passes; default: the largest of the program",
    )
    depth.add_argument(
        "--top", type=line.length, default=Decimal(0), metavar="Z", help="the surface of the wood; default 0"
    )
    line.add_output(depth)


def _depth(options: argparse.Namespace, stdin: BinaryIO) -> "Produced":
    from flipreg.edit.depth import depth, floor_from_proud, floor_from_thickness, floor_of
    from flipreg.files import open_program

    program = open_program(options.program, stdin)
    floor = options.floor
    if floor is not None and (options.planned, options.proud) != (None, None):
        raise UsageError("--planned and --proud go with --measured; --floor says where the floor shall be by itself")
    if floor is None:
        if options.proud is not None:
            floor = floor_from_proud(options.top, measured_mm=options.measured, proud_mm=options.proud)
        elif options.planned is not None:
            level = floor_of(program, level_mm=options.level, top_mm=options.top)
            floor = floor_from_thickness(level, measured_mm=options.measured, planned_mm=options.planned)
        else:
            raise UsageError("--measured needs --planned T, the thickness as planned, or --proud H")
    return depth(
        program, floor_mm=floor, level_mm=options.level, step_down_mm=options.step_down, top_mm=options.top
    )

