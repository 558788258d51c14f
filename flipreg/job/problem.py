"""What is wrong with a job file: every problem at once, each with its key path and line."""

from collections.abc import Sequence
from dataclasses import dataclass

from flipreg.errors import FlipregError

__all__ = ["JobFileError", "KeyPath", "Problem", "path_text"]

KeyPath = tuple[str | int, ...]
"""Keys and list positions (from 0) from the top of the file."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong.

    Attributes
    ----------
    path : KeyPath
        Where; empty for the whole file.
    message : str
        What was found and what was expected.
    line, column : int or None
        Line of the file and column in it, from 1; None where it is not known.
    """

    path: KeyPath
    message: str
    line: int | None = None
    column: int | None = None


class JobFileError(FlipregError, ValueError):
    """A job that cannot be used, out of a file or made in Python.

    Attributes
    ----------
    source : str
        Name of the file, or what the job says it comes from.
    problems : tuple of Problem
        All that is wrong, in the order of the file.
    """

    def __init__(self, source: str, problems: Sequence[Problem]) -> None:
        super().__init__(source, problems)
        self.source = source
        self.problems = tuple(sorted(problems, key=lambda problem: problem.line or 0))

    def __str__(self) -> str:
        return "\n".join(_line(self.source, problem) for problem in self.problems)


def path_text(path: KeyPath) -> str:
    """Return a key path as text.

    Examples
    --------
    >>> path_text(("marks", 1, "along"))
    '$.marks[1].along'
    """
    return "$" + "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in path)


def _line(source: str, problem: Problem) -> str:
    place = ":".join([source, *(str(part) for part in (problem.line, problem.column) if part is not None)])
    where = f"{path_text(problem.path)}: " if problem.path else ""
    return f"{place}: {where}{problem.message}"
