"""Lines that are no RS-274 at all: binary data, other formats, a file whose line ends were lost."""

import re

from flipreg.errors import FlipregError

__all__ = ["LONGEST_BLOCK", "BlockSyntaxError", "foreign_bytes", "foreign_length", "foreign_text"]

LONGEST_BLOCK = 65536
"""Characters of a line that are neither blanks nor the text of comments; more are refused, not read.

Chosen: it is far beyond what anybody writes, and the grammar reads so much in about a second.
"""


class BlockSyntaxError(FlipregError, ValueError):
    """A line that is not in the language, before its place in the program is known.

    Attributes
    ----------
    message : str
        What was found, what was expected, and what to do when that is known.
    start, end : int
        Offsets in the line of what was found, from 0; equal where something is missing at the end.
    """

    def __init__(self, message: str, start: int, end: int) -> None:
        super().__init__(message, start, end)
        self.message = message
        self.start = start
        self.end = end

    def __str__(self) -> str:
        return self.message


_FOREIGN_BYTE = re.compile(r"[^\t\x20-\x7e\x80-\xff]")
_UTF_16 = ("\xff\xfe", "\xfe\xff")
_UTF_8 = "\xef\xbb\xbf"
_CONFLICT = re.compile(r"[ \t]*(<{7}|={7}|>{7}|\|{7})(?![<=>|])")
_MARKUP = re.compile(r"[ \t]*<[A-Za-z/!?]")
_BOUNDARY = {0: re.compile(r"[();]"), 1: re.compile(r"[()]")}


def foreign_bytes(text: str) -> BlockSyntaxError | None:
    """Return the error of a line with a control byte in it, which no rule of the language allows."""
    match = _FOREIGN_BYTE.search(text)
    if match is None:
        return None
    if text.startswith(_UTF_16):
        return BlockSyntaxError("this file is UTF-16 text: save it as plain text (ASCII or UTF-8)", 0, 2)
    code = ord(match[0])
    if code == 0:
        what = "found a zero byte, expected plain text: this is a binary file, or UTF-16 text"
    elif code > 255:
        what = f"found the character U+{code:04X}, expected one byte a character: decode the program as latin-1"
    else:
        what = f"found the control byte 0x{code:02X}, expected plain text: remove it, or is this a binary file?"
    return BlockSyntaxError(what, match.start(), match.end())


def foreign_length(text: str) -> BlockSyntaxError | None:
    """Return the error of a line with more than `LONGEST_BLOCK` characters besides blanks and comments.

    The brackets of comments are counted and their text is not, for the time to read a line goes with that.
    """
    if len(text) <= LONGEST_BLOCK:
        return None
    count = depth = position = 0
    while count <= LONGEST_BLOCK and position < len(text):
        boundary = _BOUNDARY[min(depth, 1)].search(text, position)
        stop = boundary.start() if boundary else len(text)
        if not depth:
            count += stop - position - text.count(" ", position, stop) - text.count("\t", position, stop)
        if boundary is None or boundary[0] == ";":
            break
        count += 1
        depth = depth + 1 if boundary[0] == "(" else max(0, depth - 1)
        position = stop + 1
    if count <= LONGEST_BLOCK:
        return None
    return BlockSyntaxError(
        f"this line has more than {LONGEST_BLOCK} characters besides blanks and comments, expected one block: "
        "have the line ends of the file been lost?",
        0,
        len(text),
    )


def foreign_text(text: str) -> BlockSyntaxError | None:
    """Return the error of a line that cannot be read and is known from somewhere else."""
    conflict = _CONFLICT.match(text)
    if conflict:
        return BlockSyntaxError(
            f"{conflict[1]} is a version-control conflict marker: choose one of the two versions first",
            *conflict.span(1),
        )
    if _MARKUP.match(text):
        start = text.index("<")
        return BlockSyntaxError(
            "this is HTML or XML, expected a program: save the program itself, not the page around it; a name of the "
            "program stands in ( )",
            start,
            len(text.rstrip(" \t")),
        )
    if text.startswith(_UTF_8):
        return BlockSyntaxError(
            "found a byte-order mark, which may only be the first thing in a file: remove it; "
            "it is left behind where files were put together",
            0,
            len(_UTF_8),
        )
    if text.startswith(_UTF_16):
        return BlockSyntaxError("this file is UTF-16 text: save it as plain text (ASCII or UTF-8)", 0, 2)
    return None
