"""Lines of a report: a label in its column, text beside it, tables of numbers."""

from collections.abc import Sequence
from textwrap import wrap
from unicodedata import combining, east_asian_width

__all__ = ["WIDTH", "entry", "paragraph", "table"]

WIDTH = 88
"""Columns; fits a terminal of 90."""

_LABEL = 12


def paragraph(text: str, *, mark: str = "") -> list[str]:
    """Return a text wrapped to the width, with a mark in front of its first line."""
    return wrap(
        text,
        WIDTH,
        initial_indent=mark,
        subsequent_indent=" " * len(mark),
        break_long_words=False,
        break_on_hyphens=False,
    )


def entry(label: str, text: str) -> list[str]:
    """Return a label in its column and a text beside it, wrapped."""
    return paragraph(text, mark=f"{label}{' ' * max(1, _LABEL + 1 - _columns(label))}")


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
