"""Feed, spindle and tool of a chunk's blocks, as columns (NISTIR 6556, 3.6 and 3.7)."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.interpret.chunk import Chunk, in_mm
from flipreg.rs274.interpret.column import held
from flipreg.rs274.interpret.state import Modes, State

__all__ = ["Technology", "technology"]

Floats = NDArray[np.float64]

_WHOLE = 1e-4
"""How far from a whole number a tool number may be (3.3.2.1)."""

_CHANGE = 6
_TURNING = {3: 1, 4: -1, 5: 0}


class Technology(NamedTuple):
    """What the machine is told besides its travel, one row a block.

    Attributes
    ----------
    feed_mm_per_min : float64, shape (b,)
        The modal feed; F words of inverse-time blocks are not part of it.
    speed_rpm : float64, shape (b,)
    turning : int8, shape (b,)
        1 for M3, -1 for M4, 0 for M5 and after a tool change.
    tool : int32, shape (b,)
        The tool in the spindle, -1 where none was named.
    tool_selected : int
        The last T of the chunk.
    """

    feed_mm_per_min: Floats
    speed_rpm: Floats
    turning: NDArray[np.int8]
    tool: NDArray[np.int32]
    tool_selected: int


def technology(chunk: Chunk, modes: Modes, state: State) -> Technology:
    """Return the technology columns of a chunk.

    Raises
    ------
    ProgramError
        At a negative F or S, and at a T that is not a whole number of 0 or more.
    """
    speed = chunk.words["S"]
    _refuse(chunk, "S", speed.value < 0, "expected a spindle speed of 0 or more")
    tool, selected = _tools(chunk, state)
    return Technology(
        feed_mm_per_min=_feeds(chunk, modes, state),
        speed_rpm=held(np.float64(state.speed_rpm), speed.block, speed.value, chunk.size),
        turning=_turning(chunk, state),
        tool=tool,
        tool_selected=selected,
    )


def _feeds(chunk: Chunk, modes: Modes, state: State) -> Floats:
    words = chunk.words["F"]
    _refuse(chunk, "F", words.value < 0, "expected a feed of 0 or more")
    block, value = words.block, in_mm(words, modes.inch)
    per_minute = ~modes.inverse_time.take(block)
    if not per_minute.all():
        block, value = block[per_minute], value[per_minute]
    return held(np.float64(state.feed_mm_per_min), block, value, chunk.size)


def _turning(chunk: Chunk, state: State) -> NDArray[np.int8]:
    """Return the spindle's direction; a tool change stops it before M3 or M4 in the same block starts it."""
    direction: dict[int, int] = {}
    for block, code in zip(chunk.m.block.tolist(), chunk.m.code.tolist(), strict=True):
        if code in _TURNING:
            direction[block] = _TURNING[code]
        elif code == _CHANGE:
            direction.setdefault(block, 0)
    blocks = np.fromiter(direction.keys(), np.int64, len(direction))
    values = np.fromiter(direction.values(), np.int8, len(direction))
    return held(np.int8(state.turning), blocks, values, chunk.size)


def _tools(chunk: Chunk, state: State) -> tuple[NDArray[np.int32], int]:
    """Return the tool in the spindle and the tool selected last; T comes before M6 in its block."""
    words = chunk.words["T"]
    number = np.rint(words.value)
    wrong = (number < 0) | (np.abs(words.value - number) > _WHOLE) | (number > np.iinfo(np.int32).max)
    _refuse(chunk, "T", wrong, "expected a tool number, a whole number of 0 or more")
    known = np.concatenate([[state.tool_selected], number]).astype(np.int32)
    change = chunk.m.block[chunk.m.code == _CHANGE]
    at_change = known[np.searchsorted(words.block, change, side="right")]
    return held(np.int32(state.tool), change, at_change, chunk.size), int(known[-1])


def _refuse(chunk: Chunk, letter: str, wrong: NDArray[np.bool_], expected: str) -> None:
    found = np.flatnonzero(wrong)
    if found.size:
        row = int(chunk.words[letter].row[found[0]])
        raise chunk.blocks.error(f"{chunk.blocks.spelling(row)}, {expected}", row=row)
