"""A refusal of a mirrored program, told at the source's own line."""

import numpy as np

from flipreg.rs274.read.blocks import Blocks
from flipreg.rs274.read.location import RefusedError
from flipreg.rs274.read.program import Readable
from flipreg.rs274.read.scanner import scan_chunks

__all__ = ["told_at_source"]


def told_at_source(error: RefusedError, program: Readable) -> RefusedError:
    """Return a refusal of a program that has the words of another one, line by line, told at the line of that one.

    Parameters
    ----------
    error : RefusedError
        Points at a word or at a block of the program that was made.
    program : Program or ProgramFile
        The source.
    """
    place = error.location
    (made,) = scan_chunks([error.excerpt.encode("latin-1") + b"\n"], place.source)
    for blocks in scan_chunks(program.pieces(), program.source):
        block = place.line - blocks.first_line
        if block < len(blocks):
            break
    words, own = _words(made, 0), _words(blocks, block)
    at = [row for row in words if int(made.start[row]) == place.column - 1]
    told = blocks.block_error(error.message, block=block)
    if at and len(words) == len(own) and place.end_column <= int(made.end[at[0]]) + 1:
        told = blocks.error(error.message, row=own[words.index(at[0])])
    return RefusedError(told.message, told.location, told.excerpt)


def _words(blocks: Blocks, block: int) -> list[int]:
    return np.flatnonzero(blocks.block == block).tolist()
