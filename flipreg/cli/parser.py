"""The command line: read, call the library, write, return.

Programs and reports go to standard output, all talk to standard error. Exit status 0: done, or in register;
1: the check ran and register is not shown; 2: the input cannot be used, and nothing is written.
"""

import argparse
import gc
import os
import sys
from collections.abc import Sequence
from typing import Any, BinaryIO, NoReturn, TextIO

from flipreg.cli.arguments import with_joined_values
from flipreg.cli.commands import commands
from flipreg.cli.exit_status import DONE, INTERRUPTED, UNUSABLE
from flipreg.cli.progress_bar import progress_bar
from flipreg.errors import FlipregError

__all__ = ["main", "run"]

_OBJECTS_BEFORE_COLLECTION = 200_000
"""New objects after which those that refer to each other in circles are looked for (chosen); Python's own is 700."""

_CAUTION = (
    "Try every program above the work first. flipreg compares programs; it does not know your machine, tools "
    "and workholding, and the machine maker's manual comes first."
)


def main(argv: Sequence[str], stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    """Run one command.

    Parameters
    ----------
    argv : sequence of str
        The arguments, without the program's name.
    stdin, stdout : binary streams
        Programs in and out.
    stderr : text stream
        All talk.

    Returns
    -------
    int
        The exit status.
    """
    try:
        arguments = with_joined_values(argv)
        try:
            options = _parser(arguments, stdout, stderr).parse_args(arguments)
        except _Finished as finished:
            stdout.flush()
            return finished.status
        with progress_bar(stdout, stderr) as (options.progress, out, err):
            status: int = options.run(options, stdin, out, err)
            out.flush()
    except FlipregError as error:
        if "options" in locals() and options.traceback:
            raise
        stderr.write(f"{error}\n")
        return UNUSABLE
    except BrokenPipeError:
        raise
    except (MemoryError, OSError, ImportError) as error:
        # Files tell their own troubles by name: what is left is standard output, and the machine itself.
        if ("options" in locals() and options.traceback) or (isinstance(error, ImportError) and not _no_memory(error)):
            raise
        stderr.write(f"{_exhausted(error)}\n")
        return UNUSABLE
    return status


def _no_memory(error: ImportError) -> bool:
    """Return whether a library could not be loaded for want of memory; the system's loader says it in words alone."""
    return any(words in str(error).lower() for words in ("failed to map segment", "cannot allocate memory"))


def _exhausted(error: MemoryError | OSError | ImportError) -> str:
    """Say what ran out, and what to do."""
    if not isinstance(error, OSError):
        return (
            "the memory of this machine is not enough for that, and nothing was written; close other programs, or work "
            "on fewer or shorter programs at a time"
        )
    reason = (error.strerror or str(error)).lower()
    return (
        f"standard output cannot be written: {reason}; what has arrived there is not whole, throw it away; "
        "make room, or write to another place"
    )


class _Finished(Exception):
    """The parser has said all there is to say: help, version, or what is wrong with the arguments."""

    def __init__(self, status: int) -> None:
        self.status = status


class _OfAnyWidth(argparse.HelpFormatter):
    """Formats what is not shown: argparse tries each argument, and to ask for a terminal's width takes long."""

    def __init__(self, prog: str) -> None:
        super().__init__(prog, width=80)


class _Parser(argparse.ArgumentParser):
    """argparse with the streams of `main`, and without leaving the process."""

    streams: tuple[BinaryIO, TextIO]

    def __init__(self, **options: Any) -> None:  # noqa: ANN401 - those of argparse
        super().__init__(**options, formatter_class=_OfAnyWidth)

    def exit(self, status: int = 0, message: str | None = None) -> NoReturn:
        if message:
            self.streams[1].write(message)
        raise _Finished(status)

    def error(self, message: str) -> NoReturn:
        self.formatter_class = argparse.HelpFormatter
        self.exit(UNUSABLE, f"{self.prog}: {message}\n{self.format_usage()}")

    def print_help(self, file: object = None) -> None:
        self.formatter_class = argparse.HelpFormatter
        self.streams[0].write(self.format_help().encode())


def _parser(arguments: Sequence[str], stdout: BinaryIO, stderr: TextIO) -> argparse.ArgumentParser:
    """Return the parser of the command that comes first, or of all commands, to list them, where none does.

    To load and build what is not asked for takes longer than to flip a short program. For the same reason only those
    have options that the arguments may name.
    """
    _Parser.streams = (stdout, stderr)
    parser = _Parser(
        prog="flipreg",
        description="Make two-sided CNC work come out in register.",
        epilog=_CAUTION,
    )
    parser.add_argument("--version", action=_Version, nargs=0, help="show the version and stop")
    parsers = parser.add_subparsers(metavar="COMMAND", required=True)
    for command in commands(arguments[0] if arguments else ""):
        what = command.what
        one = parsers.add_parser(
            command.name, help=what, description=f"{what[0].upper()}{what[1:]}.", epilog=_CAUTION
        )
        one.add_argument("--traceback", action="store_true", help="on an error, show where in flipreg it arose")
        one.set_defaults(run=command.run)
        if command.name in arguments:
            command.add_arguments(one)
    return parser


class _Version(argparse.Action):
    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        from importlib.metadata import PackageNotFoundError, version

        assert isinstance(parser, _Parser)
        try:
            found = version("flipreg")
        except PackageNotFoundError:
            found = "(run without being installed, so that its version is not known)"
        parser.streams[0].write(f"flipreg {found}\n".encode())
        parser.exit(DONE)


def run() -> int:
    """Run the command of this process; what is still in the buffer of standard output then is not to be written."""
    # Nothing here is a large system of linear equations: threads for it cost time at the start, and room that a
    # machine short of memory has not.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # Little here refers to itself in circles, and what loading makes stays: to look for it again and again takes long.
    gc.set_threshold(_OBJECTS_BEFORE_COLLECTION)
    try:
        status = main(sys.argv[1:], sys.stdin.buffer, sys.stdout.buffer, sys.stderr)
    except BrokenPipeError:
        # The reader of a pipe has gone; there is nobody left to tell.
        status = UNUSABLE
    except KeyboardInterrupt:
        status = INTERRUPTED
    return status
