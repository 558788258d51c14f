"""Text to columns of words: plain blocks vectorised, all others by the grammar.

A block is plain when it holds nothing but words with literal numbers, comments, blanks, a line number, a
program number or a block-delete slash. The scanner never judges: what it does not know as plain goes to
`parse_block`, which applies `rs274.lark`, and every error comes from there.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.read.blocks import BlockFlag, Blocks
from flipreg.rs274.read.comments import Comments, flat_spans, mask_comments
from flipreg.rs274.read.foreign import LONGEST_BLOCK, foreign_bytes
from flipreg.rs274.read.framing import Framing, PercentLines
from flipreg.rs274.read.habit import Habit, Notices
from flipreg.rs274.read.irregular_blocks import read_irregular_lines
from flipreg.rs274.read.line_layout import LineLayout, layout_of
from flipreg.rs274.read.lines import whole_lines
from flipreg.rs274.read.location import Location, ProgramError
from flipreg.rs274.read.number_columns import PADDING
from flipreg.rs274.read.plain_blocks import WordColumns, labels_after_comments, scan_plain
from flipreg.rs274.read.remarks import remarks_with_motion

__all__ = ["Scanner", "scan_chunks"]

Index = NDArray[np.int64]
Bytes = NDArray[np.uint8]

_Found = tuple[WordColumns, Comments]

_BOM = b"\xef\xbb\xbf"
_BLANK, _TAB, _LF, _CR = b" \t\n\r"
_SPACE, _DELETE = 0x20, 0x7F
_FIRST_OF_TWO, _NO_BREAK = 0xC2, 0xA0
"""A no-break space: one byte in Latin-1, two in UTF-8."""

_END_BYTES = b"\x00\x1a"
"""What old systems fill the end of a file with, or mark it by."""

_END = _END_BYTES + b" \t\r\n"

_LARGEST_LINE_NUMBER, _LINE_DIGITS = 99999, 5
"""Of the report (3.3.2)."""


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
        At the first block that the grammar refuses, at text after a % that nothing opened, or when there is no word
        at all.
    """
    scanner = Scanner(source)
    waiting: bytes | None = None
    for text in whole_lines(pieces):
        if waiting is not None:
            yield from scanner.scan(waiting)
        waiting = text
    if waiting is not None:
        yield from scanner.scan(waiting, last=True)
    scanner.check_end()


class Scanner:
    """Reads the chunks of one program in order: what one chunk needs to know of those before it.

    That is its line number, and the percent lines around the program (NISTIR 6556, 3.1).
    """

    def __init__(self, source: str) -> None:
        """Take the name for messages."""
        self._source = source
        self._first_line = 1
        self._frame = PercentLines(source)
        self._end_byte: ProgramError | None = None

    def scan(self, text: bytes, *, last: bool = False) -> Iterator[Blocks]:
        """Yield the blocks of the next chunk of whole lines; two parts where the program ends inside it.

        Parameters
        ----------
        text : bytes
            The chunk.
        last : bool
            Whether it is known to be the last one, so that what is missing at the end can be noticed.
        """
        layout = layout_of(text)
        first_line, self._first_line = self._first_line, self._first_line + len(layout.start)
        notices = Notices(first_line)
        if not self._frame.is_closed:
            layout = self._up_to_end_bytes(text, layout, notices)
        skip = len(_BOM) if first_line == 1 and text.startswith(_BOM) else 0
        frame = self._frame.look(text, skip, layout, notices, last=last)
        if frame.lines:
            cut = int(layout.start[frame.lines]) if frame.lines < len(layout.start) else len(text)
            head = layout.first(frame.lines)
            yield _scan_text(text[:cut], skip, head, (self._source, first_line), frame, notices)
        if frame.error is not None:
            # What is wrong with an earlier line comes first.
            raise frame.error
        if frame.lines < len(layout.start):
            tail = text[cut:] if frame.lines else text
            yield _unread(tail, self._source, first_line + frame.lines)

    def check_end(self) -> None:
        """Raise if there was no text but blanks.

        Raises
        ------
        ProgramError
            If so.
        """
        if not self._frame.is_begun:
            found = "an empty file" if self._first_line == 1 else "nothing but blanks"
            raise ProgramError(f"found {found}, expected an RS-274 program", Location(self._source, 1, 1, 2))

    def _up_to_end_bytes(self, text: bytes, layout: LineLayout, notices: Notices) -> LineLayout:
        """Return where lines are, with zero bytes and Ctrl-Z at the end of the file taken for line ends.

        Raises
        ------
        ProgramError
            At such a byte of an earlier chunk, if text comes after it: then it is not the end.
        """
        if self._end_byte is not None and text.strip(_END):
            raise self._end_byte
        if b"\x00" not in text and b"\x1a" not in text:
            return layout
        end = len(text.rstrip(_END))
        at = next((at for at in range(end, len(text)) if text[at] in _END_BYTES), -1)
        if at < 0:
            return layout
        line = int(np.searchsorted(layout.mark, at))
        if self._end_byte is None:
            notices.add(Habit.END_BYTES, [line])
            found = foreign_bytes(chr(text[at]))
            assert found is not None
            column = at - int(layout.start[line]) + 1
            where = Location(self._source, self._first_line - len(layout.start) + line, column, column + 1)
            self._end_byte = ProgramError(found.message, where)
        return LineLayout(layout.start, np.minimum(layout.end, np.maximum(layout.start, end)), layout.mark)


def _unread(text: bytes, source: str, first_line: int) -> Blocks:
    """Return lines after the closing percent line."""
    layout = layout_of(text)
    flags = np.full(len(layout.start), BlockFlag.AFTER_END, np.uint8)
    return _blocks((source, first_line), text, layout, flags, (WordColumns.none(), Comments.none()))


def _scan_text(
    text: bytes, skip: int, layout: LineLayout, place: tuple[str, int], frame: Framing, notices: Notices
) -> Blocks:
    lines = len(layout.start)
    padded = np.empty(PADDING + int(layout.mark[-1]) + 1, np.uint8)
    padded[:PADDING] = _BLANK
    scratch = padded[PADDING:]
    scratch[: len(text)] = np.frombuffer(text, np.uint8)
    if layout.end is not layout.mark:
        # A line end of two characters, and the bytes at the end of a file.
        scratch[flat_spans(layout.end, layout.mark)] = _BLANK
        scratch[layout.mark] = _LF
    scratch[layout.mark[-1]] = _LF
    scratch[:skip] = _BLANK
    flags = np.zeros(lines, np.uint8)
    for line in frame.percents:
        scratch[layout.start[line] : layout.end[line]] = _BLANK
        flags[line] = BlockFlag.PERCENT
    comments, unbalanced = mask_comments(scratch, text, layout)
    if b"\xa0" in text:
        _blank_out(scratch, layout, unbalanced, notices)

    plain = scan_plain(padded, layout.mark)
    too_long = np.flatnonzero(layout.end - layout.start > LONGEST_BLOCK)
    irregular = plain.irregular
    unprintable = _lines_with_control_bytes(text, layout)
    after_comment = labels_after_comments(plain.words, comments, lines)
    for lines_for_grammar in (unbalanced, too_long, unprintable, after_comment):
        irregular[lines_for_grammar] = True
    flags[plain.slashed] |= np.uint8(BlockFlag.DELETE)
    flags[plain.numbered] |= np.uint8(BlockFlag.PROGRAM_NUMBER)
    blocks = _blocks(place, text, layout, flags, (plain.words, comments))
    if irregular.any():
        for_grammar = np.concatenate((unbalanced, too_long, unprintable))
        lines_to_read = np.flatnonzero(irregular)
        blocks = read_irregular_lines(blocks, scratch, layout, lines_to_read, for_grammar, skip=skip, notices=notices)
    numbers = _long_line_numbers(blocks)
    notices.add(Habit.LONG_LINE_NUMBER, blocks.block[numbers], blocks.start[numbers])
    notices.add(Habit.MOTION_IN_REMARK, *remarks_with_motion(blocks))
    noticed = notices.found()
    return replace(blocks, habits=noticed) if noticed else blocks


def _blank_out(scratch: Bytes, layout: LineLayout, unbalanced: Index, notices: Notices) -> None:
    """Overwrite no-break spaces outside of comments with blanks, in Latin-1 and in UTF-8."""
    at = np.flatnonzero(scratch == _NO_BREAK)
    scratch[at] = _BLANK
    of_two = (at > 0) & (scratch[at - 1] == _FIRST_OF_TWO)
    at[of_two] -= 1
    scratch[at] = _BLANK
    line = np.searchsorted(layout.mark, at)
    outside = ~np.isin(line, unbalanced)
    notices.add(Habit.ODD_BLANK, line[outside], at[outside])


def _long_line_numbers(blocks: Blocks) -> Index:
    """Return the rows of line numbers with more than five digits."""
    rows = blocks.rows("N")
    long = blocks.mantissa[rows] > _LARGEST_LINE_NUMBER
    padded = ~long & (blocks.end[rows] - blocks.number[rows] > _LINE_DIGITS)
    for row in np.flatnonzero(padded).tolist():
        digits = blocks.text[blocks.number[rows[row]] : blocks.end[rows[row]]]
        long[row] = sum(48 <= byte <= 57 for byte in digits) > _LINE_DIGITS
    found: Index = rows[long]
    return found


def _lines_with_control_bytes(text: bytes, layout: LineLayout) -> Index:
    """Return the lines with bytes that no rule of the language allows, not even in comments."""
    characters = np.frombuffer(text, np.uint8)
    is_low = characters < _SPACE
    line_ends = len(layout.mark) - int(layout.mark[-1] == len(text))
    if np.count_nonzero(is_low) == line_ends and b"\x7f" not in text:
        return np.empty(0, np.int64)
    # Of the control bytes only tab, line feed and carriage return are text.
    odd = is_low & (characters != _TAB) & (characters != _LF) & (characters != _CR)
    odd |= characters == _DELETE
    # Those of a file's end lie after the end of their lines.
    odd[flat_spans(layout.end, layout.mark)] = False
    return np.searchsorted(layout.mark, np.flatnonzero(odd)) if odd.any() else np.empty(0, np.int64)


def _blocks(place: tuple[str, int], text: bytes, layout: LineLayout, flags: Bytes, found: _Found) -> Blocks:
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
