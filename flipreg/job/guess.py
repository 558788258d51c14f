"""What a job says that nobody has confirmed yet."""

from dataclasses import dataclass, field

from flipreg.job.problem import KeyPath

__all__ = ["Guess"]


@dataclass(frozen=True, slots=True)
class Guess:
    """A value that was worked out or taken, and that a person still has to look at.

    Attributes
    ----------
    path : KeyPath
        Which value; empty where the guess is about the whole job.
    says : str
        Where it comes from, and what to look at; on one line.
    line : int or None
        Line of the job file, from 1; None where the job is not out of a file.
    """

    path: KeyPath
    says: str
    line: int | None = field(default=None, compare=False)
