"""The words of a program's motions, as lists: quick to look up one by one, motion after motion."""

from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from flipreg.rewrite.climb.turnable import MOTION_CODES
from flipreg.rewrite.text.junction import blocks_that_name_motion
from flipreg.rewrite.text.rows import rows_of, word_in_block
from flipreg.rs274.interpret.whole import Whole
from flipreg.rs274.read.blocks import EXPRESSION

__all__ = ["MotionWords"]

_SAID_AGAIN = b"XYZIJKRF"
_BLANKS = b" \t\xc2\xa0"

Index = NDArray[np.int64]


class MotionWords:
    """What each block names, and where each motion's end was named last.

    Parameters
    ----------
    whole : Whole
        The program, or a piece of it.

    Attributes
    ----------
    line : list of int
        The line of each motion.
    word : mapping from letter to list of int
        For each block the row of its word with the letter, -1 where it has none: X, Y, Z, I, J and R.
    names_motion : list of bool
        Whether each block names its motion code.
    start, end_of_one : list of int
        Where each block says its motion, with a code, coordinates and a feed: the offset of the first of these words,
        -1 where there is none, and the one after the last, -1 where something else stands in between.
    """

    def __init__(self, whole: Whole) -> None:
        blocks, modes, path = whole.blocks, whole.modes, whole.path
        words = {letter: word_in_block(blocks, rows_of(blocks, modes, letter)) for letter in "XYZIJR"}
        self.word: dict[str, list[int]] = {letter: rows.tolist() for letter, rows in words.items()}
        self.line: list[int] = path.line.tolist()
        self.names_motion: list[bool] = blocks_that_name_motion(whole).tolist()
        self._blocks = blocks
        ends = [_named_plainly(whole, words[letter]) for letter in "XYZ"]
        self._is_unknown = np.array(ends) < 0
        self._unknown: list[int] = np.concatenate(([0], np.cumsum(self._is_unknown.any(axis=0)))).tolist()
        self._ends = {
            letter: (blocks.number[word].tolist(), blocks.end[word].tolist())
            for letter, word in zip("XYZ", ends, strict=True)
        }
        is_code = (blocks.letter == ord("G")) & np.isin(np.round(modes.values, 1), MOTION_CODES)
        said = np.flatnonzero(np.isin(blocks.letter, list(_SAID_AGAIN)) | is_code)
        bounds = np.searchsorted(blocks.block[said], np.arange(len(blocks) + 1))
        self._said, self._bounds = said, bounds.tolist()
        has = np.flatnonzero(bounds[1:] > bounds[:-1])
        first, last = said[bounds[has]], said[bounds[has + 1] - 1]
        is_one = (last - first == bounds[has + 1] - bounds[has] - 1) & ~np.isin(has, blocks.comment_block)
        start, end = np.full(len(blocks), -1), np.full(len(blocks), -1)
        start[has], end[has] = blocks.start[first], np.where(is_one, blocks.end[last], -1)
        self.start: list[int] = start.tolist()
        self.end_of_one: list[int] = end.tolist()

    def unknown_end(self, first: int, last: int) -> str:
        """Return the first coordinate that no plain number names for the ends of some motions; `""` for none.

        Before the first motion, -1, none is named.
        """
        if first < 0:
            return "X"
        if self._unknown[first] == self._unknown[last + 1]:
            return ""
        return "XYZ"[int(np.argmax(self._is_unknown[:, first : last + 1].T)) % 3]

    def end(self, letter: str, row: int) -> bytes:
        """Return a coordinate of a motion's end as it was written last, without blanks."""
        start, end = self._ends[letter]
        return self._blocks.text[start[row] : end[row]].translate(None, _BLANKS)

    def ends(self, letter: str, first: int, stop: int) -> list[bytes]:
        """Return what `end` does of several motions."""
        starts, ends = self._ends[letter]
        text = self._blocks.text
        spans = zip(starts[first:stop], ends[first:stop], strict=True)
        return [text[start:end].translate(None, _BLANKS) for start, end in spans]

    def text(self, word: int) -> bytes:
        """Return the number of a word as it is written, without blanks."""
        blocks = self._blocks
        return blocks.text[int(blocks.number[word]) : int(blocks.end[word])].translate(None, _BLANKS)

    def value(self, word: int) -> Decimal:
        """Return the number of a literal word; 0 for none."""
        return Decimal(0) if word < 0 else Decimal(self.text(word).decode())

    def between(self, line: int) -> tuple[bytes, int]:
        """Return what stands between the words of a line's motion, and where the last of them ends."""
        blocks, rows = self._blocks, self._said[self._bounds[line - 1] : self._bounds[line]].tolist()
        kept, done = [], int(blocks.end[rows[0]])
        for row in rows[1:]:
            kept.append(blocks.text[done : int(blocks.start[row])].rstrip(b" \t"))
            done = int(blocks.end[row])
        return b"".join(kept), done


def _named_plainly(whole: Whole, words: Index) -> Index:
    """Return for each motion the last word of a letter up to it; -1 where none is, or it isn't a number to write again.

    A number that one row wrote is the number that another would write for the same place.
    """
    blocks, modes, path = whole.blocks, whole.modes, whole.path
    block = path.line - 1
    named = words[block]
    last = np.maximum.accumulate(np.where(named >= 0, np.arange(len(block)), -1))
    at = np.maximum(last, 0)
    plain = (last >= 0) & (path.cycle[at] == 0) & ~modes.incremental[block[at]]
    plain &= modes.inch[block[at]] == modes.inch[block]
    if len(modes.origin_mm) > 1:
        plain &= (modes.origin_mm[block[at]] == modes.origin_mm[block]).all(axis=1)
    plain &= blocks.decimals[named[at]] != EXPRESSION
    return np.where(plain, named[at], -1)
