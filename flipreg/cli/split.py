"""The command `split`, and `join --split-tools`."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, TextIO

from flipreg.cli.arguments import positive
from flipreg.cli.command import Command
from flipreg.cli.opening import add_reading, opened
from flipreg.cli.options import add_output, add_program
from flipreg.cli.output import write_into_folder, write_program
from flipreg.errors import UsageError

if TYPE_CHECKING:
    from flipreg.produce.split import ToolPart
    from flipreg.rs274.read.program import Readable

__all__ = ["COMMAND", "split_into"]


def _add_arguments(parser: argparse.ArgumentParser) -> None:
    add_program(parser)
    which = parser.add_mutually_exclusive_group(required=True)
    which.add_argument("--tool", type=int, metavar="T", help="write the part of this tool")
    which.add_argument("--into", metavar="FOLDER", help="write all parts into this folder")
    parser.add_argument(
        "--safe-z", type=positive, metavar="Z", help="height where parts end; default: the highest it goes to"
    )
    add_reading(parser)
    add_output(parser)


def _run(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    program = opened(options.program, options, stdin)
    if options.into is not None:
        if options.output is not None:
            raise UsageError("--into names the folder of all parts; -o goes with --tool")
        return split_into(options.into, options, program, stderr)
    from flipreg.produce.split import split_tools

    parts = split_tools(program, safe_z_mm=options.safe_z)
    wanted = [part for part in parts if part.tool == options.tool]
    if len(wanted) != 1:
        tools = ", ".join(f"T{part.tool}" for part in parts)
        found = f"T{options.tool} has {len(wanted)} parts; the program has {tools}"
        raise UsageError(f"{found}: --into writes them all")
    return write_program(wanted[0].produced, options, stdout, stderr)


def split_into(folder: str, options: argparse.Namespace, program: "Readable", stderr: TextIO) -> int:
    """Write the parts of a program into a folder, one for each tool; return the exit status."""
    from flipreg.produce.split import split_tools

    parts = split_tools(program, safe_z_mm=options.safe_z)
    names = [_part_name(program.source, number, part) for number, part in enumerate(parts, 1)]
    return write_into_folder(folder, names, [part.produced for part in parts], stderr)


def _part_name(source: str, number: int, part: "ToolPart") -> str:
    path = Path(source)
    stem, suffix = (path.stem, path.suffix) if source != "<stdin>" else ("program", ".nc")
    return f"{stem}-{number}-T{part.tool}{suffix}"


COMMAND = Command("split", "make one program for each tool of a program", _add_arguments, _run)
