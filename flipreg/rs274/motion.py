"""Motions of a chunk: which block moves, from where to where."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import partial

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Kind
from flipreg.rs274.chunk import INCH_MM, Chunk, in_mm
from flipreg.rs274.column import at, constant, held, is_constant
from flipreg.rs274.cycle import CycleBlock, Drilling, Point
from flipreg.rs274.location import ProgramError
from flipreg.rs274.position import positions_after
from flipreg.rs274.state import NO_MOTION, CycleWords, Modes, State

__all__ = ["MotionRows", "motion_rows"]

Index = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False, slots=True)
class MotionRows:
    """Motions in the order of execution, without their arcs' centres.

    Attributes
    ----------
    block : int64, shape (n,)
        The block that commands each.
    kind, cycle : uint8, shape (n,)
        As in `Path`.
    start, end : float64, shape (n, 3)
        Millimetres, program frame.
    spindle : mapping from row to factor
        Motions of canned cycles with the spindle stopped (0) or reversed (-1).
    position_mm, assumed_zero, run
        What `State` holds behind the chunk.
    """

    block: Index
    kind: NDArray[np.uint8]
    cycle: NDArray[np.uint8]
    start: Floats
    end: Floats
    position_mm: Point
    assumed_zero: tuple[bool, bool, bool]
    run: CycleWords | None
    spindle: Mapping[int, int] = field(default_factory=dict)


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
        The spindle's sense in each block, as in `State`.

    Raises
    ------
    ProgramError
        At axis words while no motion is in force, and at canned cycles that cannot be carried out.
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
        if highest > NO_MOTION:
            return _walked(chunk, modes, state, moves, turning)
    return _plain(chunk, modes, state, moves, codes)


def _plain(chunk: Chunk, modes: Modes, state: State, moves: Index, codes: NDArray[np.int16]) -> MotionRows:
    count = len(moves)
    points = np.empty((3, count + 1))
    assumed = list(state.assumed_zero)
    in_order = None if count == chunk.size else np.cumsum(chunk.moving) - 1
    for axis, letter in enumerate(chunk.axes):
        before = state.position_mm[axis]
        points[axis, 0] = before
        if not len(letter):
            points[axis, 1:] = before
            continue
        incremental = modes.incremental[:1] if is_constant(modes.incremental) else at(modes.incremental, letter.block)
        assumed[axis] |= before != before and bool(incremental[0])
        reached = positions_after(before, in_mm(letter, modes.inch), incremental)
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
    )


def _kinds(codes: NDArray[np.int16]) -> NDArray[np.uint8]:
    if codes.strides == (0,) and len(codes):
        return constant(np.uint8(min(int(codes[0]) // 10, Kind.ARC)), len(codes))
    return (codes > 0).astype(np.uint8) + (codes >= 20)


def _walked(chunk: Chunk, modes: Modes, state: State, moves: Index, turning: NDArray[np.int8]) -> MotionRows:
    """Return the motions of a chunk with canned cycles, whose levels depend on one another."""
    scale = np.where(at(modes.inch, moves), INCH_MM, 1.0)

    def listed(letter: str, *, length: bool = True) -> list[float]:
        column = chunk.words[letter].dense(chunk.size).take(moves)
        values: list[float] = (column * scale if length else column).tolist()
        return values

    before = np.concatenate([[np.int16(state.motion)], modes.motion[:-1]]).take(moves).tolist()
    codes = at(modes.motion, moves).tolist()
    columns = zip(
        moves.tolist(),
        at(modes.normal, moves).tolist(),
        at(modes.incremental, moves).tolist(),
        at(modes.initial_level, moves).tolist(),
        at(turning, moves).tolist(),
        zip(listed("X"), listed("Y"), listed("Z"), strict=True),
        zip(listed("I"), listed("J"), listed("K"), strict=True),
        listed("R"),
        listed("Q"),
        listed("P", length=False),
        listed("L", length=False),
        strict=True,
    )
    walk = Drilling(list(state.position_mm), list(state.assumed_zero), state.cycle)
    counts = []
    for code, code_before, words in zip(codes, before, columns, strict=True):
        rows = len(walk.kind)
        if code < NO_MOTION:
            walk.move(min(code // 10, Kind.ARC), words[5], incremental=words[2])
        else:
            if code != code_before:
                walk.run = None
            walk.drill(CycleBlock(code, *words[1:]), partial(_complaint, chunk, words[0]))
        counts.append(len(walk.kind) - rows)
    return _rows_of(walk, state, moves, codes, counts)


def _rows_of(walk: Drilling, state: State, moves: Index, codes: list[int], counts: list[int]) -> MotionRows:
    end = np.array(walk.end_mm)
    start = np.concatenate([np.array(state.position_mm)[:, np.newaxis], end[:, :-1]], axis=1)
    for row, point in walk.starts.items():
        if row < start.shape[1]:
            start[:, row] = point
    code = np.array(codes)
    x, y, z = walk.position_mm
    return MotionRows(
        block=np.repeat(moves, counts),
        kind=np.array(walk.kind, np.uint8),
        cycle=np.repeat(np.where(code > NO_MOTION, code // 10, 0).astype(np.uint8), counts),
        start=start.T,
        end=end.T,
        position_mm=(x, y, z),
        assumed_zero=_flags(walk.assumed_zero),
        run=walk.run,
        spindle=walk.spindle,
    )


def _complaint(chunk: Chunk, block: int, message: str, letters: str) -> ProgramError:
    return chunk.blocks.error(message, row=chunk.words.first_row(block, letters + "GXYZ"))


def _point(values: list[float]) -> Point:
    x, y, z = values
    return x, y, z


def _flags(values: list[bool]) -> tuple[bool, bool, bool]:
    x, y, z = values
    return x, y, z
