"""Modal columns of a chunk from its G words, and the modal state after it."""

from collections.abc import Callable
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from flipreg.rs274.code_groups import Group
from flipreg.rs274.code_numbers import G
from flipreg.rs274.interpret.code_columns import Codes
from flipreg.rs274.interpret.column import constant, held
from flipreg.rs274.interpret.state import Modes, State
from flipreg.rs274.interpret.words import Letter

__all__ = ["MODE_COLUMNS", "chunk_modes", "padded", "state_after", "unchanged"]

Scalar = TypeVar("Scalar", bound=np.generic)
Floats = NDArray[np.float64]
ShortCodes = NDArray[np.int16]

_OWN_LENGTH = -10
"""The tool length offset of a G43 without H in the first line; each such line has one of its own, for another tool may
be in the spindle."""
_ALWAYS = np.ones(1, np.bool_)
_COORDINATES = np.array([540, 550, 560, 570, 580, 590, 591, 592, 593], np.int16)
MODE_COLUMNS = (
    "motion",
    "normal",
    "incremental",
    "absolute_centres",
    "inch",
    "inverse_time",
    "initial_level",
    "cutter",
    "work_offset",
    "length_offset",
    "executes",
)
"""The modes that are stored block by block."""


def chunk_modes(g: Codes, h: Letter, state: State, size: int, values: Floats, first_line: int) -> Modes:
    """Return the modes of the executed blocks; a code counts for the whole of its own block.

    Parameters
    ----------
    g : Codes
        Their G words.
    h : Letter
        Their H words.
    state : State
        The state before them.
    size : int
        How many they are.
    values : float64, shape (n,)
        As in `Modes`.
    first_line : int
        The line of the first of them.
    """

    def column(group: int, first: Scalar, value: Callable[[ShortCodes], NDArray[Scalar]]) -> NDArray[Scalar]:
        words = g.of(group)
        return held(first, words.block, value(words.code), size)

    def switch(group: int, code: int, *, first: bool) -> NDArray[np.bool_]:
        return column(group, np.bool_(first), lambda codes: codes == code)

    return Modes(
        motion=column(Group.MOTION, np.int16(state.motion), lambda codes: codes),
        normal=column(Group.PLANE, np.uint8(state.normal), lambda codes: (19 - codes // 10).astype(np.uint8)),
        incremental=switch(Group.DISTANCE, G.STEPS, first=state.incremental),
        absolute_centres=switch(Group.ARC_CENTRES, G.CENTRE_POSITIONS, first=state.absolute_centres),
        inch=switch(Group.UNITS, G.INCH, first=state.inch),
        inverse_time=switch(Group.FEED_MODE, G.INVERSE_TIME, first=state.inverse_time),
        initial_level=switch(Group.RETURN, G.INITIAL_LEVEL, first=state.initial_level),
        cutter=column(Group.CUTTER, np.int16(state.cutter), lambda codes: codes),
        work_offset=column(Group.COORDINATES, np.uint8(state.work_offset), _work_offset),
        length_offset=_length_offset(g.of(Group.LENGTH), h, state, size, first_line),
        executes=np.broadcast_to(_ALWAYS, size),
        values=values,
        origin_mm=np.array([state.frame.offset_mm]),
    )


def state_after(g: Codes, modes: Modes, state: State, *, ends: bool) -> State:
    """Return the state with the modes after the executed blocks; M2 and M30 reset what 3.6.1 says."""
    if not len(modes):
        return state
    after = state._replace(
        motion=int(modes.motion[-1]),
        normal=int(modes.normal[-1]),
        incremental=bool(modes.incremental[-1]),
        absolute_centres=bool(modes.absolute_centres[-1]),
        inch=bool(modes.inch[-1]),
        inverse_time=bool(modes.inverse_time[-1]),
        initial_level=bool(modes.initial_level[-1]),
        cutter=int(modes.cutter[-1]),
        work_offset=int(modes.work_offset[-1]),
        length_offset=int(modes.length_offset[-1]),
        units_stated=state.units_stated or bool((g.group == Group.UNITS).any()),
        distance_mode_stated=state.distance_mode_stated or bool((g.group == Group.DISTANCE).any()),
    )
    if not ends:
        return after
    return after._replace(
        motion=G.LINE,
        normal=2,
        incremental=False,
        inverse_time=False,
        cutter=G.CUTTER_OFF,
        work_offset=1,
        turning=0,
        ended=True,
    )


def unchanged(state: State, size: int, values: Floats, *, executes: NDArray[np.bool_]) -> Modes:
    """Return the modes of blocks without any effect."""
    return Modes(
        motion=constant(np.int16(state.motion), size),
        normal=constant(np.uint8(state.normal), size),
        incremental=constant(np.bool_(state.incremental), size),
        absolute_centres=constant(np.bool_(state.absolute_centres), size),
        inch=constant(np.bool_(state.inch), size),
        inverse_time=constant(np.bool_(state.inverse_time), size),
        initial_level=constant(np.bool_(state.initial_level), size),
        cutter=constant(np.int16(state.cutter), size),
        work_offset=constant(np.uint8(state.work_offset), size),
        length_offset=constant(np.int32(state.length_offset), size),
        executes=executes,
        values=values,
        origin_mm=np.array([state.frame.offset_mm]),
    )


def padded(executed: Modes, rest: Modes) -> Modes:
    """Return the modes of the executed blocks of a chunk and of those after them."""
    columns = {name: np.concatenate([getattr(executed, name), getattr(rest, name)]) for name in MODE_COLUMNS}
    origin = executed.origin_mm
    if len(origin) > 1 or not np.array_equal(origin, rest.origin_mm):
        origin = np.concatenate([np.broadcast_to(part.origin_mm, (len(part), 3)) for part in (executed, rest)])
    return Modes(
        **columns,
        values=executed.values,
        origin_mm=origin,
        apart=executed.apart,
        steps_mm=executed.steps_mm,
        idle=executed.idle,
        habits=executed.habits,
    )


def _work_offset(codes: ShortCodes) -> NDArray[np.uint8]:
    return (np.searchsorted(_COORDINATES, codes) + 1).astype(np.uint8)


def _length_offset(words: Codes, h: Letter, state: State, size: int, first_line: int) -> NDArray[np.int32]:
    """Return the tool length offset in force, by the H word of its G43."""
    named = np.zeros(0, np.int32)
    if len(words):
        numbers = np.rint(h.dense(size).take(words.block))
        numbers = np.where(np.isnan(numbers), _OWN_LENGTH - first_line - words.block, numbers)
        named = np.where(words.code == G.LENGTH_ON, numbers, 0).astype(np.int32)
    return held(np.int32(state.length_offset), words.block, named, size)
