"""The command line: read, call the library, write, return.

Programs and reports go to standard output, all talk to standard error. Exit status 0: done, or in register;
1: the check ran and register is not shown; 2: the input cannot be used, and nothing is written.
"""

import argparse
import sys
from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, BinaryIO, NoReturn, TextIO

from flipreg.bar import progress_bar
from flipreg.editing import CommandLine, add_edits
from flipreg.errors import FlipregError, UsageError
from flipreg.length import parse_length_mm, parse_lengths_mm

if TYPE_CHECKING:
    from flipreg.job.machine import Machine
    from flipreg.produce import Produced

__all__ = ["DONE", "NOT_SHOWN", "UNUSABLE", "main"]

DONE, NOT_SHOWN, UNUSABLE = 0, 1, 2
"""Exit statuses."""

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
        options = _parser(stdout, stderr).parse_args(_with_joined_values(argv))
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
    from flipreg.files import open_program
    from flipreg.produce import FlipAxis, flip

    axis = FlipAxis(options.axis)
    program = open_program(options.program, stdin, progress=options.progress)
    if options.keep_climb:
        from flipreg.edit.climb import flip_keeping_climb as flip
    produced = flip(program, axis=axis, datum_mm=_datum(options), offsets_mm=dict(options.offset))
    return _write(produced, options, stdout, stderr)


def _shift(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    from flipreg.files import open_program
    from flipreg.produce import shift

    by_mm = options.by if len(options.by) == 3 else (*options.by, Decimal(0))
    program = open_program(options.program, stdin, progress=options.progress)
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
    from flipreg.files import open_program
    from flipreg.render.summary import summary_json, summary_text
    from flipreg.rs274.state import BlockDelete
    from flipreg.verify.summary import summarise

    machine = None if options.job is None else _machine_of(options.job)
    program = open_program(options.program, stdin, progress=options.progress)
    summary = summarise(program, block_delete=BlockDelete(options.block_delete), machine=machine)
    stdout.write((summary_json(summary) if options.json else summary_text(summary)).encode())
    return DONE


def _machine_of(job_file: str) -> "Machine":
    from flipreg.job.read import read_job

    machine = read_job(job_file).machine
    if machine is None or machine.rapid_mm_per_min is None:
        raise UsageError(f"{job_file} says nothing about time: its machine table needs rapid and acceleration")
    return machine


def _check(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    import json

    from flipreg.files import open_program
    from flipreg.produce import FlipAxis, flip_isometry
    from flipreg.render.json import to_json
    from flipreg.render.text import to_text
    from flipreg.rs274.state import BlockDelete
    from flipreg.verify.check import check
    from flipreg.verify.summary import face_program

    if len(options.programs) == 1 and options.programs[0].endswith(".toml"):
        return _check_job(options, stdout, stderr)
    if options.picture is not None:
        raise UsageError("--picture shows a job; give one JOB.toml")
    if options.tolerance is None:
        raise UsageError("say with --tolerance T which deviation is still in register")
    if options.axis is None and (options.at, options.datum) != (None, None):
        raise UsageError("--at and --datum say where the flip axis lies; give --axis x or --axis y with them")
    front, back = _faces(options)
    if (*front, *back).count("-") > 1:
        raise UsageError("only one of the programs can be - : standard input can be read once")
    tools = _tools(options, len(front) + len(back))
    programs = [
        face_program(
            open_program(name, stdin, progress=options.progress),
            tool_diameter_mm=tool,
            block_delete=BlockDelete(options.block_delete),
        )
        for name, tool in zip((*front, *back), tools, strict=True)
    ]
    flip = None
    if (options.at, options.datum) != (None, None):
        flip = flip_isometry(FlipAxis(options.axis), _datum(options))
    if options.progress is not None:
        options.progress("comparing", 0, 0)
    report = check(
        programs[: len(front)],
        programs[len(front) :],
        flip=flip,
        axis=options.axis,
        tolerance_mm=float(options.tolerance),
        thickness_mm=None if options.thickness is None else float(options.thickness),
    )
    stdout.write((json.dumps(to_json(report), indent=2) + "\n" if options.json else to_text(report)).encode())
    return DONE if report.in_register else NOT_SHOWN


def _check_job(options: argparse.Namespace, stdout: BinaryIO, stderr: TextIO) -> int:
    import json
    from io import BytesIO

    from flipreg.files import open_program, replace_file
    from flipreg.job.read import read_job
    from flipreg.render.job import job_json, job_text
    from flipreg.verify.job_check import check_job
    from flipreg.verify.summary import face_program

    given = {"--front": options.front, "--back": options.back, "--axis": options.axis, "--at": options.at}
    given |= {"--datum": options.datum, "--tolerance": options.tolerance, "--tool": options.tool or None}
    given |= {"--thickness": options.thickness}
    said = [name for name, value in given.items() if value is not None]
    if said:
        raise UsageError(f"{', '.join(said)}: the job file says that; leave it out")
    if options.picture is not None:
        from flipreg.render.paint import file_format

        file_format(options.picture)
    job = read_job(options.programs[0])
    report = check_job(
        job,
        read=lambda part, tool: face_program(
            open_program(part.file, BytesIO(), progress=options.progress), tool_diameter_mm=tool
        ),
        progress=options.progress,
    )
    shown = json.dumps(job_json(report), indent=2) + "\n" if options.json else job_text(report)
    if options.picture is not None:
        from flipreg.render.picture import draw_check

        if options.progress is not None:
            options.progress("drawing", 0, 0)
        drawing = draw_check(job, report, options.picture)
        replace_file(options.picture, [drawing.data])
        for note in drawing.notes:
            stderr.write(f"{options.picture}: {note}\n")
        stderr.write(f"{options.picture}: written; {drawing.pages} {'page' if drawing.pages == 1 else 'pages'}\n")
    stdout.write(shown.encode())
    return DONE if report.in_register and not report.fails else NOT_SHOWN


def _touch(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    from flipreg.bench import touch

    return touch(options, stdin, stdout, stderr, write=lambda produced: _write(produced, options, stdout, stderr))


def _marks(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    from flipreg.bench import marks

    return marks(options, stdin, stdout, stderr)


def _budget(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    from flipreg.bench import budget

    return budget(options, stdin, stdout, stderr)


def _faces(options: argparse.Namespace) -> tuple[list[str], list[str]]:
    if options.front or options.back:
        if options.programs:
            raise UsageError("give either FRONT BACK, or --front ... --back ..., not both")
        if not (options.front and options.back):
            raise UsageError("--front and --back go together: name the programs of both faces")
        return options.front, options.back
    if len(options.programs) != 2:
        raise UsageError(f"expected two programs, FRONT and BACK, got {len(options.programs)}")
    return options.programs[:1], options.programs[1:]


def _tools(options: argparse.Namespace, count: int) -> list[float | None]:
    """Return each program's tool: one for all, or one for each in the order of the programs."""
    tools = [float(tool) for tool in options.tool]
    if not tools:
        return [None] * count
    if len(tools) == 1:
        return [tools[0]] * count
    if len(tools) != count:
        raise UsageError(f"{len(tools)} tools for {count} programs; give --tool once for all, or one for each program")
    return [*tools]


def _datum(options: argparse.Namespace) -> tuple[Decimal, Decimal]:
    if options.datum is not None:
        x, y = options.datum
        return x, y
    if options.at is None:
        raise UsageError("say where the flip axis lies: --at C (the line x = C or y = C) or --datum X,Y")
    return (2 * options.at, Decimal(0)) if options.axis == "y" else (Decimal(0), 2 * options.at)


def _write(produced: "Produced", options: argparse.Namespace, stdout: BinaryIO, stderr: TextIO) -> int:
    if options.output is None or options.output == "-":
        stdout.writelines(produced.parts)
        stdout.flush()
        where = "standard output"
    else:
        from flipreg.files import replace_file

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
    bounds.add_argument("--json", action="store_true", help="as one JSON object")

    flip = _command(commands, "flip", _flip, "make the program for the other face")
    flip.add_argument("program", metavar="PROGRAM", help="a file, or - for standard input")
    _add_flip(flip, required=True)
    flip.add_argument(
        "--keep-climb", action="store_true", help="run closed contours the other way round, so that climb stays climb"
    )
    _add_offset(flip, "the datum")
    _add_output(flip)

    shift = _command(commands, "shift", _shift, "move or turn a program in the plane")
    shift.add_argument("program", metavar="PROGRAM", help="a file, or - for standard input")
    zero = (Decimal(0), Decimal(0))
    shift.add_argument(
        "--by", type=_point_or_space, default=zero, metavar="X,Y[,Z]", help="how far to move; default 0,0,0"
    )
    shift.add_argument(
        "--turn", type=_angle, default=Decimal(0), metavar="DEG", help="turn first, counter-clockwise; default 0"
    )
    shift.add_argument(
        "--chords", type=_positive, metavar="T", help="write arcs that cannot be turned as chords within T"
    )
    shift.add_argument("--spell-cycles", action="store_true", help="write canned cycles that cannot be turned as moves")
    _add_offset(shift, "the point to turn about")
    shift.add_argument("--about", type=_point, default=zero, metavar="X,Y", help="the point to turn about; default 0,0")
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
        "--tolerance", type=_positive, metavar="T", help="largest deviation that is in register; needed without a job"
    )
    _add_tool(check)
    _add_block_delete(check)
    check.add_argument("--thickness", type=_positive, metavar="T", help="thickness of the blank")
    check.add_argument("--json", action="store_true", help="the report as one JSON object")
    check.add_argument(
        "--picture", metavar="FILE", help="of a job, draw what was found as well: FILE.png, FILE.svg or FILE.pdf"
    )
    _add_bench(commands)
    add_edits(
        CommandLine(
            command=lambda name, run, what: _command(commands, name, run, what),
            add_output=_add_output,
            write=_write,
            length=_length,
            positive=_positive,
            add_flip=lambda parser: _add_flip(parser, required=True),
            datum=_datum,
            add_tool=_add_tool,
            tools=_tools,
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
    where.add_argument("--at", type=_length, metavar="C", help="the axis is the line x = C (axis y) or y = C (axis x)")
    where.add_argument(
        "--datum", type=_point, metavar="X,Y", help="the point, in the front's numbers, that is zero for the back"
    )


def _add_offset(parser: argparse.ArgumentParser, what: str) -> None:
    parser.add_argument(
        "--offset",
        type=_offset,
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
        type=_size,
        action="append",
        default=[],
        metavar="D",
        help="cutting diameter; once for all programs, or once for each, front first",
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


def _argument(text: str, *, positive: bool = False, zero: bool = True) -> Decimal:
    try:
        length = parse_length_mm(text)
    except UsageError as error:
        raise argparse.ArgumentTypeError(str(error)) from None
    if positive and (length < 0 or (not zero and not length)):
        raise argparse.ArgumentTypeError(f"{text!r} has to be {'0 or more' if zero else 'more than 0'}")
    return length


def _length(text: str) -> Decimal:
    return _argument(text)


def _size(text: str) -> Decimal:
    return _argument(text, positive=True)


def _positive(text: str) -> Decimal:
    return _argument(text, positive=True, zero=False)


def _point(text: str) -> tuple[Decimal, ...]:
    return _lengths(text, (2,))


def _offset(text: str) -> tuple[str, tuple[Decimal, ...]]:
    name, equals, point = text.partition("=")
    if not equals:
        raise argparse.ArgumentTypeError(f"{text!r} is not of the form G55=X,Y")
    return name.strip(), _point(point)


def _point_or_space(text: str) -> tuple[Decimal, ...]:
    return _lengths(text, (2, 3))


def _lengths(text: str, counts: tuple[int, ...]) -> tuple[Decimal, ...]:
    try:
        return parse_lengths_mm(text, counts=counts)
    except UsageError as error:
        raise argparse.ArgumentTypeError(str(error)) from None


def _angle(text: str) -> Decimal:
    try:
        angle = Decimal(text)
    except ArithmeticError:
        raise argparse.ArgumentTypeError(f"{text!r} is not an angle in degrees") from None
    if not angle.is_finite() or abs(angle) > 360:
        raise argparse.ArgumentTypeError(f"{text!r} is not an angle from -360 to 360 degrees")
    return angle


_TAKES_NUMBERS = (
    *("--at", "--datum", "--by", "--turn", "--about", "--tolerance", "--tool", "--thickness", "--chords"),
    *("--floor", "--level", "--top", "--step-down", "--measured", "--planned", "--proud", "--safe-z", "--across"),
)


def _with_joined_values(argv: Sequence[str]) -> list[str]:
    """Return the arguments with `--datum -5,3` as `--datum=-5,3`: argparse takes -5,3 for an option."""
    joined: list[str] = []
    for argument in argv:
        if joined and joined[-1] in _TAKES_NUMBERS and argument[:1] == "-" and argument[1:2] in tuple("0123456789."):
            joined[-1] = f"{joined[-1]}={argument}"
        else:
            joined.append(argument)
    return joined


def run() -> int:
    """Run the command of this process."""
    try:
        return main(sys.argv[1:], sys.stdin.buffer, sys.stdout.buffer, sys.stderr)
    except BrokenPipeError:
        # The reader of a pipe has gone; there is nobody left to tell.
        return UNUSABLE
    except KeyboardInterrupt:
        return 130
