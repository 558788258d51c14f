"""The command line: read, call the library, write, return.

Programs and reports go to standard output, all talk to standard error. Exit status 0: done, or in register;
1: the check ran and register is not shown; 2: the input cannot be used, and nothing is written.
"""

import argparse
import sys
from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, BinaryIO, NoReturn, TextIO

from flipreg.cli.arguments import (
    angle,
    datum,
    length,
    offset,
    point,
    point_or_space,
    positive,
    tool,
    tools,
    with_joined_values,
)
from flipreg.cli.edits import CommandLine, add_edits
from flipreg.cli.exit_status import DONE, UNUSABLE
from flipreg.cli.opening import add_reading, opened
from flipreg.cli.progress_bar import progress_bar
from flipreg.errors import FlipregError, UsageError

if TYPE_CHECKING:
    from flipreg.job.machine import Machine
    from flipreg.produce.produce import Produced

__all__ = ["main"]

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
        options = _parser(stdout, stderr).parse_args(with_joined_values(argv))
        with progress_bar(stdout, stderr) as (options.progress, out, err):
            status: int = options.run(options, stdin, out, err)
    except _Finished as finished:
        return finished.status
    except FlipregError as error:
        if "options" in locals() and options.traceback:
            raise
        stderr.write(f"{error}\n")
        return UNUSABLE
    return status


def _flip(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    from flipreg.produce.produce import FlipAxis, flip

    axis = FlipAxis(options.axis)
    program = opened(options.program, options, stdin)
    if options.keep_climb:
        from flipreg.produce.climb import flip_keeping_climb as flip
    produced = flip(program, axis=axis, datum_mm=datum(options), offsets_mm=dict(options.offset))
    return _write(produced, options, stdout, stderr)


def _shift(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    from flipreg.produce.produce import shift

    by_mm = options.by if len(options.by) == 3 else (*options.by, Decimal(0))
    program = opened(options.program, options, stdin)
    produced = shift(
        program,
        by_mm=by_mm,
        turn_deg=float(options.turn),
        about_mm=options.about,
        offsets_mm=dict(options.offset),
        chords_mm=None if options.chords is None else float(options.chords),
        spell_cycles=options.spell_cycles,
    )
    return _write(produced, options, stdout, stderr)


def _bounds(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    from flipreg.program.summary import summarise
    from flipreg.report.summary import summary_json, summary_text
    from flipreg.rs274.interpret.state import BlockDelete

    machine = None if options.job is None else _machine_of(options.job)
    program = opened(options.program, options, stdin)
    summary = summarise(program, block_delete=BlockDelete(options.block_delete), machine=machine)
    stdout.write((summary_json(summary) if options.json else summary_text(summary)).encode())
    return DONE


def _machine_of(job_file: str) -> "Machine":
    from flipreg.job.file.read import read_job

    machine = read_job(job_file).machine
    if machine is None or machine.rapid_mm_per_min is None:
        raise UsageError(f"{job_file} says nothing about time: its machine table needs rapid and acceleration")
    return machine


def _check(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    from flipreg.cli.check import check

    return check(options, stdin, stdout, stderr)


def _touch(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    from flipreg.cli.bench import touch

    return touch(options, stdin, stdout, stderr, write=lambda produced: _write(produced, options, stdout, stderr))


def _marks(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    from flipreg.cli.bench import marks

    return marks(options, stdin, stdout, stderr)


def _budget(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    from flipreg.cli.bench import budget

    return budget(options, stdin, stdout, stderr)


def _write(produced: "Produced", options: argparse.Namespace, stdout: BinaryIO, stderr: TextIO) -> int:
    if options.output is None or options.output == "-":
        stdout.writelines(produced.parts)
        stdout.flush()
        where = "standard output"
    else:
        from flipreg.cli.files import replace_file

        replace_file(options.output, produced.parts)
        where = options.output
    stderr.write(f"{where}: written; {produced.motions} motions proved, largest deviation {produced.deviation} mm\n")
    for note in produced.notes:
        stderr.write(f"{note}\n")
    return DONE


class _Finished(Exception):
    """The parser has said all there is to say: help, version, or what is wrong with the arguments."""

    def __init__(self, status: int) -> None:
        self.status = status


class _Parser(argparse.ArgumentParser):
    """argparse with the streams of `main`, and without leaving the process."""

    streams: tuple[BinaryIO, TextIO]

    def exit(self, status: int = 0, message: str | None = None) -> NoReturn:
        if message:
            self.streams[1].write(message)
        raise _Finished(status)

    def error(self, message: str) -> NoReturn:
        self.exit(UNUSABLE, f"{self.prog}: {message}\n{self.format_usage()}")

    def print_help(self, file: object = None) -> None:
        self.streams[0].write(self.format_help().encode())


def _parser(stdout: BinaryIO, stderr: TextIO) -> argparse.ArgumentParser:
    _Parser.streams = (stdout, stderr)
    parser = _Parser(
        prog="flipreg",
        description="Make two-sided CNC work come out in register.",
        epilog=_CAUTION,
    )
    parser.add_argument("--version", action=_Version, nargs=0, help="show the version and stop")
    commands = parser.add_subparsers(metavar="COMMAND", required=True)

    bounds = _command(commands, "bounds", _bounds, "show what a program does: extents, tools, feeds, time")
    bounds.add_argument("program", metavar="PROGRAM", help="a file, or - for standard input")
    _add_block_delete(bounds)
    bounds.add_argument("--job", metavar="JOB", help="a job file; tell the time on its machine")
    add_reading(bounds)
    bounds.add_argument("--json", action="store_true", help="as one JSON object")

    flip = _command(commands, "flip", _flip, "make the program for the other face")
    flip.add_argument("program", metavar="PROGRAM", help="a file, or - for standard input")
    _add_flip(flip, required=True)
    flip.add_argument(
        "--keep-climb", action="store_true", help="run closed contours the other way round, so that climb stays climb"
    )
    _add_offset(flip, "the datum")
    add_reading(flip)
    _add_output(flip)

    shift = _command(commands, "shift", _shift, "move or turn a program in the plane")
    shift.add_argument("program", metavar="PROGRAM", help="a file, or - for standard input")
    zero = (Decimal(0), Decimal(0))
    shift.add_argument(
        "--by", type=point_or_space, default=zero, metavar="X,Y[,Z]", help="how far to move; default 0,0,0"
    )
    shift.add_argument(
        "--turn", type=angle, default=Decimal(0), metavar="DEG", help="turn first, counter-clockwise; default 0"
    )
    shift.add_argument(
        "--chords", type=positive, metavar="T", help="write arcs that cannot be turned as chords within T"
    )
    shift.add_argument("--spell-cycles", action="store_true", help="write canned cycles that cannot be turned as moves")
    _add_offset(shift, "the point to turn about")
    shift.add_argument("--about", type=point, default=zero, metavar="X,Y", help="the point to turn about; default 0,0")
    add_reading(shift)
    _add_output(shift)

    check = _command(
        commands, "check", _check, "say whether a front and a back, or all setups of a job, are in register"
    )
    check.add_argument(
        "programs", nargs="*", metavar="PROGRAM", help="FRONT and BACK, one of them may be -; or one JOB.toml"
    )
    check.add_argument("--front", nargs="+", metavar="PROGRAM", help="programs of the front")
    check.add_argument("--back", nargs="+", metavar="PROGRAM", help="programs of the back")
    _add_flip(check, required=False)
    check.add_argument(
        "--tolerance", type=positive, metavar="T", help="largest deviation that is in register; needed without a job"
    )
    _add_tool(check)
    _add_block_delete(check)
    add_reading(check)
    check.add_argument("--thickness", type=positive, metavar="T", help="thickness of the blank")
    check.add_argument("--json", action="store_true", help="the report as one JSON object")
    check.add_argument(
        "--picture", metavar="FILE", help="draw what was found as well: FILE.png, FILE.svg or FILE.pdf"
    )
    _add_bench(commands)
    add_edits(
        CommandLine(
            command=lambda name, run, what: _command(commands, name, run, what),
            add_output=_add_output,
            write=_write,
            length=length,
            positive=positive,
            add_flip=lambda parser: _add_flip(parser, required=True),
            datum=datum,
            add_tool=_add_tool,
            tools=tools,
        )
    )
    return parser


def _add_bench(commands: "argparse._SubParsersAction[_Parser]") -> None:
    marks = _command(commands, "marks", _marks, "say what to draw on the blank and how far to jog")
    marks.add_argument("job", metavar="JOB.toml", help="the job file")
    marks.add_argument("-o", dest="output", metavar="FILE", help="draw it instead: FILE.svg, FILE.pdf or FILE.png")
    marks.add_argument("--true-scale", action="store_true", help="draw both faces 1:1, tiled over A4 pages; pdf only")
    marks.add_argument("--json", action="store_true", help="as one JSON object")

    touch = _command(commands, "touch", _touch, "fit touched marks to the plan, and say what to do")
    touch.add_argument("job", metavar="JOB.toml", help="the job file")
    touch.add_argument("--setup", required=True, metavar="NAME", help="the setup that lies on the table")
    touch.add_argument(
        "touches", nargs="+", metavar="MARK=X,Y", help="where the pointer found a mark, in the program's numbers"
    )
    touch.add_argument("--apply", metavar="PROGRAM", help="move this program to where the blank lies; - reads it")
    touch.add_argument("-o", dest="output", metavar="FILE", help="write the moved program here, in one step")
    touch.add_argument("--json", action="store_true", help="the report as one JSON object")

    budget = _command(commands, "budget", _budget, "say how far apart the faces can end up")
    budget.add_argument("job", metavar="JOB.toml", help="the job file")
    budget.add_argument("--json", action="store_true", help="the report as one JSON object")


def _command(
    commands: "argparse._SubParsersAction[_Parser]", name: str, run: object, what: str
) -> argparse.ArgumentParser:
    parser = commands.add_parser(name, help=what, description=f"{what[0].upper()}{what[1:]}.", epilog=_CAUTION)
    parser.add_argument("--traceback", action="store_true", help="on an error, show where in flipreg it arose")
    parser.set_defaults(run=run)
    return parser


def _add_flip(parser: argparse.ArgumentParser, *, required: bool) -> None:
    without = "" if required else "; what is not given of axis and place is found from what both faces share"
    parser.add_argument(
        "--axis",
        choices=("x", "y"),
        required=required,
        help=f"flip axis: y like turning a page, x end over end{without}",
    )
    where = parser.add_mutually_exclusive_group()
    where.add_argument("--at", type=length, metavar="C", help="the axis is the line x = C (axis y) or y = C (axis x)")
    where.add_argument(
        "--datum", type=point, metavar="X,Y", help="the point, in the front's numbers, that is zero for the back"
    )


def _add_offset(parser: argparse.ArgumentParser, what: str) -> None:
    parser.add_argument(
        "--offset",
        type=offset,
        action="append",
        default=[],
        metavar="G55=X,Y",
        help=f"{what} in the numbers of another work offset; once for each",
    )


def _add_block_delete(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--block-delete",
        choices=("on", "off"),
        default="off",
        help="the machine's switch: on leaves lines that start with / out; default off",
    )


def _add_tool(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--tool",
        type=tool,
        action="append",
        default=[],
        metavar="D|Tn=D",
        help="cutting diameter; once for all programs, or once for each, front first; of programs that change tools "
        "by T number: --tool T1=6 --tool T3=30",
    )


def _add_output(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("-o", dest="output", metavar="FILE", help="write here, in one step, instead of standard output")


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
    """Run the command of this process."""
    try:
        return main(sys.argv[1:], sys.stdin.buffer, sys.stdout.buffer, sys.stderr)
    except BrokenPipeError:
        # The reader of a pipe has gone; there is nobody left to tell.
        return UNUSABLE
    except KeyboardInterrupt:
        return 130
