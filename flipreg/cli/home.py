"""The command `home`."""

import argparse
from typing import BinaryIO, TextIO

from flipreg.cli.arguments import positive
from flipreg.cli.command import Command
from flipreg.cli.exit_status import DONE, NOT_SHOWN
from flipreg.cli.opening import add_reading, opened
from flipreg.cli.options import add_output, add_program
from flipreg.cli.output import write_program, write_text
from flipreg.errors import UsageError

__all__ = ["COMMAND"]


def _add_arguments(parser: argparse.ArgumentParser) -> None:
    add_program(parser)
    parser.add_argument("--safe-z", type=positive, required=True, metavar="Z", help="the safe height")
    parser.add_argument("--check", action="store_true", help="only say what is missing; exit status 1 if something is")
    add_reading(parser)
    add_output(parser)


def _run(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    from flipreg.produce.home import home, missing_from_home

    program = opened(options.program, options, stdin)
    if not options.check:
        return write_program(home(program, safe_z_mm=options.safe_z), options, stdout, stderr)
    if options.output is not None:
        raise UsageError("--check writes no program; leave -o out")
    missing = missing_from_home(program, safe_z_mm=options.safe_z)
    said = "".join(f"{each.program}:{each.line}: {each.message}\n" for each in missing)
    nothing = f"{program.source}: starts and ends over program zero at the safe height\n"
    write_text(said or nothing, stdout)
    return NOT_SHOWN if missing else DONE


COMMAND = Command("home", "let a program start and end over its zero at a safe height", _add_arguments, _run)
