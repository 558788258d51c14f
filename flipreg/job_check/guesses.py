"""What the job file says and nobody has confirmed: what the check finds holds only with it."""

from collections.abc import Iterator

from flipreg.findings import Finding, Status
from flipreg.job.job import Job
from flipreg.job.problem import path_text

__all__ = ["guess_findings"]


def guess_findings(job: Job) -> Iterator[Finding]:
    """Yield a finding for each guess of a job, in the order of its file."""
    for guess in job.guesses:
        about = f"{path_text(guess.path).removeprefix('$.')}: " if guess.path else ""
        yield Finding("guess", Status.WARN, f"{about}{guess.says}", job.source, guess.line)
