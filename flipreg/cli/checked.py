"""A job checked for a command, with the programs of its files."""

import argparse
from typing import TYPE_CHECKING

from flipreg.cli.opening import opened

if TYPE_CHECKING:
    from flipreg.job.job import Job
    from flipreg.job_check.report import JobReport

__all__ = ["checked_job"]


def checked_job(job: "Job", options: argparse.Namespace) -> "JobReport":
    """Return the report of a job's check; a JobFileError knows the lines of the file."""
    from io import BytesIO

    from flipreg.job.file.read import with_lines
    from flipreg.job.problem import JobFileError
    from flipreg.job_check.check import check_job
    from flipreg.program.face_program import face_program
    from flipreg.rs274.interpret.state import BlockDelete

    switch = BlockDelete(getattr(options, "block_delete", "off"))
    try:
        return check_job(
            job,
            read=lambda part: face_program(opened(part.file, options, BytesIO(), job=job), block_delete=switch),
            progress=options.progress,
        )
    except JobFileError as error:
        raise with_lines(error) from None
