"""The comment at the start of every new program: what was done to which source, and how far it was proved."""

import re
from collections.abc import Sequence
from dataclasses import replace

from flipreg.names import bare_name
from flipreg.produce.produced import Produced, rounded_up
from flipreg.rewrite.text.header import header_place
from flipreg.rs274.read.blocks import Blocks

__all__ = ["first_line_end", "headed", "header", "is_told_in_mm", "unit_notes"]

_FIRST_LINE_END = re.compile(rb"\r\n|\n|\r")

_LONGEST_NAME = 80
"""Characters of a source's name in the header (chosen), so that what was done still fits the line."""

_INCHES = "lengths in flipreg's words are in millimetres, and numbers of this program in inches"


def headed(
    blocks: Blocks, texts: Sequence[bytes], produced: Produced, done: tuple[str, ...], *, in_inches: bool
) -> Produced:
    """Return a proved program with the comment that says what was done, after its leading percent and O lines.

    Parameters
    ----------
    blocks : Blocks
        The first chunk of the source.
    texts : sequence of bytes
        The new program, the part made of the first chunk first.
    produced : Produced
        All but its parts is taken over.
    done : tuple of str
        What was done, a comment each.
    in_inches : bool
        Whether the source has numbers in inches.
    """
    at = header_place(blocks, texts[0])
    unit = unit_notes(in_inches=in_inches)
    lines = (*dict.fromkeys((*done, *unit)), f"proved: {produced.motions} motions read again")
    new = header(produced.source, lines, produced.largest_deviation_mm, line_end=first_line_end(texts[0]))
    notes = tuple(dict.fromkeys((*produced.notes, *unit)))
    return replace(produced, parts=(texts[0][:at], new, texts[0][at:], *texts[1:]), notes=notes)


def unit_notes(*, in_inches: bool) -> tuple[str, ...]:
    """Say that lengths are told in millimetres, of a program with numbers in inches; nothing of another."""
    return (_INCHES,) if in_inches else ()


def is_told_in_mm(produced: Produced) -> bool:
    """Return whether a new program's notes say so."""
    return _INCHES in produced.notes


def first_line_end(text: bytes) -> bytes:
    """Return the end of the first line, LF where no line has one."""
    first = _FIRST_LINE_END.search(text)
    return first[0] if first else b"\n"


def header(source: str, done: tuple[str, ...], largest_mm: float, *, line_end: bytes) -> bytes:
    """Return the comments that say what was done to which source, and that the program must be tried above the work."""
    lines = (
        f"made by flipreg from {_file_name(source)}: {done[0]}",
        *done[1:-1],
        f"{done[-1]}, largest deviation {rounded_up(largest_mm):.6f} mm",
        "try this program above the work first; the machine maker's manual comes first",
    )
    return b"".join(b"(" + _comment(line) + b")" + line_end for line in lines)


def _file_name(source: str) -> str:
    """Return the name without its folders: where a program lay says nothing at the machine."""
    name = bare_name(source)
    if len(name) <= _LONGEST_NAME:
        return name
    kept = (_LONGEST_NAME - 3) // 2
    return f"{name[:kept]}...{name[-kept:]}"


def _comment(text: str) -> bytes:
    """Return a text as the inside of a comment: printable ASCII, no brackets, within the 256 characters of a line."""
    clean = text.replace("(", "[").replace(")", "]").encode("ascii", "replace")
    return bytes(char if 32 <= char < 127 else 63 for char in clean)[:250]
