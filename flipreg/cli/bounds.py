"""The command `bounds`."""

import argparse
from typing import TYPE_CHECKING, BinaryIO, TextIO

from flipreg.cli.command import Command
from flipreg.cli.exit_status import DONE
from flipreg.cli.opening import add_reading, opened
from flipreg.cli.options import add_block_delete, add_json, add_program
from flipreg.errors import UsageError

if TYPE_CHECKING:
    from flipreg.job.machine import Machine

__all__ = ["COMMAND"]


def _add_arguments(parser: argparse.ArgumentParser) -> None:
    add_program(parser)
    add_block_delete(parser)
    parser.add_argument("--job", metavar="JOB", help="a job file; tell the time on its machine")
    add_reading(parser)
    add_json(parser, "as one JSON object")


def _run(options: argparse.Namespace, stdin: BinaryIO, stdout: BinaryIO, _: TextIO) -> int:
    from flipreg.program.summary import summarise
    from flipreg.report.json.program import summary_json
    from flipreg.report.summary import summary_text
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


COMMAND = Command("bounds", "show what a program does: extents, tools, feeds, time", _add_arguments, _run)
