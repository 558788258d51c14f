"""Motions of a chunk: which block moves, from where to where."""

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Kind
from flipreg.rs274.code_groups import APART_CODES, Group
from flipreg.rs274.code_numbers import OFFSET_CODES, G
from flipreg.rs274.interpret.chunk import Chunk, in_mm
from flipreg.rs274.interpret.column import at, constant, held, is_constant
from flipreg.rs274.interpret.frame import Point
from flipreg.rs274.interpret.motion_rows import MotionRows
from flipreg.rs274.interpret.position import GRID_PER_MM, positions_after
from flipreg.rs274.interpret.state import NO_MOTION, Modes, State

__all__ = ["motion_rows"]

_NEED_WALK = np.array(sorted(APART_CODES | {*OFFSET_CODES}), np.int16)

Index = NDArray[np.int64]
Floats = NDArray[np.float64]


def motion_rows(chunk: Chunk, modes: Modes, state: State, turning: NDArray[np.int8]) -> MotionRows:
    """Return the motions of a chunk.

    Parameters
    ----------
    chunk : Chunk
        The executed blocks.
    modes : Modes
        Their modes.
    state : State
        What was known before the chunk.
    turning : int8 array, shape (b,)
        The spindle's direction in each block, as in `State`.

    Raises
    ------
    ProgramError
        At axis words while no motion is in force, and at canned cycles that cannot be carried out.
    RefusedError
        At coordinates that have no place in the frame of the program's motions.
    """
    moves = np.arange(chunk.size) if chunk.moving.all() else np.flatnonzero(chunk.moving)
    codes = at(modes.motion, moves)
    highest = int(codes.max(initial=0))
    if highest >= NO_MOTION:
        idle = np.flatnonzero(codes == NO_MOTION)
        if idle.size:
            row = chunk.words.first_row(int(moves[idle[0]]), "XYZ")
            found = chunk.blocks.spelling(row)
            message = f"{found}, but no motion is in force here; expected G0, G1, G2, G3 or a canned cycle before it"
            raise chunk.blocks.error(message, row=row)
    if highest > G.COUNTER_CLOCKWISE or _needs_walk(chunk, modes, state, moves):
        from flipreg.rs274.interpret.walk import walked

        return walked(chunk, modes, state, turning)
    return _plain(chunk, modes, state, moves, codes)


def _needs_walk(chunk: Chunk, modes: Modes, state: State, moves: Index) -> bool:
    """Return whether blocks besides the moves change where the point is, or what its numbers mean."""
    frame = state.frame
    if frame.lost or (any(frame.forgotten) and bool(modes.incremental.any())):
        return True
    non_modal = chunk.g.of(Group.NON_MODAL)
    if len(non_modal) and bool(np.isin(non_modal.code, _NEED_WALK).any()):
        return True
    if _forgets_height(chunk, modes, state):
        return True
    offsets = modes.work_offset
    if is_constant(offsets) and (not len(offsets) or int(offsets[0]) == state.work_offset):
        return False
    last = int(np.flatnonzero(np.diff(offsets, prepend=np.uint8(state.work_offset)))[-1])
    is_unknown = all(coordinate != coordinate for coordinate in state.position_mm)
    return not is_unknown or (bool(len(moves)) and int(moves[0]) < last)


def _forgets_height(chunk: Chunk, modes: Modes, state: State) -> bool:
    """Return whether a tool length offset changes where Z is known."""
    lengths = modes.length_offset
    if is_constant(lengths) and (not len(lengths) or int(lengths[0]) == state.length_offset):
        return False
    last = int(np.flatnonzero(np.diff(lengths, prepend=np.int32(state.length_offset)))[-1])
    heights = chunk.axes[2].block
    z = state.position_mm[2]
    return z == z or (bool(len(heights)) and int(heights[0]) < last)


def _plain(chunk: Chunk, modes: Modes, state: State, moves: Index, codes: NDArray[np.int16]) -> MotionRows:
    count = len(moves)
    points = np.empty((3, count + 1))
    assumed, forgotten, named = list(state.assumed_zero), list(state.frame.forgotten), state.frame.named
    first_bit = 3 * (int(modes.work_offset[-1]) - 1) if len(modes.work_offset) else 0
    in_order = None if count == chunk.size else np.cumsum(chunk.moving) - 1
    for axis, letter in enumerate(chunk.axes):
        before = state.position_mm[axis]
        points[axis, 0] = before
        if not len(letter):
            points[axis, 1:] = before
            continue
        incremental = modes.incremental[:1] if is_constant(modes.incremental) else at(modes.incremental, letter.block)
        assumed[axis] |= before != before and bool(incremental[0])
        offset = state.frame.offset_mm[axis]
        words = in_mm(letter, modes.inch)
        if offset:
            words = np.where(incremental, words, np.rint((words + offset) * GRID_PER_MM) / GRID_PER_MM)
        # An increment from a coordinate that nobody named starts at program zero.
        reached = positions_after(offset if before != before else before, words, incremental)
        forgotten[axis] = False
        named |= 1 << first_bit + axis
        if len(letter) == count:
            points[axis, 1:] = reached
        else:
            move = letter.block if in_order is None else in_order.take(letter.block)
            points[axis, 1:] = held(np.float64(before), move, reached, count)
    return MotionRows(
        block=moves,
        kind=_kinds(codes),
        cycle=constant(np.uint8(0), count),
        start=points[:, :-1].T,
        end=points[:, 1:].T,
        position_mm=_point(points[:, -1].tolist()),
        assumed_zero=_flags(assumed),
        run=state.cycle,
        frame=state.frame._replace(forgotten=_flags(forgotten), named=named),
        origin_mm=modes.origin_mm,
    )


def _kinds(codes: NDArray[np.int16]) -> NDArray[np.uint8]:
    if codes.strides == (0,) and len(codes):
        return constant(np.uint8(min(int(codes[0]) // 10, Kind.ARC)), len(codes))
    return (codes > 0).astype(np.uint8) + (codes >= 20)


def _point(values: list[float]) -> Point:
    x, y, z = values
    return x, y, z


def _flags(values: list[bool]) -> tuple[bool, bool, bool]:
    x, y, z = values
    return x, y, z
