"""Programs opened for a command, as its options and its job say that they are to be read."""

import argparse
from collections.abc import Sequence
from typing import TYPE_CHECKING, BinaryIO

from flipreg.errors import UsageError
from flipreg.units import Length, plain

if TYPE_CHECKING:
    from flipreg.job.job import Job
    from flipreg.rs274.read.program import Readable

__all__ = ["add_reading", "inch_option", "opened", "refuse_two_from_standard_input"]


def add_reading(parser: argparse.ArgumentParser, *, units_also: str = "") -> None:
    """Add the options that say how a program is read: its unit, with what else that is the unit of, and its dialect."""
    parser.add_argument(
        "--units", choices=("mm", "inch"), help=f"what the numbers of a program without G20 and G21 are{units_also}"
    )
    parser.add_argument(
        "--strict", action="store_true", help="hold the program to the letter of RS-274/NGC (NISTIR 6556)"
    )
    parser.add_argument(
        "--passive",
        action="append",
        default=[],
        metavar="CODE",
        help="a code of your machine that moves nothing, such as M25; may be given again",
    )


def inch_option(options: argparse.Namespace) -> bool | None:
    """Return whether `--units` says inches; None where it isn't given."""
    return None if options.units is None else bool(options.units == "inch")


def refuse_two_from_standard_input(names: Sequence[str]) -> None:
    """Raise a `UsageError` where more than one program is `-`."""
    if names.count("-") > 1:
        raise UsageError("only one of the programs can be - : standard input can be read once")


def opened(name: str, options: argparse.Namespace, stdin: BinaryIO, *, job: "Job | None" = None) -> "Readable":
    """Return the program of a path, or of standard input for `-`.

    Parameters
    ----------
    name : str
        The path.
    options : Namespace
        All options of the command.
    stdin : binary stream
        Standard input.
    job : Job, optional
        The job that the program is of: its unit is that of programs that don't say theirs, unless `--units` is given,
        and its passive codes come besides those of `--passive`.

    Raises
    ------
    UsageError
        If a passive code is no machine's own, or if an option is a length with a unit, and nobody knows in which unit
        the program's numbers are.
    """
    from flipreg.cli.program_file import open_program
    from flipreg.rs274.read.dialect import Dialect, passive_codes
    from flipreg.rs274.read.program import Units

    unit = getattr(options, "units", None)
    if unit is None and job is not None:
        unit = "inch" if job.inch else "mm"
    of_job = () if job is None else job.passive
    codes = passive_codes([*of_job, *getattr(options, "passive", [])])
    program = open_program(
        name,
        stdin,
        progress=options.progress,
        units=None if unit is None else Units(unit),
        dialect=Dialect(strict=getattr(options, "strict", False), passive=codes),
    )
    if program.units is None and (length := _with_unit(options)) is not None:
        from flipreg.rs274.interpret.units import line_without_units

        line = line_without_units(program)
        if line:
            settle = "say --units mm or --units inch, or write" if hasattr(options, "units") else "write"
            raise UsageError(
                f"{program.source}:{line}: no G20 or G21 before this line, so that nobody knows what "
                f"{plain(length)} mm are in its numbers; {settle} G20 or G21 into the program"
            )
    return program


def _with_unit(options: argparse.Namespace) -> Length | None:
    """Return a length among the options that was given with a unit; zero is zero in any."""
    values = list(vars(options).values())
    while values:
        value = values.pop(0)
        if isinstance(value, Length) and value.unit and value:
            return value
        if isinstance(value, list | tuple):
            values += value
    return None
