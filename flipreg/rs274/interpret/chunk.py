"""The part of a chunk that is executed, taken apart once: words by letter, codes, blocks that name axes."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.code_groups import AXIS_CODES, Group
from flipreg.rs274.code_numbers import PROGRAM_ENDS
from flipreg.rs274.interpret.code_columns import Codes, CodeWords, g_codes, m_codes
from flipreg.rs274.interpret.words import Letter, Words
from flipreg.rs274.read.blocks import Blocks
from flipreg.rs274.read.dialect import USUAL, Dialect
from flipreg.rs274.read.habit import Habit, Notices
from flipreg.units import INCH_MM

__all__ = ["Chunk", "in_mm"]

Index = NDArray[np.int64]
Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_AXES = "XYZ"
_AXIS_CODES = np.array(sorted(AXIS_CODES), np.int16)


class Chunk(NamedTuple):
    """Executed blocks of a chunk.

    Attributes
    ----------
    blocks : Blocks
        The whole chunk; blocks from `size` on are after the end of the program.
    size : int
        How many blocks are executed.
    ends : bool
        Whether the last of them ends the program.
    words : Words
        The words of executed blocks.
    g, m : Codes
        The G and M words of executed blocks.
    axes : tuple of three Letter
        The X, Y and Z words.
    named : bool, shape (3, size)
        Whether each block has an X, Y and Z word.
    moving : bool, shape (size,)
        Whether it makes a motion: by any of them that is not for G10, G28, G30 or G92 and no dwell, or by the centre of
        a full circle.
    passive : int64, shape (k,)
        Blocks with a code that somebody says moves nothing.
    notices : Notices
        Is told of habits.
    """

    blocks: Blocks
    size: int
    ends: bool
    words: Words
    g: Codes
    m: Codes
    axes: tuple[Letter, Letter, Letter]
    named: Flags
    moving: Flags
    passive: Index
    notices: Notices

    def note(self, habit: Habit, codes: Codes) -> None:
        """Note a habit at codes."""
        self.notices.add(habit, codes.block, self.blocks.start[codes.row])

    @classmethod
    def of(cls, blocks: Blocks, values: Floats, dialect: Dialect = USUAL) -> "Chunk":
        """Return the executed part of a chunk.

        Parameters
        ----------
        blocks : Blocks
            The chunk.
        values : float64, shape (n,)
            The values of its words.
        dialect : Dialect
            What somebody says of the language.

        Raises
        ------
        ProgramError
            At codes and words that may not stand in one block, and at unknown codes.
        """
        size, ends = _executed(blocks, values)
        stop = int(np.searchsorted(blocks.block, size)) if ends else len(blocks.letter)
        notices = Notices(blocks.first_line)
        words = Words(blocks, values, stop, notices)
        g_row, m_row = words.rows("G"), words.rows("M")
        own = dialect.codes("G"), dialect.codes("M")
        g = g_codes(CodeWords(blocks, g_row, blocks.block.take(g_row), values.take(g_row), own[0], notices))
        m = m_codes(CodeWords(blocks, m_row, blocks.block.take(m_row), values.take(m_row), own[1], notices))
        x, y, z = (words[letter] for letter in _AXES)
        named = np.zeros((3, size), np.bool_)
        for axis, letter in enumerate((x, y, z)):
            named[axis, letter.block] = True
        moving = named[0] | named[1] | named[2]
        apart = g.of(Group.NON_MODAL)
        if len(apart):
            moving[apart.where(np.isin(apart.code, _AXIS_CODES)).block] = False
        passive = notices.blocks_of(Habit.PASSIVE_CODE)
        return cls(blocks, size, ends, words, g, m, (x, y, z), named, moving, passive, notices)


def in_mm(letter: Letter, inch: Flags) -> Floats:
    """Return the values of length words in millimetres, shape (k,); `inch` is the column of all blocks."""
    if inch.strides == (0,):
        return letter.value * INCH_MM if inch[:1].any() else letter.value
    return np.where(inch.take(letter.block), letter.value * INCH_MM, letter.value)


def _executed(blocks: Blocks, values: Floats) -> tuple[int, bool]:
    """Return how many blocks are executed, and whether the program ends there."""
    rows = blocks.rows("M")
    if rows.size:
        ends = rows[np.isin(np.rint(values[rows]), PROGRAM_ENDS)]
        if ends.size:
            return int(blocks.block[ends[0]]) + 1, True
    return len(blocks), False
