"""Text to columns of words: plain blocks vectorised, all others by the grammar.

A block is plain when it holds nothing but words with literal numbers, comments, blanks, a line number, a
program number or a block-delete slash. The scanner never judges: what it does not know as plain goes to
`parse_block`, which applies `rs274.lark`, and every error comes from there.
"""

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor, Future
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.block import EXPRESSION, BlockFlag, Blocks
from flipreg.rs274.comments import Comments, flat_spans, mask_comments
from flipreg.rs274.expression import Expression, Setting
from flipreg.rs274.layout import Layout, layout_of
from flipreg.rs274.lines import MAX_LINE_BYTES, whole_lines
from flipreg.rs274.location import Location, ProgramError
from flipreg.rs274.number_columns import PADDING
from flipreg.rs274.plain import WordColumns, scan_plain

__all__ = ["Reading", "Scanner", "scan_chunks"]

Reading = Callable[[], Blocks]

Index = NDArray[np.int64]
Bytes = NDArray[np.uint8]
Flags = NDArray[np.bool_]

_AHEAD = 3
"""Chunks read ahead of the one that is worked on; ours: enough to keep a second core busy."""

_BOM = b"\xef\xbb\xbf"
_BLANK, _TAB, _LF, _CR, _PERCENT = b" \t\n\r%"


def scan_chunks(pieces: Iterable[bytes], source: str, *, worker: Executor | None = None) -> Iterator[Blocks]:
    """Yield a program's blocks as columns, in bounded chunks.

    Parameters
    ----------
    pieces : iterable of bytes
        The program's text, cut anywhere.
    source : str
        Name for messages.
    worker : Executor, optional
        Reads a few chunks ahead; by default they are read when they are asked for.

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
    reads = (read for text in whole_lines(pieces) for read in scanner.reads(text))
    yield from _done(reads) if worker is None else _done_ahead(reads, worker)
    scanner.check_end()


def _done(reads: Iterable["Reading"]) -> Iterator[Blocks]:
    return (read() for read in reads)


def _done_ahead(reads: Iterable["Reading"], worker: Executor) -> Iterator[Blocks]:
    waiting: deque[Future[Blocks]] = deque()
    for read in reads:
        waiting.append(worker.submit(read))
        if len(waiting) > _AHEAD:
            yield waiting.popleft().result()
    while waiting:
        yield waiting.popleft().result()


class Scanner:
    """Reads the chunks of one program in order: what one chunk needs to know of those before it.

    That is its line number, and the percent lines around the program (NISTIR 6556, 3.1).
    """

    def __init__(self, source: str) -> None:
        """Take the name for messages."""
        self._source = source
        self._first_line = 1
        self._opened_at = 0
        self._closed = False
        self._begun = False

    def reads(self, text: bytes) -> "list[Reading]":
        """Return the readings of the next chunk of whole lines; each gives its blocks when it is called.

        A reading needs nothing of the scanner any more, so that readings can be done side by side.
        """
        layout = layout_of(text)
        first_line, self._first_line = self._first_line, self._first_line + len(layout.start)
        if self._closed:
            return [partial(_unread, text, self._source, first_line)]
        skip = len(_BOM) if first_line == 1 and text.startswith(_BOM) else 0
        lines = self._up_to_closing(text, skip, layout, first_line)
        if lines == len(layout.start):
            return [partial(_scan_text, text, skip, layout, self._source, first_line)]
        cut = int(layout.start[lines])
        head, tail = text[:cut], text[cut:]
        return [
            partial(_scan_text, head, skip, layout_of(head), self._source, first_line),
            partial(_unread, tail, self._source, first_line + lines),
        ]

    def check_end(self) -> None:
        """Raise if the program is not whole.

        Raises
        ------
        ProgramError
            At a leading `%` that was never closed, and if there was no text but blanks.
        """
        if self._opened_at and not self._closed:
            message = "a % that is never closed; a program that begins with a line of % ends with one"
            raise ProgramError(message, Location(self._source, self._opened_at, 1, 2), "%")
        if not self._begun:
            found = "an empty file" if self._first_line == 1 else "nothing but blanks"
            raise ProgramError(f"found {found}, expected an RS-274 program", Location(self._source, 1, 1, 2))

    def _up_to_closing(self, text: bytes, skip: int, layout: Layout, first_line: int) -> int:
        """Return how many lines of the chunk are to be read: all, or up to the closing percent line."""
        begun_before, self._begun = self._begun, self._begun or bool(text[skip:].strip())
        for line in _lone_percents(text, skip, layout):
            if self._opened_at:
                self._closed = True
                return line + 1
            if begun_before or text[skip : int(layout.start[line])].strip():
                message = "a lone % that closes nothing: the program did not begin with a line of %"
                column = int(text.index(b"%", layout.start[line])) - int(layout.start[line]) + 1
                raise ProgramError(message, Location(self._source, first_line + line, column, column + 1), "%")
            self._opened_at = first_line + line
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


def _unread(text: bytes, source: str, first_line: int) -> Blocks:
    """Return lines behind the closing percent line."""
    layout = layout_of(text)
    flags = np.full(len(layout.start), BlockFlag.AFTER_END, np.uint8)
    return _blocks(text, source, first_line, layout, flags, _no_words(), Comments.none())


def _scan_text(text: bytes, skip: int, layout: Layout, source: str, first_line: int) -> Blocks:
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
    for line in _lone_percents(text, skip, layout):
        scratch[layout.start[line] : layout.end[line]] = _BLANK
        flags[line] = BlockFlag.PERCENT
    comments, unbalanced = mask_comments(scratch, text, layout)

    plain = scan_plain(padded, lines)
    hard = plain.hard
    hard[unbalanced] = True
    _send_labels_behind_comments(hard, plain.words, comments)
    too_long = np.flatnonzero(layout.end - layout.start > MAX_LINE_BYTES)
    if too_long.size:
        line = int(too_long[0])
        length = int(layout.end[line] - layout.start[line])
        message = f"a line of {length} characters, expected at most {MAX_LINE_BYTES}; is this a program?"
        excerpt = text[int(layout.start[line]) :][:80].decode("latin-1")
        raise ProgramError(message, Location(source, first_line + line, 1, 2), excerpt)
    flags[plain.slashed] |= np.uint8(BlockFlag.DELETE)
    flags[plain.numbered] |= np.uint8(BlockFlag.PROGRAM_NUMBER)
    blocks = _blocks(text, source, first_line, layout, flags, plain.words, comments)
    if not hard.any():
        return blocks
    spaced = np.flatnonzero(hard)
    spaced = spaced[~np.isin(spaced, unbalanced)]
    squeezed = _scan_squeezed(scratch, layout, spaced, comments)
    hard[squeezed.lines] = False
    flags[squeezed.numbered] |= np.uint8(BlockFlag.PROGRAM_NUMBER)
    return _joined(blocks, skip, np.flatnonzero(hard), spaced, squeezed.words)


def _send_labels_behind_comments(hard: Flags, words: WordColumns, comments: Comments) -> None:
    """Make lines hard where a comment stands in front of a line number or program number."""
    if not len(comments.start):
        return
    first_comment = np.full(len(hard), np.iinfo(np.int64).max)
    first_comment[comments.block[::-1]] = comments.start[::-1]
    label = np.flatnonzero((words.letter == ord("N")) | (words.letter == ord("O")))
    block = words.block[label]
    hard[block[first_comment[block] < words.start[label]]] = True


@dataclass(frozen=True, eq=False, slots=True)
class _Squeezed:
    """Words of lines that became plain without their blanks."""

    lines: Index
    words: WordColumns
    numbered: Index


def _scan_squeezed(scratch: Bytes, layout: Layout, lines: Index, comments: Comments) -> _Squeezed:
    """Read lines again with the blanks between letters and digits left out.

    Blanks mean nothing outside of comments (NISTIR 6556, 3.3), and comments are masked by now. Programs that
    put a blank behind every letter would otherwise go through the grammar line by line.
    """
    if not lines.size:
        return _Squeezed(lines, _no_words(), lines)
    at = flat_spans(layout.start[lines], layout.mark[lines] + 1)
    characters = scratch[at]
    seen = (characters != _BLANK) & (characters != _TAB)
    at = at[seen]
    padded = np.full(PADDING + len(at), _BLANK, np.uint8)
    padded[PADDING:] = characters[seen]
    plain = scan_plain(padded, len(lines))
    hard = plain.hard
    hard[plain.slashed] = True
    words = plain.words
    start = at[words.start]
    moved = replace(words, start=start, number=at[words.number], end=at[words.end - 1] + 1)
    in_text = replace(moved, block=lines[words.block])
    behind_comment = np.zeros(len(layout.start), np.bool_)
    _send_labels_behind_comments(behind_comment, in_text, comments)
    hard |= behind_comment[lines]
    numbered = lines[plain.numbered[~hard[plain.numbered]]]
    return _Squeezed(lines[~hard], in_text.take(~hard[words.block]), numbered)


def _joined(blocks: Blocks, skip: int, for_grammar: Index, reread: Index, squeezed: WordColumns) -> Blocks:
    """Return the blocks with the lines that were not plain read by the grammar, or squeezed."""
    judged = _Judged()
    for line in for_grammar.tolist():
        judged.read(blocks, line, skip if line == 0 and blocks.first_line == 1 else 0)
    replaced = np.zeros(len(blocks), np.bool_)
    replaced[reread] = True
    replaced[for_grammar] = True
    plain = _words_of(blocks)
    kept = plain.take(~replaced[plain.block])
    parts = WordColumns.joined([kept, squeezed, judged.words()])
    order = np.argsort(parts.block, kind="stable")
    place = np.empty_like(order)
    place[order] = np.arange(len(order))
    first = len(kept.block) + len(squeezed.block)
    by_grammar = np.zeros(len(blocks), np.bool_)
    by_grammar[for_grammar] = True
    rows = ~by_grammar[blocks.comment_block]
    comments = np.array(judged.comments, np.int64).reshape(-1, 3)
    comment_start = np.concatenate((blocks.comment_start[rows], comments[:, 0]))
    in_order = np.argsort(comment_start, kind="stable")
    flags = blocks.flags.copy()
    flags[for_grammar] = judged.flags
    words = parts.take(order)
    return replace(
        blocks,
        flags=flags,
        letter=words.letter,
        mantissa=words.mantissa,
        decimals=words.decimals,
        start=words.start,
        number=words.number,
        end=words.end,
        block=words.block,
        comment_start=comment_start[in_order],
        comment_end=np.concatenate((blocks.comment_end[rows], comments[:, 1]))[in_order],
        comment_block=np.concatenate((blocks.comment_block[rows], comments[:, 2]))[in_order],
        expressions={int(place[first + row]): value for row, value in judged.expressions.items()},
        settings=tuple(judged.settings),
    )


class _Judged:
    """Lines read by the grammar, collected in text order."""

    def __init__(self) -> None:
        self._rows: list[tuple[int, int, int, int, int, int, int]] = []
        self.comments: list[tuple[int, int, int]] = []
        self.expressions: dict[int, Expression] = {}
        self.settings: list[Setting] = []
        self.flags: list[int] = []

    def read(self, blocks: Blocks, line: int, skip: int) -> None:
        # Imported here: most programs are plain throughout, and lark takes longer to start than to read them.
        from flipreg.rs274.parse import BlockSyntaxError, parse_block

        first = int(blocks.line_start[line]) + skip
        text = blocks.text[first : int(blocks.line_end[line])].decode("latin-1")
        try:
            parsed = parse_block(text)
        except BlockSyntaxError as error:
            where = blocks.location(line, first + error.start, first + error.end)
            raise ProgramError(error.message, where, blocks.line(line)) from None
        self.flags.append(int(parsed.flags))
        for letter, value, start, number, end in parsed.words:
            mantissa, decimals = (0, EXPRESSION)
            if isinstance(value, tuple):
                mantissa, decimals = value
            else:
                self.expressions[len(self._rows)] = value
            row = (ord(letter), mantissa, decimals, first + start, first + number, first + end, line)
            self._rows.append(row)
        self.comments.extend((first + start, first + end, line) for start, end in parsed.comments)
        self.settings.extend(
            Setting(each.index, each.value, line, first + each.start, first + each.end)
            for each in parsed.settings
        )

    def words(self) -> WordColumns:
        columns = np.array(self._rows, np.int64).reshape(-1, 7).T
        letter, mantissa, decimals, start, number, end, block = columns
        return WordColumns(
            letter.astype(np.uint8), mantissa, decimals.astype(np.uint8), start, number, end, block
        )


def _blocks(
    text: bytes,
    source: str,
    first_line: int,
    layout: Layout,
    flags: Bytes,
    words: WordColumns,
    comments: Comments,
) -> Blocks:
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


def _words_of(blocks: Blocks) -> WordColumns:
    return WordColumns(
        blocks.letter, blocks.mantissa, blocks.decimals, blocks.start, blocks.number, blocks.end, blocks.block
    )


def _no_words() -> WordColumns:
    empty, letters = np.empty(0, np.int64), np.empty(0, np.uint8)
    return WordColumns(letters, empty, letters, empty, empty, empty, empty)
