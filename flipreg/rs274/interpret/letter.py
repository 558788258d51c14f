"""A program held to the letter of the report: every habit is an error."""

import numpy as np

from flipreg.rs274.interpret.state import Modes
from flipreg.rs274.read.blocks import BlockFlag, Blocks
from flipreg.rs274.read.habit import WHOLE_LINE, Habit, Noticed, Notices
from flipreg.rs274.read.location import ProgramError

__all__ = ["hold_to_report"]

_LONGEST_LINE = 256
"""Characters of a line, its end among them (NISTIR 6556, 3.3.1)."""

_BOM = b"\xef\xbb\xbf"


def hold_to_report(blocks: Blocks, modes: Modes) -> None:
    """Raise the error of the first line that has a habit.

    Raises
    ------
    ProgramError
        At the first such line of the chunk.
    """
    found = (*blocks.habits, *_unsaid(blocks), *modes.habits)
    noticed = [each for each in found if each.habit.value.instead]
    if noticed:
        first = min(noticed, key=lambda each: (int(each.line[0]), int(each.start[0])))
        block, start = int(first.line[0]) - blocks.first_line, int(first.start[0])
        if start == WHOLE_LINE:
            raise blocks.block_error(first.habit.complaint, block=block)
        where = blocks.location(block, start, _end(blocks, block, start))
        raise ProgramError(first.habit.complaint, where, blocks.line(block))


def _end(blocks: Blocks, block: int, start: int) -> int:
    """Return the end of the word or of the comment that begins at a place, or else the place after one character."""
    starts = np.concatenate([blocks.start, blocks.comment_start])
    ends = np.concatenate([blocks.end, blocks.comment_end])
    here = np.flatnonzero(starts == start)
    return int(ends[here[0]]) if here.size else min(start + 1, int(blocks.line_end[block]))


def _unsaid(blocks: Blocks) -> tuple[Noticed, ...]:
    """Return the habits of lines that nobody has to be told of, and that are looked for here only."""
    notices = Notices(blocks.first_line)
    starts, ends = blocks.comment_start.tolist(), blocks.comment_end.tolist()
    for start, end, block in zip(starts, ends, blocks.comment_block.tolist(), strict=True):
        if blocks.text[start : start + 1] == b";":
            notices.add(Habit.REMARK, [block], [start])
        elif b"(" in blocks.text[start + 1 : end]:
            notices.add(Habit.NESTED_COMMENT, [block], [start])
    read = (blocks.flags & BlockFlag.AFTER_END) == 0
    long = np.flatnonzero(read & (blocks.line_end - blocks.line_start >= _LONGEST_LINE))
    notices.add(Habit.LONG_LINE, long, blocks.line_start[long] + _LONGEST_LINE - 1)
    numbers = blocks.rows("O")
    notices.add(Habit.PROGRAM_NUMBER, blocks.block[numbers], blocks.start[numbers])
    for block in np.flatnonzero(blocks.flags & BlockFlag.PERCENT).tolist():
        if blocks.line(block).strip(" \t" + _BOM.decode("latin-1")) != "%":
            notices.add(Habit.PROGRAM_MARK, [block])
    if blocks.first_line == 1 and blocks.text.startswith(_BOM):
        notices.add(Habit.BYTE_ORDER_MARK, [0])
    return notices.found()
