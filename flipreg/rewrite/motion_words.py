"""The words of a program's motions, as lists: quick to look up one by one, motion after motion."""

from decimal import Decimal

import numpy as np

from flipreg.rewrite.junction import blocks_that_name_motion
from flipreg.rewrite.rows import rows_of, word_in_block
from flipreg.rewrite.turnable import MOTION_CODES
from flipreg.rs274.interpret.whole import Whole
from flipreg.rs274.read.blocks import EXPRESSION

__all__ = ["MotionWords"]

_SAID_AGAIN = b"XYZIJKRF"
_BLANKS = b" \t\xc2\xa0"


class MotionWords:
    """What each block names, and where each motion's end was named last.

    Parameters
    ----------
    whole : Whole
        The program.

    Attributes
    ----------
    line : list of int
        The line of each motion.
    word : mapping from letter to list of int
        For each block the row of its word with the letter, -1 where it has none: X, Y, Z, I, J and R.
    names_motion : list of bool
        Whether each block names its motion code.
    """

    def __init__(self, whole: Whole) -> None:
        blocks, modes, path = whole.blocks, whole.modes, whole.path
        words = {letter: word_in_block(blocks, rows_of(blocks, modes, letter)) for letter in "XYZIJR"}
        self.word: dict[str, list[int]] = {letter: rows.tolist() for letter, rows in words.items()}
        self.line: list[int] = path.line.tolist()
        self.names_motion: list[bool] = blocks_that_name_motion(whole).tolist()
        self._blocks = blocks
        self._number: list[int] = blocks.number.tolist()
        self._end: list[int] = blocks.end.tolist()
        block = path.line - 1
        rows = np.arange(len(block))
        # Where no axis offset is ever set one row stands for all blocks.
        origins = modes.origins(block)
        self._ends: dict[str, list[int]] = {}
        for letter in "XYZ":
            named = words[letter][block]
            last = np.maximum.accumulate(np.where(named >= 0, rows, -1))
            at = np.maximum(last, 0)
            # A number that one row wrote is the number that another would write for the same place.
            plain = (last >= 0) & (path.cycle[at] == 0) & ~modes.incremental[block[at]]
            plain &= modes.inch[block[at]] == modes.inch[block]
            if len(modes.origin_mm) > 1:
                plain &= (origins[at] == origins).all(axis=1)
            if len(named):
                plain &= blocks.decimals[named[at]] != EXPRESSION
            self._ends[letter] = np.where(plain, named[at], -1).tolist()
        unknown = np.array([self._ends[letter] for letter in "XYZ"]) < 0
        self._unknown: list[int] = np.concatenate(([0], np.cumsum(unknown.any(axis=0)))).tolist()
        self._said, self._bounds = self._words_said_again(whole)
        self._with_comment = set(blocks.comment_block.tolist())

    def unknown_end(self, first: int, last: int) -> str:
        """Return the first coordinate that no plain number names for the ends of some motions; `""` for none."""
        if first >= 0 and self._unknown[first] == self._unknown[last + 1]:
            return ""
        rows = range(first, last + 1)
        return next(letter for row in rows for letter in "XYZ" if row < 0 or self._ends[letter][row] < 0)

    def end(self, letter: str, row: int) -> bytes:
        """Return a coordinate of a motion's end as it was written last."""
        return self.text(self._ends[letter][row])

    def text(self, word: int) -> bytes:
        """Return the number of a word as it is written, without blanks."""
        return self._blocks.text[self._number[word] : self._end[word]].translate(None, _BLANKS)

    def value(self, word: int) -> Decimal:
        """Return the number of a literal word; 0 for none."""
        return Decimal(0) if word < 0 else Decimal(self.text(word).decode())

    def spans_of_motion(self, line: int) -> list[tuple[int, int]]:
        """Return where a line says its motion: the code, the coordinates and the feed, one span where that will do."""
        low, high = self._bounds[line - 1], self._bounds[line]
        rows, blocks = self._said[low:high], self._blocks
        if line - 1 not in self._with_comment and rows[-1] - rows[0] == len(rows) - 1:
            return [(int(blocks.start[rows[0]]), self._end[rows[-1]])]
        spans = [(int(blocks.start[rows[0]]), self._end[rows[0]])]
        for row in rows[1:]:
            start = int(blocks.start[row])
            while blocks.text[start - 1 : start] in (b" ", b"\t"):
                start -= 1
            spans.append((start, self._end[row]))
        return spans

    def _words_said_again(self, whole: Whole) -> tuple[list[int], list[int]]:
        """Return the rows of the words that a motion is said with, and how many there are before each block."""
        blocks, values = whole.blocks, whole.modes.values
        is_code = (blocks.letter == ord("G")) & np.isin(np.round(values, 1), MOTION_CODES)
        said = np.flatnonzero(np.isin(blocks.letter, list(_SAID_AGAIN)) | is_code)
        return said.tolist(), np.searchsorted(blocks.block[said], np.arange(len(blocks) + 1)).tolist()
