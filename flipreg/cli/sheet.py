"""The command `sheet`: the bench sheet of a job, made of its check."""

import argparse
from typing import TYPE_CHECKING, BinaryIO, TextIO

from flipreg.cli.checked import checked_job
from flipreg.cli.command import Command
from flipreg.cli.exit_status import DONE, NOT_SHOWN
from flipreg.cli.opening import add_reading
from flipreg.cli.output import write_drawing

if TYPE_CHECKING:
    from flipreg.job.job import Job
    from flipreg.report.bench_sheet import FilePrint

__all__ = ["COMMAND"]


def _add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("job", metavar="JOB.toml", help="the job file")
    parser.add_argument("-o", dest="output", metavar="FILE.pdf", required=True, help="write the sheet here")
    parser.add_argument("--paper", choices=("a4", "letter"), default="a4", help="what it is printed on; a4 if not said")
    parser.add_argument("--templates", action="store_true", help="also sections of the part at its stations, 1:1")
    add_reading(parser)


def _run(options: argparse.Namespace, _: BinaryIO, __: BinaryIO, stderr: TextIO) -> int:
    from datetime import datetime

    from flipreg.cli.file_error import FileError
    from flipreg.cli.files import file_print
    from flipreg.drawing.bench import NOT_CHECKED, draw_bench
    from flipreg.drawing.paint import demand_pdf
    from flipreg.drawing.paper import Paper
    from flipreg.job.file.read import read_job
    from flipreg.report.bench_sheet import bench_sheet

    demand_pdf(options.output, "the bench sheet")
    before = file_print(options.job)
    job = read_job(options.job)
    prints = {options.job: before, **_programs(job)}
    report = checked_job(job, options)
    if {options.job: file_print(options.job), **_programs(job)} != prints:
        raise FileError(f"{options.job}: it or one of its programs was changed while it was checked; run it again")
    if options.progress is not None:
        options.progress("drawing", 0, 0)
    checked_on = datetime.now().strftime("%Y-%m-%d %H:%M")
    sheet = bench_sheet(job, report, files=prints, checked_on=checked_on)
    paper = Paper(options.paper)
    drawing = draw_bench(job, sheet, options.output, paper=paper, templates=options.templates)
    write_drawing(drawing, options.output, stderr)
    if not report.passes:
        stderr.write(f"{NOT_CHECKED} stands across it: flipreg check {options.job} says why\n")
    return DONE if report.passes else NOT_SHOWN


def _programs(job: "Job") -> "dict[str, FilePrint]":
    from flipreg.cli.files import file_print

    return {program.file: file_print(program.file) for setup in job.setups for program in setup.programs}


COMMAND = Command("sheet", "check a job, and draw what is taken to the machine", _add_arguments, _run)
