"""Rows of a chunk's words by what they are: the context a rewrite needs."""

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.code_numbers import CYCLES, WITH_MACHINE_COORDINATES, G
from flipreg.rs274.interpret.column import at
from flipreg.rs274.interpret.state import Modes
from flipreg.rs274.read.blocks import Blocks

__all__ = ["IJK", "XYZ", "is_incremental", "points_of", "rows_of", "word_in_block"]

Index = NDArray[np.int64]
Flags = NDArray[np.bool_]

XYZ, IJK = "XYZ", "IJK"
"""Letters of points and of arc centres, by axis."""



def rows_of(blocks: Blocks, modes: Modes, letter: str) -> Index:
    """Return the rows of a letter's words in blocks that are executed, but not of those that are no lengths."""
    rows = blocks.rows(letter)
    if not rows.size:
        return rows
    if not modes.executes.all():
        rows = rows[modes.executes.take(blocks.block.take(rows))]
    return rows[~modes.is_idle(blocks.block[rows], blocks.letter[rows])] if modes.idle.size else rows


def points_of(blocks: Blocks, modes: Modes, letter: str) -> Index:
    """Return the rows of an axis' words that are in program coordinates: not those of G10 and G53."""
    rows = rows_of(blocks, modes, letter)
    machine = [block for block, apart in modes.apart.items() if apart.code in WITH_MACHINE_COORDINATES]
    return rows[~np.isin(blocks.block[rows], machine)] if machine else rows


def is_incremental(blocks: Blocks, modes: Modes, rows: Index) -> Flags:
    """Return which words are increments; rows are X, Y, Z words, I, J, K words, or R words of cycles."""
    block = blocks.block[rows]
    incremental = at(modes.incremental, block)
    axis_offsets = [block for block, apart in modes.apart.items() if apart.code == G.AXIS_OFFSET]
    if axis_offsets:
        # G92 takes no notice of the distance mode (NISTIR 6556, 3.5.18).
        incremental = incremental & ~np.isin(block, axis_offsets)
    letter = blocks.letter[rows]
    centre = (letter >= ord("I")) & (letter <= ord("K"))
    if not centre.any():
        return incremental
    motion, normal = at(modes.motion, block), at(modes.normal, block)
    # The level of back boring along the hole's axis is a position; across it I, J, K are always increments.
    level = (motion == G.BACK_BORING) & (letter - ord("I") == normal)
    arc_centre = (motion < CYCLES[0]) & at(modes.absolute_centres, block)
    return np.where(centre, ~(arc_centre | (level & ~incremental)), incremental)


def word_in_block(blocks: Blocks, rows: Index) -> Index:
    """Return, for each block, the row of its word among the named ones, or -1."""
    found = np.full(len(blocks), -1)
    found[blocks.block[rows]] = rows
    return found
