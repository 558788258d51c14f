"""What makes the parts of a job contradict each other, however the job was made: in Python or from a file."""

from collections.abc import Iterator

from flipreg.job.blank_rules import blank_rules
from flipreg.job.budget_rules import budget_rules
from flipreg.job.job import Job
from flipreg.job.problem import JobFileError, Problem

__all__ = ["obeyed", "rules"]


def rules(job: Job) -> Iterator[Problem]:
    """Yield every contradiction between the parts of a job, each with its key path as in a job file."""
    yield from blank_rules(job)
    yield from budget_rules(job)


def obeyed(job: Job) -> Job:
    """Return the job, if its parts do not contradict each other.

    Raises
    ------
    JobFileError
        With every contradiction.
    """
    problems = list(rules(job))
    if problems:
        raise JobFileError(job.source, problems)
    return job
