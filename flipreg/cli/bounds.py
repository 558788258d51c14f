"""The command `bounds`."""

import argparse
from typing import TYPE_CHECKING, BinaryIO, TextIO

from flipreg.cli.command import Command
from flipreg.cli.exit_status import DONE
from flipreg.cli.opening import add_reading, inch_option, opened
from flipreg.cli.options import add_block_delete, add_json, add_program
from flipreg.cli.output import write_text
from flipreg.units import shown_in

if TYPE_CHECKING:
    from flipreg.job.machine import Machine

__all__ = ["COMMAND"]


def _add_arguments(parser: argparse.ArgumentParser) -> None:
    add_program(parser)
    add_block_delete(parser)
    parser.add_argument(
        "--job", metavar="JOB", help="a job file; tell the time on its machine, and lengths in its unit"
    )
    add_reading(parser, units_also="; and, without a job, what lengths are told in")
    add_json(parser, "as one JSON object")


def _run(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, stderr: TextIO) -> int:
    from flipreg.program.summary import summarise
    from flipreg.report.json.program import summary_json
    from flipreg.report.summary import summary_text
    from flipreg.rs274.interpret.state import BlockDelete

    machine, inch = (None, inch_option(options)) if options.job is None else _machine_of(options.job, stderr)
    program = opened(options.program, options, stdin)
    summary = summarise(program, block_delete=BlockDelete(options.block_delete), machine=machine)
    with shown_in(inch=summary.unit == "inch" if inch is None else inch):
        text = summary_json(summary) if options.json else summary_text(summary)
    write_text(text, stdout)
    return DONE


def _machine_of(job_file: str, stderr: TextIO) -> "tuple[Machine | None, bool]":
    """Return a job's machine, None if it says nothing about time, and whether the job is in inches."""
    from flipreg.job.file.read import read_job

    job = read_job(job_file)
    machine = job.machine
    if machine is None or machine.rapid_mm_per_min is None:
        stderr.write(f"{job_file} says nothing about time: its machine table needs rapid and acceleration\n")
        return None, job.inch
    return machine, job.inch


COMMAND = Command("bounds", "show what a program does: extents, tools, feeds, time", _add_arguments, _run)
