"""Words compared one by one: whatever is not a coordinate has to be in the output as it is in the source."""

from itertools import zip_longest

import numpy as np
from numpy.typing import NDArray

from flipreg.errors import ProofError
from flipreg.prove.read import Read
from flipreg.rs274.code_numbers import WITH_MACHINE_COORDINATES
from flipreg.rs274.read.blocks import BlockFlag, Blocks
from flipreg.rs274.read.comments import flat_spans

__all__ = ["compare_words", "compared_rows"]

Floats = NDArray[np.float64]

_COORDINATES = "XYZIJKR"

_ONE_OF_A_PAIR = {30: 20, 190: 180, 420: 410}
"""G codes that an isometry may exchange, ten times each; which one is right is for the motions to show."""

_ARC_CODES = (20, 30)

_LAST_MOVE, _FIRST_CYCLE, _BEHIND_CYCLES = 30, 800, 900
"""Motion codes, ten times each: G0 to G3, and G80 to G89."""


def compare_words(source: Read, output: Read) -> None:
    """Check that all that is not a coordinate is in the output, word for word.

    Raises
    ------
    ProofError
        At the first word, comment or line that is not.
    """
    ours, theirs = source.blocks, output.blocks
    if len(ours) != len(theirs) or not np.array_equal(ours.flags, theirs.flags):
        raise ProofError(f"{ours.source}:{ours.first_line}: lines would be lost or added")
    if len(ours) and ours.flags[-1] & BlockFlag.AFTER_END and ours.text != theirs.text:
        raise ProofError(f"{ours.source}:{ours.first_line}: text after the end would change")
    _compare_comments(ours, theirs)
    _compare_settings(ours, theirs)
    _compare_unexecuted(source, output)
    one, other = compared_rows(source), compared_rows(output)
    values, new_values = _canonical(source, one), _canonical(output, other)
    if len(other) > len(one):
        # Where a modal arc has to change its sense between two blocks, or the block before is spelled out, the code
        # is named again.
        wanted = ~_named_again((ours, one, values), (theirs, other, new_values))
        other, new_values = other[wanted], new_values[wanted]
    size = min(len(one), len(other))
    different = (values[:size] != new_values[:size]) & ~(np.isnan(values[:size]) & np.isnan(new_values[:size]))
    different |= ours.letter.take(one[:size]) != theirs.letter.take(other[:size])
    different |= ours.block.take(one[:size]) != theirs.block.take(other[:size])
    if different.any():
        raise _changed_word(ours, int(one[int(np.argmax(different))]))
    if len(one) > size:
        raise _changed_word(ours, int(one[size]))
    if len(other) > size:
        line, word = ours.first_line + int(theirs.block[other[size]]), theirs.spelling(int(other[size]))
        raise ProofError(f"{ours.source}:{line}: {word} would be added")


def compared_rows(read: Read) -> NDArray[np.intp]:
    """Return the rows of the words that are no coordinates of the program's motions."""
    wanted = np.ones(len(read.blocks.letter), np.bool_)
    for letter in _COORDINATES:
        # Seven comparisons of bytes take less time than looking all of them up.
        wanted &= read.blocks.letter != ord(letter)
    machine = [block for block, apart in read.modes.apart.items() if apart.code in WITH_MACHINE_COORDINATES]
    if machine:
        wanted |= np.isin(read.blocks.block, machine)
    if read.modes.idle.size:
        rows = np.flatnonzero(~wanted)
        wanted[rows] = read.modes.is_idle(read.blocks.block[rows], read.blocks.letter[rows])
    return np.flatnonzero(wanted)


def _changed_word(blocks: Blocks, row: int) -> ProofError:
    line = blocks.first_line + int(blocks.block[row])
    return ProofError(f"{blocks.source}:{line}: {blocks.spelling(row)} would change")


def _canonical(read: Read, rows: NDArray[np.intp]) -> Floats:
    """Return the words' values, with codes that an isometry may exchange made alike."""
    values = read.modes.values.take(rows)
    is_g = np.flatnonzero(read.blocks.letter.take(rows) == ord("G"))
    code = np.rint(values.take(is_g) * 10)
    for one, other in _ONE_OF_A_PAIR.items():
        code[code == one] = other
    values[is_g] = code
    return values


_Compared = tuple[Blocks, NDArray[np.intp], Floats]
"""A chunk, the rows that are compared, and their canonical values."""


def _named_again(source: _Compared, output: _Compared) -> NDArray[np.bool_]:
    """Return which of the output's rows are codes of arcs and cycles in blocks that name no motion in the source."""
    blocks, rows, values = source
    names_motion = np.zeros(len(blocks), np.bool_)
    motion = (blocks.letter[rows] == ord("G")) & ((values <= _LAST_MOVE) | (values >= _FIRST_CYCLE))
    names_motion[blocks.block[rows[motion & (values < _BEHIND_CYCLES)]]] = True
    blocks, rows, values = output
    is_cycle = (values > _FIRST_CYCLE) & (values < _BEHIND_CYCLES)
    is_code = (blocks.letter[rows] == ord("G")) & (np.isin(values, _ARC_CODES) | is_cycle)
    again: NDArray[np.bool_] = is_code & ~names_motion[blocks.block[rows]]
    return again


def _compare_comments(ours: Blocks, theirs: Blocks) -> None:
    length, new_length = ours.comment_end - ours.comment_start, theirs.comment_end - theirs.comment_start
    if np.array_equal(length, new_length) and np.array_equal(ours.comment_block, theirs.comment_block):
        at, new_at = (flat_spans(b.comment_start, b.comment_end) for b in (ours, theirs))
        text, new_text = (np.frombuffer(b.text, np.uint8) for b in (ours, theirs))
        if np.array_equal(text[at], new_text[new_at]):
            return
    raise ProofError(f"{ours.source}:{ours.first_line}: a comment would change")


def _compare_settings(ours: Blocks, theirs: Blocks) -> None:
    for mine, made in zip_longest(ours.settings, theirs.settings):
        if mine is None or made is None or (mine.index, mine.value) != (made.index, made.value):
            line = ours.first_line + (mine.block if mine else len(ours) - 1)
            raise ProofError(f"{ours.source}:{line}: a parameter setting would change")


def _compare_unexecuted(source: Read, output: Read) -> None:
    """Check that lines after the end of the program, whose words move nothing, are the same text."""
    if source.modes.executes.all() and output.modes.executes.all():
        return
    ours, theirs = (
        read.blocks.text[read.blocks.line_start[len(read.blocks) - count] :] if count else b""
        for read in (source, output)
        for count in [int(np.count_nonzero(~read.modes.executes))]
    )
    if ours != theirs:
        blocks = source.blocks
        raise ProofError(f"{blocks.source}:{blocks.first_line}: text after the end would change")
