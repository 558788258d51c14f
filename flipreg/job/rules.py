"""What makes the parts of a job contradict each other, however the job was made: in Python or from a file."""

from collections.abc import Iterator

from flipreg.job.blank_rules import blank_rules
from flipreg.job.budget_rules import budget_rules
from flipreg.job.job import Job
from flipreg.job.name import is_name
from flipreg.job.problem import JobFileError, Problem

__all__ = ["obeyed", "rules"]


def rules(job: Job) -> Iterator[Problem]:
    """Yield every contradiction between the parts of a job, each with its key path as in a job file."""
    yield from _names(job)
    yield from blank_rules(job)
    yield from budget_rules(job)


def _names(job: Job) -> Iterator[Problem]:
    for kind, things in (
        ("marks", job.marks),
        ("tools", job.tools),
        ("setups", job.setups),
        ("stations", job.stations),
        ("fitted_parts", job.fitted_parts),
    ):
        names = [thing.name for thing in things]
        for index, name in enumerate(names):
            if not is_name(name):
                message = f"expected a name on one line, without blanks at its ends, got {name!r}"
                yield Problem((kind, index, "name"), message)
            if name in names[:index]:
                message = f"the name {name!r} is taken by $.{kind}[{names.index(name)}] already"
                yield Problem((kind, index, "name"), message)


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
