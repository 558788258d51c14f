"""What makes the parts of a job contradict each other, however the job was made: in Python or from a file."""

from collections.abc import Sequence

from flipreg.job.blank_rules import blank_rules
from flipreg.job.budget_rules import budget_rules
from flipreg.job.job import Job
from flipreg.job.parts import Parts
from flipreg.job.problem import JobFileError, Problem
from flipreg.job.reference_rules import reference_rules
from flipreg.job.size_rules import size_rules

__all__ = ["obeyed", "rules", "with_layout"]


def rules(job: Job) -> list[Problem]:
    """Return every contradiction between the parts of a job, each with its key path as in a job file."""
    parts = Parts.of(job)
    found = list(reference_rules(parts))
    if not found:
        # Where a mark is, is only known if what it comes from is there.
        found += [*blank_rules(job), *budget_rules(job)]
    return [*found, *size_rules(parts)]


def obeyed(job: Job) -> Job:
    """Return the job, if its parts do not contradict each other.

    Raises
    ------
    JobFileError
        With every contradiction.
    """
    return _without(rules(job), job)


def with_layout(job: Job) -> Job:
    """Return the job, if its parts name each other rightly, so that it is known where its marks are.

    Whether they are on the blank is for `obeyed`.

    Raises
    ------
    JobFileError
        With everything that is named wrongly.
    """
    return _without(list(reference_rules(Parts.of(job))), job)


def _without(problems: Sequence[Problem], job: Job) -> Job:
    if problems:
        raise JobFileError(job.source, problems)
    return job
