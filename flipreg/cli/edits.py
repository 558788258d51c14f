"""The commands of the shop edits: depth, home, join, split, hand. Read, call the library, write, return.

Streams and exit statuses are those of the command line.
"""

import argparse
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, TextIO

from flipreg.cli.exit_status import DONE, NOT_SHOWN
from flipreg.cli.opening import add_reading, opened
from flipreg.errors import UsageError

if TYPE_CHECKING:
    from flipreg.produce.produce import Produced
    from flipreg.produce.split import ToolPart
    from flipreg.rs274.read.program import Readable

__all__ = ["CommandLine", "add_edits"]

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
    add_flip : callable
        Adds the options that say how the blank is turned over.
    datum : callable
        Returns the datum that those options say.
    add_tool : callable
        Adds the option that names tools.
    tools : callable
        Returns the tool of each of so many programs, and tools by T number.
    """

    command: Callable[[str, Run, str], argparse.ArgumentParser]
    add_output: Callable[[argparse.ArgumentParser], None]
    write: Callable[["Produced", argparse.Namespace, BinaryIO, TextIO], int]
    length: Callable[[str], Decimal]
    positive: Callable[[str], Decimal]
    add_flip: Callable[[argparse.ArgumentParser], None]
    datum: Callable[[argparse.Namespace], tuple[Decimal, Decimal]]
    add_tool: Callable[[argparse.ArgumentParser], None]
    tools: Callable[[argparse.Namespace, int], tuple[list[float | None], dict[int, float]]]


def add_edits(line: CommandLine) -> None:
    """Add the commands."""
    _add_depth(line)
    _add_home(line)
    _add_join(line)
    _add_split(line)
    _add_hand(line)


def _add_depth(line: CommandLine) -> None:
    def run(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
        from flipreg.cli.depth import deepened

        return line.write(deepened(options, stdin), options, stdout, stderr)

    depth = line.command("depth", run, "move the floor of a pocket, slot, profile or hole to another depth")
    depth.add_argument("program", metavar="PROGRAM", help="a file, or - for standard input")
    floor = depth.add_mutually_exclusive_group(required=True)
    floor.add_argument("--floor", type=line.length, metavar="Z", help="where the floor shall be")
    floor.add_argument(
        "--measured", type=line.positive, metavar="T", help="measured thickness of the part that lies in the pocket"
    )
    floor.add_argument("--measured-part", metavar="PART=T", help="measured thickness of a fitted part of the job")
    part = depth.add_mutually_exclusive_group()
    part.add_argument("--planned", type=line.positive, metavar="T", help="its planned thickness: proud as planned")
    part.add_argument("--proud", type=line.length, metavar="H", help="how far it has to stand proud of the surface")
    depth.add_argument("--level", type=line.length, metavar="Z", help="where the floor that is meant is now")
    depth.add_argument(
        "--step-down",
        type=line.positive,
        metavar="S",
        help="largest step-down of new and moved passes; default: what the program takes itself at the place",
    )
    depth.add_argument("--top", type=line.length, metavar="Z", help="the surface of the wood; default 0")
    add_reading(depth)
    depth.add_argument("--job", metavar="JOB.toml", help="with --measured-part: the job that plans the part")
    depth.add_argument("--setup", metavar="NAME", help="with --measured-part: the setup that cuts its pocket")
    line.add_output(depth)


def _add_home(line: CommandLine) -> None:
    def run(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
        from flipreg.produce.home import home, missing_from_home

        program = opened(options.program, options, stdin)
        if not options.check:
            return line.write(home(program, safe_z_mm=options.safe_z), options, stdout, stderr)
        if options.output is not None:
            raise UsageError("--check writes no program; leave -o out")
        missing = missing_from_home(program, safe_z_mm=options.safe_z)
        said = missing or ("starts and ends over program zero at the safe height",)
        # A line is told as everywhere: file:line: what.
        places = (each.removeprefix("line ") if each.startswith("line ") else f" {each}" for each in said)
        stdout.write("".join(f"{program.source}:{each}\n" for each in places).encode())
        return NOT_SHOWN if missing else DONE

    home = line.command("home", run, "let a program start and end over its zero at a safe height")
    home.add_argument("program", metavar="PROGRAM", help="a file, or - for standard input")
    home.add_argument("--safe-z", type=line.positive, required=True, metavar="Z", help="the safe height")
    home.add_argument("--check", action="store_true", help="only say what is missing; exit status 1 if something is")
    add_reading(home)
    line.add_output(home)


def _add_join(line: CommandLine) -> None:
    def run(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
        from flipreg.produce.join import join

        if options.programs.count("-") > 1:
            raise UsageError("only one of the programs can be - : standard input can be read once")
        programs = [opened(name, options, stdin) for name in options.programs]
        if options.split_tools:
            if len(programs) != 1 or options.output in (None, "-"):
                raise UsageError("--split-tools takes one program, and -o FOLDER for the parts")
            return _split_into(options.output, options, programs[0], stderr)
        if len(programs) < 2:
            raise UsageError("name at least two programs to join")
        if options.output not in (None, "-") and any(_is_same_file(options.output, name) for name in options.programs):
            raise UsageError(f"{options.output} is one of the programs to join; name another file with -o")
        return line.write(join(programs, safe_z_mm=options.safe_z), options, stdout, stderr)

    join = line.command("join", run, "make one program of several with the same tool and zero")
    join.add_argument("programs", nargs="+", metavar="PROGRAM", help="in the order they are to run; one may be -")
    join.add_argument(
        "--safe-z", type=line.positive, metavar="Z", help="height between programs; default: the highest they go to"
    )
    join.add_argument(
        "--split-tools", action="store_true", help="the other way round: one program into one for each tool, as split"
    )
    add_reading(join)
    line.add_output(join)


def _is_same_file(one: str, other: str) -> bool:
    return other != "-" and Path(one).exists() and Path(other).exists() and Path(one).samefile(other)


def _add_split(line: CommandLine) -> None:
    def run(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
        program = opened(options.program, options, stdin)
        if options.into is not None:
            if options.output is not None:
                raise UsageError("--into names the folder of all parts; -o goes with --tool")
            return _split_into(options.into, options, program, stderr)
        from flipreg.produce.split import split_tools

        parts = split_tools(program, safe_z_mm=options.safe_z)
        wanted = [part for part in parts if part.tool == options.tool]
        if len(wanted) != 1:
            tools = ", ".join(f"T{part.tool}" for part in parts)
            found = f"T{options.tool} has {len(wanted)} parts; the program has {tools}"
            raise UsageError(f"{found}: --into writes them all")
        return line.write(wanted[0].produced, options, stdout, stderr)

    split = line.command("split", run, "make one program for each tool of a program")
    split.add_argument("program", metavar="PROGRAM", help="a file, or - for standard input")
    which = split.add_mutually_exclusive_group(required=True)
    which.add_argument("--tool", type=int, metavar="T", help="write the part of this tool")
    which.add_argument("--into", metavar="FOLDER", help="write all parts into this folder")
    split.add_argument(
        "--safe-z", type=line.positive, metavar="Z", help="height where parts end; default: the highest it goes to"
    )
    add_reading(split)
    line.add_output(split)


def _split_into(folder: str, options: argparse.Namespace, program: "Readable", stderr: TextIO) -> int:
    from flipreg.produce.split import split_tools

    parts = split_tools(program, safe_z_mm=options.safe_z)
    names = [_part_name(program.source, number, part) for number, part in enumerate(parts, 1)]
    return _write_into(folder, names, [part.produced for part in parts], stderr)


def _write_into(folder: str, names: list[str], made: list["Produced"], stderr: TextIO) -> int:
    """Write programs into a folder, all or none, and say so."""
    from flipreg.cli.files import write_into

    paths = write_into(folder, [(name, each.parts) for name, each in zip(names, made, strict=True)])
    for path, each in zip(paths, made, strict=True):
        stderr.write(f"{path}: written; {each.motions} motions proved, largest deviation {each.deviation} mm\n")
        for note in each.notes:
            stderr.write(f"{path}: {note}\n")
    return DONE


def _part_name(source: str, number: int, part: "ToolPart") -> str:
    path = Path(source)
    stem, suffix = (path.stem, path.suffix) if source != "<stdin>" else ("program", ".nc")
    return f"{stem}-{number}-T{part.tool}{suffix}"


def _add_hand(line: CommandLine) -> None:
    def run(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
        return _hand(line, options, (stdin, stdout, stderr))

    hand = line.command("hand", run, "make the programs of the mirrored part, a left-handed one of a right-handed")
    hand.add_argument("--front", nargs="+", required=True, metavar="PROGRAM", help="programs of the front")
    hand.add_argument("--back", nargs="+", required=True, metavar="PROGRAM", help="programs of the back")
    line.add_flip(hand)
    hand.add_argument(
        "--across", type=_line, required=True, metavar="x=C", help="mirror about the line x=C or y=C of the front"
    )
    hand.add_argument(
        "--tolerance", type=line.positive, required=True, metavar="T", help="largest deviation that is in register"
    )
    line.add_tool(hand)
    add_reading(hand)
    hand.add_argument("--thickness", type=line.positive, metavar="T", help="thickness of the blank")
    hand.add_argument("--keep-climb", action="store_true", help="run closed contours the other way round")
    hand.add_argument("--into", required=True, metavar="FOLDER", help="write the programs here, under their names")
    hand.add_argument("--json", action="store_true", help="the report of the check as one JSON object")


def _hand(line: CommandLine, options: argparse.Namespace, streams: tuple[BinaryIO, BinaryIO, TextIO]) -> int:
    import json

    from flipreg.produce.hand import Across, Direction, FlippedJob, other_hand
    from flipreg.produce.produce import FlipAxis
    from flipreg.report.json import to_json
    from flipreg.report.text import to_text

    stdin, stdout, stderr = streams
    names = [*options.front, *options.back]
    targets = _targets(names, Path(options.into))
    programs = [opened(name, options, stdin) for name in names]
    diameters, numbered = line.tools(options, len(programs))
    job = FlippedJob(
        tuple(programs[: len(options.front)]),
        tuple(programs[len(options.front) :]),
        FlipAxis(options.axis),
        line.datum(options),
        tuple(diameters),
        None if options.thickness is None else float(options.thickness),
        numbered,
    )
    direction = Direction.KEPT if options.keep_climb else Direction.MIRRORED
    hand = other_hand(job, Across(*options.across), tolerance_mm=float(options.tolerance), direction=direction)
    report = hand.report
    stdout.write((json.dumps(to_json(report), indent=2) + "\n" if options.json else to_text(report)).encode())
    if not report.in_register:
        stderr.write("the mirrored programs are not shown to be in register; nothing was written\n")
        return NOT_SHOWN
    return _write_into(options.into, [target.name for target in targets], [*hand.front, *hand.back], stderr)


def _targets(names: list[str], folder: Path) -> list[Path]:
    """Return where the programs go; two of one name, or one over its own source, can't be."""
    if names.count("-") > 1:
        raise UsageError("only one of the programs can be - : standard input can be read once")
    targets = [folder / ("stdin.nc" if name == "-" else Path(name).name) for name in names]
    for target, name in zip(targets, names, strict=True):
        if targets.count(target) > 1:
            raise UsageError(f"two programs are named {target.name}; they would overwrite each other in {folder}")
        if target.exists() and name != "-" and target.samefile(name):
            raise UsageError(f"{target} would overwrite its own source; name another folder")
    return targets


def _line(text: str) -> tuple[str, Decimal]:
    from flipreg.units import parse_length_mm

    letter, _, at = text.partition("=")
    try:
        if letter.strip().lower() not in ("x", "y"):
            raise UsageError(f"{text!r} is no line; expected x=C or y=C")
        return letter.strip().lower(), parse_length_mm(at)
    except UsageError as error:
        raise argparse.ArgumentTypeError(str(error)) from None
