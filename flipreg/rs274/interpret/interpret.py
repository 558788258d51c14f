"""Blocks to motions: the modal state carried forward, chunk after chunk (NISTIR 6556, 3.4 to 3.8).

Columns in, columns out. Where a chunk holds nothing but G0 to G3 there is no loop over blocks; where it holds
canned cycles, their blocks and the moves between them are walked one by one.

What the report leaves to the machine is settled like this:

- Block-delete lines are executed unless the switch is said to be on. M1 does not stop.
- Coordinates are NaN until they are first named, and after a machine position, a probe trip, another work offset or
  another tool length offset until they are named again. An increment from a coordinate that was never known starts
  at program zero, and so does the depth of a canned cycle; `State.assumed_zero` says where that happened.
- Positions are the numbers that held before any G92; G28 and G30 take the named axes home, or all.
- Another tool length offset (G43, G49) moves nothing and gives the point another Z, which depends on a length that is
  not in the program: Z is not known until it is named again. G43 in the block that names Z counts before the motion.
- F is in the units of its own block, whatever the order of execution says of G20 beside it.
- The tool column is the tool in the spindle: T counts from the M6 that puts it there.
"""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.arc import arc_length, plane_axes
from flipreg.path import Compensation, Kind, Path
from flipreg.rs274.code_numbers import G
from flipreg.rs274.interpret.arcs import ArcRows, arc_columns
from flipreg.rs274.interpret.chunk import Chunk
from flipreg.rs274.interpret.column import at, constant
from flipreg.rs274.interpret.legality import check_chunk
from flipreg.rs274.interpret.meant import read_words
from flipreg.rs274.interpret.modes import chunk_modes, padded, state_after, unchanged
from flipreg.rs274.interpret.motion_rows import MotionRows
from flipreg.rs274.interpret.motions import motion_rows
from flipreg.rs274.interpret.state import BlockDelete, Modes, State
from flipreg.rs274.interpret.technology import Technology, technology
from flipreg.rs274.interpret.values import literal_values, word_values
from flipreg.rs274.read.blocks import BlockFlag, Blocks
from flipreg.rs274.read.location import ProgramError
from flipreg.rs274.read.part import part_of

__all__ = ["interpret_blocks"]

Index = NDArray[np.int64]
Floats = NDArray[np.float64]

_NEVER = np.zeros(1, np.bool_)
_NAN = np.float64(np.nan)
_AFTER_END, _RAPID, _ARC = np.uint8(BlockFlag.AFTER_END), np.uint8(Kind.RAPID), np.uint8(Kind.ARC)
_SIDE_OF: Mapping[int, Compensation] = {
    G.CUTTER_OFF: Compensation.OFF,
    G.CUTTER_LEFT: Compensation.LEFT,
    G.CUTTER_RIGHT: Compensation.RIGHT,
}


def interpret_blocks(blocks: Blocks, state: State) -> tuple[Modes, Path, State]:
    """Return the modes and motions of one chunk, and the state after it.

    Parameters
    ----------
    blocks : Blocks
        The chunk.
    state : State
        The state after the chunk before it; `State()` for the first.

    Returns
    -------
    modes : Modes
        One row a block.
    path : Path
        One row a motion, zero-length ones included; positions in program coordinates, millimetres.
    state : State
        What the next chunk starts from.

    Raises
    ------
    ProgramError, RefusedError
        At the first block that is not legal, or is understood but cannot be interpreted.
    """
    try:
        if state.block_delete is BlockDelete.ON and bool((blocks.flags & BlockFlag.DELETE).any()):
            return _without_deleted(blocks, state)
        return _interpreted(blocks, state)
    except ProgramError as error:
        # Columns are checked rule by rule, so an earlier block may break a rule that comes later.
        before = error.location.line - blocks.first_line
        if before > 0:
            interpret_blocks(part_of(blocks, 0, before), state)
        raise


def _without_deleted(blocks: Blocks, state: State) -> tuple[Modes, Path, State]:
    """Return what `_interpreted` does, the words of lines that start with `/` left out."""
    deleted = (blocks.flags & BlockFlag.DELETE) != 0
    rows = np.flatnonzero(~deleted[blocks.block])
    place = {int(row): index for index, row in enumerate(rows.tolist())}
    columns = ("letter", "mantissa", "decimals", "start", "number", "end", "block")
    kept = replace(
        blocks,
        **{name: getattr(blocks, name)[rows] for name in columns},
        expressions={place[row]: value for row, value in blocks.expressions.items() if row in place},
        settings=tuple(setting for setting in blocks.settings if not deleted[setting.block]),
    )
    modes, path, after = _interpreted(kept, state)
    values = np.full(len(blocks.letter), np.nan)
    values[rows] = modes.values
    return replace(modes, values=values, executes=modes.executes & ~deleted), path, after


def _interpreted(blocks: Blocks, state: State) -> tuple[Modes, Path, State]:
    executes = (blocks.flags & _AFTER_END) == 0
    if state.ended or not executes.any():
        inert = np.broadcast_to(_NEVER, len(blocks))
        return unchanged(state, len(blocks), literal_values(blocks), executes=inert), Path.empty(), state
    values, parameters = word_values(blocks, state.parameters)
    chunk = Chunk.of(blocks, values, state.dialect)
    modes = chunk_modes(chunk.g, chunk.words["H"], state, chunk.size, values, blocks.first_line)
    chunk, modes = read_words(chunk, modes)
    parked_line = check_chunk(chunk, modes, state)
    told = technology(chunk, modes, state)
    rows = motion_rows(chunk, modes, state, told.turning)
    if rows.apart or rows.steps_mm or rows.origin_mm is not modes.origin_mm:
        modes = replace(modes, origin_mm=rows.origin_mm, apart=rows.apart, steps_mm=rows.steps_mm)
    path = _path(chunk, modes, told, rows)
    modes = replace(modes, habits=chunk.notices.found())
    if state.dialect.strict:
        # Imported here: few programs are held to the letter.
        from flipreg.rs274.interpret.letter import hold_to_report

        hold_to_report(blocks, modes)
    after = state._replace(
        parked_line=parked_line,
        position_mm=rows.position_mm,
        assumed_zero=rows.assumed_zero,
        frame=rows.frame,
        cycle=rows.run,
        feed_mm_per_min=float(told.feed_mm_per_min[-1]),
        speed_rpm=float(told.speed_rpm[-1]),
        turning=int(told.turning[-1]),
        tool_selected=told.tool_selected,
        tool=int(told.tool[-1]),
        parameters=parameters,
    )
    after = state_after(chunk.g, modes, after, ends=chunk.ends)
    rest = len(blocks) - chunk.size
    if rest:
        inert = np.broadcast_to(_NEVER, rest)
        modes = padded(modes, unchanged(after, rest, values, executes=inert))
    return modes, path, after


def _path(chunk: Chunk, modes: Modes, told: Technology, rows: MotionRows) -> Path:
    centre, sweep = _arcs(chunk, modes, rows)
    return Path(
        kind=rows.kind,
        start=rows.start,
        end=rows.end,
        centre=centre,
        normal=at(modes.normal, rows.block),
        sweep_deg=sweep,
        feed_mm_per_min=_feeds(chunk, modes, told, rows, centre, sweep),
        spindle_rpm=_spindle(told, rows),
        tool=at(told.tool, rows.block),
        compensation=_sides(at(modes.cutter, rows.block)),
        work_offset=at(modes.work_offset, rows.block),
        cycle=rows.cycle,
        line=rows.block + chunk.blocks.first_line,
    )


def _arcs(chunk: Chunk, modes: Modes, rows: MotionRows) -> tuple[Floats, Floats]:
    """Return centre and sweep of all motions: NaN and 0 where they are straight."""
    count = len(rows.block)
    arc = np.flatnonzero(rows.kind == _ARC)
    if not arc.size:
        return np.broadcast_to(_NAN, (count, 3)), constant(np.float64(0.0), count)
    block = rows.block[arc]
    commanded = ArcRows(
        block=block,
        start=rows.start.T.take(arc, axis=1).T,
        end=rows.end.T.take(arc, axis=1).T,
        normal=at(modes.normal, block),
        counter_clockwise=at(modes.motion, block) == G.COUNTER_CLOCKWISE,
        inch=at(modes.inch, block),
        absolute_centres=at(modes.absolute_centres, block),
        origin_mm=modes.origins(block),
        named=chunk.named.take(block, axis=1).T,
    )
    centre, sweep = np.full((3, count), np.nan), np.zeros(count)
    centres, sweep[arc] = arc_columns(chunk.blocks, chunk.words, commanded, chunk.notices)
    for axis, coordinates in enumerate(centre):
        coordinates[arc] = centres[:, axis]
    return centre.T, sweep


def _feeds(chunk: Chunk, modes: Modes, told: Technology, rows: MotionRows, centre: Floats, sweep: Floats) -> Floats:
    """Return the feed along each motion, NaN for traverses."""
    feed = at(told.feed_mm_per_min, rows.block)
    fed = rows.kind != _RAPID
    if modes.inverse_time.any():
        per_move = chunk.words["F"].dense(chunk.size).take(rows.block)
        lengths = _lengths(rows, at(modes.normal, rows.block), centre, sweep)
        feed = np.where(at(modes.inverse_time, rows.block), lengths * per_move, feed)
    return feed if fed.all() else np.where(fed, feed, _NAN)


def _lengths(rows: MotionRows, normal: NDArray[np.uint8], centre: Floats, sweep: Floats) -> Floats:
    """Return the length of each motion in millimetres; NaN where its start is not known."""
    travel = rows.end - rows.start
    length = np.sqrt((travel**2).sum(axis=1))
    arc = np.flatnonzero(rows.kind == _ARC)
    first, second = plane_axes(normal[arc])
    from_centre = rows.start[arc] - centre[arc]
    each = np.arange(len(arc))
    radius = np.hypot(from_centre[each, first], from_centre[each, second])
    length[arc] = arc_length(radius, sweep[arc], travel[arc, normal[arc]])
    return np.asarray(length, dtype=np.float64)


def _spindle(told: Technology, rows: MotionRows) -> Floats:
    speed, turning = at(told.speed_rpm, rows.block), at(told.turning, rows.block)
    if speed.strides == turning.strides == (0,) and len(speed) and not rows.spindle:
        return constant(np.float64(speed[0] * turning[0] + 0.0), len(speed))
    # Adding zero turns the -0.0 of M4 at S0 into 0.0.
    rpm = speed * turning + 0.0
    for row, factor in rows.spindle.items():
        rpm[row] = rpm[row] * factor + 0.0
    return np.asarray(rpm, dtype=np.float64)


def _sides(cutter: NDArray[np.int16]) -> NDArray[np.int8]:
    if cutter.strides == (0,) and len(cutter):
        return constant(np.int8(_SIDE_OF[int(cutter[0])]), len(cutter))
    side = np.full(len(cutter), Compensation.OFF, np.int8)
    for code, compensation in _SIDE_OF.items():
        side[cutter == code] = compensation
    return side
