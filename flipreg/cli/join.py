"""The command `join`."""

import argparse
from typing import BinaryIO, TextIO

from flipreg.cli.arguments import positive
from flipreg.cli.command import Command
from flipreg.cli.opening import add_reading, opened, refuse_two_from_standard_input
from flipreg.cli.options import add_output
from flipreg.cli.output import write_program
from flipreg.cli.split import split_into
from flipreg.errors import UsageError

__all__ = ["COMMAND"]


def _add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("programs", nargs="+", metavar="PROGRAM", help="in the order they are to run; one may be -")
    parser.add_argument(
        "--safe-z", type=positive, metavar="Z", help="height between programs; default: the highest they go to"
    )
    parser.add_argument(
        "--split-tools", action="store_true", help="the other way round: one program into one for each tool, as split"
    )
    add_reading(parser)
    add_output(parser)


def _run(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    from flipreg.cli.files import is_same_file
    from flipreg.produce.join import join

    refuse_two_from_standard_input(options.programs)
    programs = [opened(name, options, stdin) for name in options.programs]
    if options.split_tools:
        if len(programs) != 1 or options.output in (None, "-"):
            raise UsageError("--split-tools takes one program, and -o FOLDER for the parts")
        return split_into(options.output, options, programs[0], stderr)
    if len(programs) < 2:
        raise UsageError("name at least two programs to join")
    sources = [name for name in options.programs if name != "-"]
    if options.output not in (None, "-") and any(is_same_file(options.output, name) for name in sources):
        raise UsageError(f"{options.output} is one of the programs to join; name another file with -o")
    return write_program(join(programs, safe_z_mm=options.safe_z), options, stdout, stderr)


COMMAND = Command("join", "make one program of several with the same tool and zero", _add_arguments, _run)
