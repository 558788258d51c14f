"""The command `budget`."""

import argparse
from typing import BinaryIO, TextIO

from flipreg.cli.command import Command
from flipreg.cli.exit_status import DONE, NOT_SHOWN
from flipreg.cli.options import add_json
from flipreg.cli.output import write_text
from flipreg.units import shown_in

__all__ = ["COMMAND"]


def _add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("job", metavar="JOB.toml", help="the job file")
    add_json(parser, "the report as one JSON object")


def _run(options: argparse.Namespace, _: BinaryIO, stdout: BinaryIO, __: TextIO) -> int:
    from flipreg.align.job_budget import job_budget
    from flipreg.job.file.read import read_job, with_lines
    from flipreg.job.problem import JobFileError
    from flipreg.report.budget import budget_text
    from flipreg.report.json.bench import budget_json

    job = read_job(options.job)
    with shown_in(inch=job.inch):
        try:
            report = job_budget(job)
        except JobFileError as error:
            raise with_lines(error) from None
        text = budget_json(report) if options.json else budget_text(report)
    write_text(text, stdout)
    return DONE if report.within else NOT_SHOWN


COMMAND = Command("budget", "say how far apart the faces can end up", _add_arguments, _run)
