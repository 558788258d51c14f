"""The command `marks`: what to draw on the blank and how far to jog, said or drawn."""

import argparse
from typing import BinaryIO, TextIO

from flipreg.cli.command import Command
from flipreg.cli.exit_status import DONE
from flipreg.cli.options import add_json
from flipreg.cli.output import write_drawing, write_text
from flipreg.errors import UsageError

__all__ = ["COMMAND"]


def _add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("job", metavar="JOB.toml", help="the job file")
    parser.add_argument("-o", dest="output", metavar="FILE", help="draw it instead: FILE.svg, FILE.pdf or FILE.png")
    parser.add_argument("--true-scale", action="store_true", help="draw both faces 1:1, tiled over A4 pages; pdf only")
    add_json(parser, "as one JSON object")


def _run(options: argparse.Namespace, _: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    from flipreg.align.marks import marking_sheet
    from flipreg.job.file.read import read_job
    from flipreg.report.json.bench import marks_json
    from flipreg.report.marks import marks_text

    if options.true_scale and options.output is None:
        raise UsageError("--true-scale is for a drawing; give -o FILE.pdf")
    sheet = marking_sheet(read_job(options.job))
    if options.output is not None:
        from flipreg.drawing.sheet import draw_sheet, draw_true_scale

        drawing = draw_true_scale(sheet, options.output) if options.true_scale else draw_sheet(sheet, options.output)
        write_drawing(drawing, options.output, stderr)
    if options.json or options.output is None:
        write_text(marks_json(sheet) if options.json else marks_text(sheet), stdout)
    return DONE


COMMAND = Command("marks", "say what to draw on the blank and how far to jog", _add_arguments, _run)
