"""What the report refuses, read to its letter; and read as programs are by default, where habits are allowed."""

import pytest

import flipreg
from flipreg.path import Path
from tests.motions import motions

__all__ = ["error_by_the_report", "marked", "strict_motions"]


def strict_motions(text: str) -> Path:
    """Return the motions of a program that is held to the letter of the report."""
    return flipreg.interpret(flipreg.parse(text, source="example.ngc", strict=True))


def error_by_the_report(text: str, *, is_habit: bool = False) -> flipreg.ProgramError:
    """Return the error of a program that is held to the report.

    Without strictness a habit is read, and anything else is an error at the same place.
    """
    with pytest.raises(flipreg.ProgramError) as strict:
        strict_motions(text)
    if is_habit:
        motions(text)
    else:
        with pytest.raises(flipreg.ProgramError) as default:
            motions(text)
        at, found = strict.value.location, default.value.location
        assert (found.line, found.column) == (at.line, at.column)
    return strict.value


def marked(error: flipreg.ProgramError) -> range:
    """Return the columns, from 1, that an error marks below its line."""
    carets = str(error).split("\n")[2]
    return range(error.location.column, error.location.column + carets.count("^"))
