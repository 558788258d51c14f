"""Lines that are not plain: read again without their blanks, or read by the grammar."""

import re
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.read.blocks import EXPRESSION, BlockFlag, Blocks
from flipreg.rs274.read.comments import Comments, flat_spans
from flipreg.rs274.read.habit import Notices
from flipreg.rs274.read.line_layout import LineLayout
from flipreg.rs274.read.location import ProgramError
from flipreg.rs274.read.number_columns import PADDING
from flipreg.rs274.read.plain_blocks import WordColumns, labels_after_comments, scan_plain

if TYPE_CHECKING:
    from flipreg.rs274.read.expression import Expression, Setting

__all__ = ["read_irregular_lines"]

Index = NDArray[np.int64]
Bytes = NDArray[np.uint8]

_BLANK, _TAB, _LF = b" \t\n"
_PROGRAM_END = re.compile(r"[^(;]*M0*(?:2|30)(?![0-9.])", re.IGNORECASE)
"""A line whose program ends in it."""


def read_irregular_lines(  # noqa: PLR0913 - a text is three things
    blocks: Blocks,
    scratch: Bytes,
    layout: LineLayout,
    irregular: Index,
    for_grammar: Index,
    *,
    skip: int,
    notices: Notices,
) -> Blocks:
    """Return the blocks with the words of irregular lines put in.

    Parameters
    ----------
    blocks : Blocks
        The chunk with the words of its plain lines; rows of irregular lines are meaningless.
    scratch : uint8 array
        The text with comments masked.
    layout : LineLayout
        Its lines.
    irregular : int64, shape (k,)
        The lines to read, ascending.
    for_grammar : int64, shape (g,)
        Those of them that the grammar has to read in any case.
    skip : int
        Characters of a byte-order mark in front of the first line.
    notices : Notices
        Is told of habits.

    Raises
    ------
    ProgramError
        At the first line that the grammar refuses.
    """
    spaced = irregular[~np.isin(irregular, for_grammar)]
    comments = Comments(blocks.comment_start, blocks.comment_end, blocks.comment_block)
    squeezed = _scan_squeezed(scratch, layout, spaced, comments)
    judged = _Judged(notices)
    rest = irregular[~np.isin(irregular, squeezed.lines)]
    for line in rest.tolist():
        judged.read(blocks, line, skip if line == 0 else 0)
    flags = blocks.flags.copy()
    flags[squeezed.numbered] |= np.uint8(BlockFlag.PROGRAM_NUMBER)
    flags[rest] = judged.flags
    return _joined(replace(blocks, flags=flags), irregular, squeezed.words, rest, judged)


class _Squeezed(NamedTuple):
    """Words of lines that became plain without their blanks."""

    lines: Index
    words: WordColumns
    numbered: Index


def _scan_squeezed(scratch: Bytes, layout: LineLayout, lines: Index, comments: Comments) -> _Squeezed:
    """Read lines again with the blanks between letters and digits left out.

    Blanks mean nothing outside of comments (NISTIR 6556, 3.3), and comments are masked by now. Programs that
    put a blank after every letter would otherwise go through the grammar line by line.
    """
    if not lines.size:
        return _Squeezed(lines, WordColumns.none(), lines)
    at = flat_spans(layout.start[lines], layout.mark[lines] + 1)
    characters = scratch[at]
    seen = (characters != _BLANK) & (characters != _TAB)
    at = at[seen]
    padded = np.full(PADDING + len(at), _BLANK, np.uint8)
    padded[PADDING:] = characters[seen]
    plain = scan_plain(padded, np.flatnonzero(padded[PADDING:] == _LF))
    irregular = plain.irregular
    irregular[plain.slashed] = True
    words = plain.words
    start = at[words.start]
    moved = words._replace(start=start, number=at[words.number], end=at[words.end - 1] + 1)
    in_text = moved._replace(block=lines[words.block])
    after_comment = np.zeros(len(layout.start), np.bool_)
    after_comment[labels_after_comments(in_text, comments, len(layout.start))] = True
    irregular |= after_comment[lines]
    numbered = lines[plain.numbered[~irregular[plain.numbered]]]
    return _Squeezed(lines[~irregular], in_text.take(~irregular[words.block]), numbered)


def _joined(blocks: Blocks, irregular: Index, squeezed: WordColumns, judged_lines: Index, judged: "_Judged") -> Blocks:
    """Return the blocks with all words and comments in text order."""
    is_irregular, is_judged = np.zeros(len(blocks), np.bool_), np.zeros(len(blocks), np.bool_)
    is_irregular[irregular], is_judged[judged_lines] = True, True
    kept = _words_of(blocks).take(~is_irregular[blocks.block])
    parts = WordColumns.joined([kept, squeezed, judged.words()])
    order = np.argsort(parts.block, kind="stable")
    place = np.empty_like(order)
    place[order] = np.arange(len(order))
    first_judged = len(kept.block) + len(squeezed.block)
    words = parts.take(order)

    rows = ~is_judged[blocks.comment_block]
    comments = np.array(judged.comments, np.int64).reshape(-1, 3)
    comment_start = np.concatenate((blocks.comment_start[rows], comments[:, 0]))
    in_order = np.argsort(comment_start, kind="stable")
    return replace(
        blocks,
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
        expressions={int(place[first_judged + row]): value for row, value in judged.expressions.items()},
        settings=tuple(judged.settings),
    )


class _Judged:
    """Lines read by the grammar, collected in text order."""

    def __init__(self, notices: Notices) -> None:
        self._notices = notices
        self._rows: list[tuple[int, int, int, int, int, int, int]] = []
        self.comments: list[tuple[int, int, int]] = []
        self.expressions: dict[int, Expression] = {}
        self.settings: list[Setting] = []
        self.flags: list[int] = []

    def read(self, blocks: Blocks, line: int, skip: int) -> None:
        # Imported here: most programs are plain throughout, and lark takes longer to start than to read them.
        from flipreg.rs274.read.expression import Setting
        from flipreg.rs274.read.grammar import BlockSyntaxError, parse_block

        first = int(blocks.line_start[line]) + skip
        text = blocks.text[first : int(blocks.line_end[line])].decode("latin-1")
        try:
            parsed = parse_block(text)
        except BlockSyntaxError as error:
            where = blocks.location(line, first + error.start, first + error.end)
            message = error.message + _after_the_end(blocks, line)
            raise ProgramError(message, where, blocks.line(line)) from None
        self.flags.append(int(parsed.flags))
        for habit, at in parsed.habits:
            self._notices.add(habit, [line], [first + at])
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


def _after_the_end(blocks: Blocks, line: int) -> str:
    """Return what to add to the error of a line that stands after M2 or M30, as people's tool lists do."""
    ended = next((at for at in range(line) if _PROGRAM_END.match(blocks.line(at))), None)
    if ended is None:
        return ""
    end = blocks.first_line + ended
    return (
        f"; the program has ended in line {end}: write what stands after it in ( ), or put a line with % alone right "
        f"after line {end}, and one at the beginning where there is none"
    )


def _words_of(blocks: Blocks) -> WordColumns:
    return WordColumns(
        blocks.letter, blocks.mantissa, blocks.decimals, blocks.start, blocks.number, blocks.end, blocks.block
    )
