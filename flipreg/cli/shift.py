"""The command `shift`."""

import argparse
from decimal import Decimal
from typing import BinaryIO, TextIO

from flipreg.cli.arguments import angle, point, point_or_space, positive
from flipreg.cli.command import Command
from flipreg.cli.opening import add_reading, opened
from flipreg.cli.options import add_offset, add_output, add_program
from flipreg.cli.output import write_program

__all__ = ["COMMAND"]


def _add_arguments(parser: argparse.ArgumentParser) -> None:
    add_program(parser)
    zero = (Decimal(0), Decimal(0))
    parser.add_argument(
        "--by", type=point_or_space, default=zero, metavar="X,Y[,Z]", help="how far to move; default 0,0,0"
    )
    parser.add_argument(
        "--turn", type=angle, default=Decimal(0), metavar="DEG", help="turn first, counter-clockwise; default 0"
    )
    parser.add_argument(
        "--chords", type=positive, metavar="T", help="write arcs that cannot be turned as chords within T"
    )
    parser.add_argument(
        "--spell-cycles", action="store_true", help="write canned cycles that cannot be turned as moves"
    )
    add_offset(parser, "the point to turn about")
    parser.add_argument("--about", type=point, default=zero, metavar="X,Y", help="the point to turn about; default 0,0")
    add_reading(parser)
    add_output(parser)


def _run(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
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
    return write_program(produced, options, stdout, stderr)


COMMAND = Command("shift", "move or turn a program in the plane", _add_arguments, _run)
