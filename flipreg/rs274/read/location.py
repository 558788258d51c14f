"""Where something stands in a program, and the errors that point there.

Lines and columns count from 1, columns in bytes of the source line, as editors expect for plain text.
"""

from dataclasses import dataclass

from flipreg.errors import FlipregError

__all__ = ["Location", "ProgramError", "RefusedError"]


@dataclass(frozen=True, slots=True)
class Location:
    """A span inside one line of a program.

    Attributes
    ----------
    source : str
        The name the program was read under, `<stdin>` for standard input.
    line : int
        Line in the file, from 1. Line numbers written as N words may repeat or be missing, so they are
        never the address.
    column, end_column : int
        First column, and the column after the last one, both from 1.
    """

    source: str
    line: int
    column: int
    end_column: int

    def __str__(self) -> str:
        return f"{self.source}:{self.line}:{self.column}"


class ProgramError(FlipregError, ValueError):
    """A program that is not legal RS-274, or not a program at all.

    Attributes
    ----------
    message : str
        What was found, what was expected, and what to do when that is known.
    location : Location
        Where it was found.
    excerpt : str
        The source line, for the caret drawing; may be empty.
    """

    def __init__(self, message: str, location: Location, excerpt: str = "") -> None:
        super().__init__(message, location, excerpt)
        self.message = message
        self.location = location
        self.excerpt = excerpt

    def __str__(self) -> str:
        first = f"{self.location}: {self.message}"
        if not self.excerpt.strip():
            return first
        shown, caret = _caret(self.excerpt, self.location.column, self.location.end_column)
        return f"{first}\n  {shown}\n  {caret}"


class RefusedError(ProgramError):
    """A program that was understood, but that cannot be interpreted or rewritten without a guess."""


_WIDTH = 100


def _caret(excerpt: str, column: int, end_column: int) -> tuple[str, str]:
    """Return the part of the line worth showing and the carets under the span.

    Control characters are shown as a middle dot so that the carets stay under their letters.
    """
    first = max(0, column - 1 - _WIDTH // 2) if len(excerpt) > _WIDTH else 0
    cut = excerpt[first : first + _WIDTH].replace("\t", " ")
    shown = "".join(char if char.isprintable() else "·" for char in cut)
    length = max(1, min(end_column - column, len(shown) - (column - 1 - first)))
    return shown, " " * (column - 1 - first) + "^" * length
