"""The command `draft`: a job file from the programs of a part."""

import argparse
import os
from typing import BinaryIO, TextIO

from flipreg.cli.command import Command
from flipreg.cli.exit_status import DONE
from flipreg.cli.opening import add_reading, opened
from flipreg.errors import UsageError
from flipreg.units import parse_length_mm

__all__ = ["COMMAND"]


def _add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--front", nargs="+", metavar="PROGRAM", required=True, help="programs of the front, in order")
    parser.add_argument("--back", nargs="+", metavar="PROGRAM", default=[], help="programs of the back, in order")
    parser.add_argument(
        "--blank", type=_blank, metavar="L,W,T", help="length, width and thickness of the blank; guessed if left out"
    )
    add_reading(parser)
    parser.add_argument(
        "-o", dest="output", metavar="JOB.toml", help="write it here instead of standard output; never over a file"
    )


def _run(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    from flipreg.cli.files import refuse_existing, write_new_file
    from flipreg.drafting.draft import draft
    from flipreg.job.file.write import draft_text
    from flipreg.program.face_program import face_program

    if "-" in (*options.front, *options.back):
        raise UsageError("a job file names its programs: standard input has no name")
    output = None if options.output in (None, "-") else options.output
    if output is not None:
        refuse_existing(output)
    faces = [face_program(opened(name, options, stdin)) for name in (*options.front, *options.back)]
    count = len(options.front)
    job = draft(
        faces[:count],
        faces[count:],
        name=_name(output),
        blank_mm=options.blank,
        units_stated=options.units is not None or any(program.says_unit for program in faces),
        passive=options.passive,
    )
    text = draft_text(job, folder=os.path.dirname(output or "")).encode()
    if output is None:
        stdout.write(text)
        return DONE
    write_new_file(output, text)
    stderr.write(
        f"{output}: written; {len(job.guesses)} values are guesses, marked '# check:' in it. "
        f"Next: flipreg check {output}\n"
    )
    return DONE


def _blank(text: str) -> tuple[float, float, float]:
    sizes = text.split(",")
    if len(sizes) != 3:
        has = "1 length" if len(sizes) == 1 else f"{len(sizes)} lengths"
        raise argparse.ArgumentTypeError(f"{text!r} has {has}; expected length, width and thickness")
    try:
        length, width, thickness = (float(parse_length_mm(size)) for size in sizes)
    except UsageError as error:
        raise argparse.ArgumentTypeError(str(error)) from None
    if min(length, width, thickness) <= 0.0:
        raise argparse.ArgumentTypeError(f"{text!r}: the sizes of a blank are more than 0")
    return length, width, thickness


def _name(output: str | None) -> str:
    """Return a name for the part: the job file's own, or its folder's where that says nothing."""
    folder, file = os.path.split(os.path.abspath(output or "job.toml"))
    stem = os.path.splitext(file)[0]
    said = os.path.basename(folder) if stem == "job" else stem
    return said.strip() or "part"


COMMAND = Command("draft", "write a job file from programs, each guess marked", _add_arguments, _run)
