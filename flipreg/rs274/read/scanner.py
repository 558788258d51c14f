"""Text to columns of words: plain blocks vectorised, all others by the grammar.

A block is plain when it holds nothing but words with literal numbers, comments, blanks, a line number, a
program number or a block-delete slash. The scanner never judges: what it does not know as plain goes to
`parse_block`, which applies `rs274.lark`, and every error comes from there.
"""

import re
from collections.abc import Iterable, Iterator

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.read.blocks import BlockFlag, Blocks
from flipreg.rs274.read.comments import Comments, mask_comments
from flipreg.rs274.read.foreign import LONGEST_BLOCK
from flipreg.rs274.read.irregular_blocks import read_hard_lines
from flipreg.rs274.read.line_layout import Layout, layout_of
from flipreg.rs274.read.lines import whole_lines
from flipreg.rs274.read.location import Location, ProgramError
from flipreg.rs274.read.number_columns import PADDING
from flipreg.rs274.read.plain_blocks import WordColumns, labels_behind_comments, scan_plain

__all__ = ["Scanner", "scan_chunks"]

Index = NDArray[np.int64]
Bytes = NDArray[np.uint8]

_Found = tuple[WordColumns, Comments]

_MARK = re.compile(rb"%[ \t]*[0-9A-Za-z][0-9A-Za-z _.\t-]{0,39}")
"""A program mark: a percent sign and the program's number or name; a widespread habit."""

_BOM = b"\xef\xbb\xbf"
_BLANK, _TAB, _LF, _CR = b" \t\n\r"
_SPACE, _DELETE = 0x20, 0x7F


def scan_chunks(pieces: Iterable[bytes], source: str) -> Iterator[Blocks]:
    """Yield a program's blocks as columns, in bounded chunks.

    Parameters
    ----------
    pieces : iterable of bytes
        The program's text, cut anywhere.
    source : str
        Name for messages.

    Yields
    ------
    Blocks
        Whole lines with their words; the texts of all chunks together are the text of all pieces.

    Raises
    ------
    ProgramError
        At the first block that the grammar refuses, at a lone `%` that closes nothing, at a leading `%` that
        is never closed, or when there is no word at all.
    """
    scanner = Scanner(source)
    for text in whole_lines(pieces):
        yield from scanner.scan(text)
    scanner.check_end()


class Scanner:
    """Reads the chunks of one program in order: what one chunk needs to know of those before it.

    That is its line number, and the percent lines around the program (NISTIR 6556, 3.1).
    """

    def __init__(self, source: str) -> None:
        """Take the name for messages."""
        self._source = source
        self._first_line = 1
        self._opened_at: Location | None = None
        self._marked = False
        self._closed = False
        self._begun = False

    def scan(self, text: bytes) -> Iterator[Blocks]:
        """Yield the blocks of the next chunk of whole lines; two parts where the program ends inside it."""
        layout = layout_of(text)
        first_line, self._first_line = self._first_line, self._first_line + len(layout.start)
        if self._closed:
            yield _unread(text, self._source, first_line)
            return
        skip = len(_BOM) if first_line == 1 and text.startswith(_BOM) else 0
        mark = -1 if self._begun else _mark_line(text, skip, layout)
        self._marked |= mark >= 0
        lines = self._up_to_closing(text, skip, layout, first_line)
        if lines == len(layout.start):
            yield _scan_text(text, skip, layout, self._source, first_line, mark=mark)
            return
        cut = int(layout.start[lines])
        head, tail = text[:cut], text[cut:]
        yield _scan_text(head, skip, layout_of(head), self._source, first_line, mark=mark)
        yield _unread(tail, self._source, first_line + lines)

    def check_end(self) -> None:
        """Raise if the program is not whole.

        Raises
        ------
        ProgramError
            At a leading `%` that was never closed, and if there was no text but blanks.
        """
        if self._opened_at and not self._closed:
            message = "a % that is never closed; a program that begins with a line of % ends with one"
            raise ProgramError(message, self._opened_at, " " * (self._opened_at.column - 1) + "%")
        if not self._begun:
            found = "an empty file" if self._first_line == 1 else "nothing but blanks"
            raise ProgramError(f"found {found}, expected an RS-274 program", Location(self._source, 1, 1, 2))

    def _up_to_closing(self, text: bytes, skip: int, layout: Layout, first_line: int) -> int:
        """Return how many lines of the chunk are to be read: all, or up to the closing percent line."""
        begun_before, self._begun = self._begun, self._begun or bool(text[skip:].strip())
        for line in _lone_percents(text, skip, layout):
            if self._opened_at or self._marked:
                self._closed = True
                return line + 1
            start = int(layout.start[line])
            column = text.index(b"%", start) - start + 1
            where = Location(self._source, first_line + line, column, column + 1)
            if begun_before or text[skip : int(layout.start[line])].strip():
                message = "a lone % that closes nothing: the program did not begin with a line of %"
                if start:
                    # What is wrong with an earlier line comes first.
                    _scan_text(text[:start], skip, layout_of(text[:start]), self._source, first_line)
                raise ProgramError(message, where, " " * (where.column - 1) + "%")
            self._opened_at = where
        return len(layout.start)


def _lone_percents(text: bytes, skip: int, layout: Layout) -> Iterator[int]:
    """Yield the lines that hold a `%` and nothing else."""
    at = text.find(b"%")
    while at >= 0:
        line = int(np.searchsorted(layout.mark, at))
        start, end = int(layout.start[line]), int(layout.end[line])
        if text[max(start, skip) : end].strip(b" \t") == b"%":
            yield line
        at = text.find(b"%", end)


def _mark_line(text: bytes, skip: int, layout: Layout) -> int:
    """Return the line of a program mark such as `%1234`, which may only be the first that is not blank, or -1."""
    at = text.find(b"%")
    if at < 0 or text[skip:at].strip():
        return -1
    line = int(np.searchsorted(layout.mark, at))
    return line if _MARK.fullmatch(text[at : int(layout.end[line])]) else -1


def _unread(text: bytes, source: str, first_line: int) -> Blocks:
    """Return lines behind the closing percent line."""
    layout = layout_of(text)
    flags = np.full(len(layout.start), BlockFlag.AFTER_END, np.uint8)
    return _blocks((source, first_line), text, layout, flags, (WordColumns.none(), Comments.none()))


def _scan_text(
    text: bytes, skip: int, layout: Layout, source: str, first_line: int, *, mark: int = -1
) -> Blocks:
    lines = len(layout.start)
    padded = np.empty(PADDING + int(layout.mark[-1]) + 1, np.uint8)
    padded[:PADDING] = _BLANK
    scratch = padded[PADDING:]
    scratch[: len(text)] = np.frombuffer(text, np.uint8)
    scratch[layout.mark] = _LF
    if layout.end is not layout.mark:
        scratch[layout.end[layout.end < layout.mark]] = _BLANK
    scratch[:skip] = _BLANK
    flags = np.zeros(lines, np.uint8)
    for line in (*_lone_percents(text, skip, layout), *([mark] if mark >= 0 else ())):
        scratch[layout.start[line] : layout.end[line]] = _BLANK
        flags[line] = BlockFlag.PERCENT
    comments, unbalanced = mask_comments(scratch, text, layout)

    plain = scan_plain(padded, lines)
    too_long = np.flatnonzero(layout.end - layout.start > LONGEST_BLOCK)
    hard = plain.hard
    unprintable = _lines_with_control_bytes(text, layout)
    behind_comment = labels_behind_comments(plain.words, comments, lines)
    for lines_for_grammar in (unbalanced, too_long, unprintable, behind_comment):
        hard[lines_for_grammar] = True
    flags[plain.slashed] |= np.uint8(BlockFlag.DELETE)
    flags[plain.numbered] |= np.uint8(BlockFlag.PROGRAM_NUMBER)
    blocks = _blocks((source, first_line), text, layout, flags, (plain.words, comments))
    if not hard.any():
        return blocks
    for_grammar = np.concatenate((unbalanced, too_long, unprintable))
    return read_hard_lines(blocks, scratch, layout, np.flatnonzero(hard), for_grammar, skip=skip)


def _lines_with_control_bytes(text: bytes, layout: Layout) -> Index:
    """Return the lines with bytes that no rule of the language allows, not even in comments."""
    characters = np.frombuffer(text, np.uint8)
    is_low = characters < _SPACE
    if np.count_nonzero(is_low) == np.count_nonzero(layout.mark < len(text)) and b"\x7f" not in text:
        return np.empty(0, np.int64)
    # Of the control bytes only tab, line feed and carriage return are text.
    odd = is_low & (characters != _TAB) & (characters != _LF) & (characters != _CR)
    odd |= characters == _DELETE
    return np.searchsorted(layout.mark, np.flatnonzero(odd)) if odd.any() else np.empty(0, np.int64)


def _blocks(place: tuple[str, int], text: bytes, layout: Layout, flags: Bytes, found: _Found) -> Blocks:
    """Return a chunk from its parts; `place` is the program's name and the chunk's first line."""
    (source, first_line), (words, comments) = place, found
    return Blocks(
        source=source,
        text=text,
        first_line=first_line,
        line_start=layout.start,
        line_end=layout.end,
        flags=flags,
        letter=words.letter,
        mantissa=words.mantissa,
        decimals=words.decimals,
        start=words.start,
        number=words.number,
        end=words.end,
        block=words.block,
        comment_start=comments.start,
        comment_end=comments.end,
        comment_block=comments.block,
    )
