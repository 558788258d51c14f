"""How many columns a report has: those of the terminal it goes to."""

from typing import BinaryIO

from flipreg.report.paragraph import WIDTH

__all__ = ["columns"]

_FEWEST, _MOST = 60, 120
"""Narrower is left to the terminal to break, wider is no pleasure to read (chosen)."""


def columns(stdout: BinaryIO) -> int:
    """Return the width of a terminal, within reason; of anything else that standard output may be, 80."""
    try:
        is_terminal = stdout.isatty()
    except (AttributeError, ValueError):
        return WIDTH
    if not is_terminal:
        return WIDTH
    # Imported here: it brings the readers of archives with it.
    from shutil import get_terminal_size

    return min(max(get_terminal_size((WIDTH, 24)).columns, _FEWEST), _MOST)
