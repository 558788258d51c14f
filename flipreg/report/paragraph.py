"""Lines of a report: a label in its column, text beside it, tables of numbers."""

from collections.abc import Sequence
from textwrap import wrap
from unicodedata import combining, east_asian_width

__all__ = ["WIDTH", "entry", "paragraph", "table"]

WIDTH = 80
"""Columns where nobody says how many there are."""

_LABEL = 12


def paragraph(text: str, *, mark: str = "", width: int = WIDTH, most: int | None = None) -> list[str]:
    """Return a text wrapped to a width, with a mark in front of its first line.

    Parameters
    ----------
    text : str
        The text.
    mark : str
        What stands before its first line, as wide as the indent of the others.
    width : int
        Columns.
    most : int, optional
        Lines there may be; a text that needs more ends with ` …`.
    """
    return wrap(
        text,
        width,
        initial_indent=mark,
        subsequent_indent=" " * len(mark),
        break_long_words=False,
        break_on_hyphens=False,
        max_lines=most,
        placeholder=" …",
    )


def entry(label: str, text: str, *, width: int = WIDTH, column: int = _LABEL) -> list[str]:
    """Return a label in its column and a text beside it, wrapped."""
    return paragraph(text, mark=f"{label}{' ' * max(1, column + 1 - _columns(label))}", width=width)


def table(rows: Sequence[Sequence[str]], *, right: str) -> list[str]:
    """Return rows of cells in columns, the first row as their heads.

    Parameters
    ----------
    rows : sequence of rows
        As many cells in each.
    right : str
        A letter a column: 'r' to set it to the right, 'l' to the left.
    """
    widths = [max(_columns(row[column]) for row in rows) for column in range(len(right))]
    lines = []
    for row in rows:
        cells = []
        for cell, width, side in zip(row, widths, right, strict=True):
            space = " " * (width - _columns(cell))
            cells.append(space + cell if side == "r" else cell + space)
        lines.append(("  " + "  ".join(cells)).rstrip())
    return lines


def _columns(text: str) -> int:
    """Return how many columns of a terminal a text takes."""
    return sum(0 if combining(letter) else 2 if east_asian_width(letter) in "WF" else 1 for letter in text)
