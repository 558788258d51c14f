"""Rows of a chunk's words by what they are: the context a rewrite needs."""

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.block import Blocks
from flipreg.rs274.column import at
from flipreg.rs274.state import Modes

__all__ = ["IJK", "XYZ", "is_incremental", "rows_of", "word_in_block"]

Index = NDArray[np.int64]
Flags = NDArray[np.bool_]

XYZ, IJK = "XYZ", "IJK"
"""Letters of points and of arc centres, by axis."""

_FIRST_CYCLE = 810
_BACK_BORING = 870


def rows_of(blocks: Blocks, modes: Modes, letter: str) -> Index:
    """Return the rows of a letter's words in blocks that are executed."""
    rows = blocks.rows(letter)
    if not rows.size:
        return rows
    executes = at(modes.executes, blocks.block.take(rows))
    return rows if executes.all() else rows[executes]


def is_incremental(blocks: Blocks, modes: Modes, rows: Index) -> Flags:
    """Return which words are increments; rows are X, Y, Z words, I, J, K words, or R words of cycles."""
    block = blocks.block[rows]
    incremental = at(modes.incremental, block)
    letter = blocks.letter[rows]
    centre = (letter >= ord("I")) & (letter <= ord("K"))
    if not centre.any():
        return incremental
    motion, normal = at(modes.motion, block), at(modes.normal, block)
    # The level of back boring along the hole's axis is a position; across it I, J, K are always increments.
    level = (motion == _BACK_BORING) & (letter - ord("I") == normal)
    arc_centre = (motion < _FIRST_CYCLE) & at(modes.absolute_centres, block)
    return np.where(centre, ~(arc_centre | (level & ~incremental)), incremental)


def word_in_block(blocks: Blocks, rows: Index) -> Index:
    """Return, for each block, the row of its word among the named ones, or -1."""
    found = np.full(len(blocks), -1)
    found[blocks.block[rows]] = rows
    return found
