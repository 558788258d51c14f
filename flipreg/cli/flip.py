"""The command `flip`."""

import argparse
from typing import BinaryIO, TextIO

from flipreg.cli.arguments import datum
from flipreg.cli.command import Command
from flipreg.cli.opening import add_reading, opened
from flipreg.cli.options import add_flip, add_offset, add_output, add_program
from flipreg.cli.output import write_program

__all__ = ["COMMAND"]


def _add_arguments(parser: argparse.ArgumentParser) -> None:
    add_program(parser)
    add_flip(parser, required=True)
    parser.add_argument(
        "--keep-climb", action="store_true", help="run closed contours the other way round, so that climb stays climb"
    )
    add_offset(parser, "the datum")
    add_reading(parser)
    add_output(parser)


def _run(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    from flipreg.produce.isometries import FlipAxis
    from flipreg.produce.produce import flip

    axis = FlipAxis(options.axis)
    program = opened(options.program, options, stdin)
    if options.keep_climb:
        from flipreg.produce.climb import flip_keeping_climb as flip
    produced = flip(program, axis=axis, datum_mm=datum(options), offsets_mm=dict(options.offset))
    return write_program(produced, options, stdout, stderr)


COMMAND = Command("flip", "make the program for the other face", _add_arguments, _run)
