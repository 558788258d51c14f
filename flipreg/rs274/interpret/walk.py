"""Motions of chunks whose blocks depend on one another: canned cycles, axis offsets, machine positions, probing.

Block after block, in the order of execution of NISTIR 6556, 3.8: the tool length offset, the work offset, then G10,
G28, G30 or G92, then the motion.
"""

from collections.abc import Iterator
from functools import partial
from math import dist, isnan, nan
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Kind
from flipreg.rs274.code_groups import APART_CODES, Group
from flipreg.rs274.code_numbers import HOMES, OFFSET_CODES, G
from flipreg.rs274.interpret.chunk import Chunk
from flipreg.rs274.interpret.column import at
from flipreg.rs274.interpret.controlled_point import ControlledPoint, UnplacedError
from flipreg.rs274.interpret.cycles import CycleBlock, Drilling
from flipreg.rs274.interpret.frame import Point
from flipreg.rs274.interpret.motion_rows import MotionRows
from flipreg.rs274.interpret.state import NO_MOTION, Apart, Modes, State
from flipreg.rs274.read.location import ProgramError
from flipreg.units import INCH_MM

__all__ = ["walked"]

Index = NDArray[np.int64]
Floats = NDArray[np.float64]

_EVENTS = np.array(sorted(APART_CODES | {*OFFSET_CODES}), np.int16)

_Z = 2
_SHORTEST_PROBE_MM = 0.254
"""A probing move shorter than this is an error (NISTIR 6556, 3.5.9): 0.254 mm or 0.01 inch."""

_NOISE_MM = 1e-9


def walked(chunk: Chunk, modes: Modes, state: State, turning: NDArray[np.int8]) -> MotionRows:
    """Return the motions of a chunk, block after block; as `motion_rows`."""
    walk = _Walk(chunk, modes, state)
    words_of = _words_of(chunk, modes, state, turning, walk.events)
    for block, words in zip(walk.events.tolist(), words_of, strict=True):
        try:
            walk.step(block, words)
        except UnplacedError as error:
            row = chunk.words.first_row(block, error.letters + "GXYZ")
            raise chunk.blocks.refusal(error.message, row=row) from None
    return walk.rows()


class _Words(NamedTuple):
    """What one block says, in millimetres; NaN where not named."""

    motion: int
    motion_before: int
    work_offset: int
    incremental: bool
    point_mm: Point
    normal: int
    initial_level: bool
    turning: int
    offset_mm: Point
    retract_mm: float
    peck_mm: float
    p: float
    repeats: float

    def cycle(self) -> CycleBlock:
        """Return the block as that of a canned cycle."""
        return CycleBlock(
            cycle=self.motion,
            normal=self.normal,
            incremental=self.incremental,
            initial_level=self.initial_level,
            turning=self.turning,
            point_mm=self.point_mm,
            offset_mm=self.offset_mm,
            retract_mm=self.retract_mm,
            peck_mm=self.peck_mm,
            dwell_s=self.p,
            repeats=self.repeats,
        )


def _words_of(chunk: Chunk, modes: Modes, state: State, turning: NDArray[np.int8], events: Index) -> Iterator[_Words]:
    """Yield the words and modes of the blocks where something happens, as plain Python numbers."""
    scale = np.where(at(modes.inch, events), INCH_MM, 1.0)

    def listed(letter: str, *, length: bool = True) -> list[float]:
        column = chunk.words[letter].dense(chunk.size).take(events)
        values: list[float] = (column * scale if length else column).tolist()
        return values

    before = np.concatenate([[np.int16(state.motion)], modes.motion[:-1]])
    columns = zip(
        at(modes.motion, events).tolist(),
        before.take(events).tolist(),
        at(modes.work_offset, events).tolist(),
        at(modes.incremental, events).tolist(),
        zip(listed("X"), listed("Y"), listed("Z"), strict=True),
        at(modes.normal, events).tolist(),
        at(modes.initial_level, events).tolist(),
        at(turning, events).tolist(),
        zip(listed("I"), listed("J"), listed("K"), strict=True),
        listed("R"),
        listed("Q"),
        listed("P", length=False),
        listed("L", length=False),
        strict=True,
    )
    return map(_Words._make, columns)


class _Walk:
    def __init__(self, chunk: Chunk, modes: Modes, state: State) -> None:
        self._chunk, self._modes, self._state = chunk, modes, state
        apart = chunk.g.of(Group.NON_MODAL)
        # By a table: where no code is looked for, numpy would otherwise sort them, and load its masked arrays for that.
        apart = apart.where(np.isin(apart.code, _EVENTS, kind="table"))
        self._code = dict(zip(apart.block.tolist(), apart.code.tolist(), strict=True))
        switches = np.flatnonzero(np.diff(modes.work_offset, prepend=np.uint8(state.work_offset)))
        lengths = np.flatnonzero(np.diff(modes.length_offset, prepend=np.int32(state.length_offset)))
        self._lengths = frozenset(lengths.tolist())
        happens = chunk.moving.copy()
        happens[apart.block] = True
        happens[switches] = True
        happens[lengths] = True
        self.events: Index = np.flatnonzero(happens)
        self._drilling = Drilling(
            ControlledPoint.of(state.position_mm, state.assumed_zero, state.work_offset, state.frame), state.cycle
        )
        self._counts: list[int] = []
        self._apart: dict[int, Apart] = {}
        self._steps: dict[int, Point] = {}
        self._origins: dict[int, Point] = {}

    def step(self, block: int, words: _Words) -> None:
        """Carry out one block."""
        drilling, controlled_point = self._drilling, self._drilling.at
        rows = len(drilling.kind)
        if block in self._lengths and not isnan(controlled_point.position_mm[_Z]):
            controlled_point.forget(_Z)
            drilling.leap()
        if words.work_offset != controlled_point.work_offset:
            controlled_point.switch(words.work_offset)
            drilling.leap()
        code = self._code.get(block, 0)
        if words.incremental and code in (0, *HOMES):
            self._note_step(block, words, at_home=code != 0)
        if code == G.MACHINE:
            self._to_machine(words)
        elif code:
            self._set_apart(block, code, words)
        if self._chunk.moving[block] and code != G.MACHINE:
            self._move(block, words)
        if code in APART_CODES:
            self._apart[block] = Apart(code, controlled_point.numbers())
        self._counts.append(len(drilling.kind) - rows)

    def _note_step(self, block: int, words: _Words, *, at_home: bool) -> None:
        """Note the increments along axes that are not known, and will not be taken for zero."""
        controlled_point = self._drilling.at
        unknown = [
            axis
            for axis in _named(words.point_mm)
            if isnan(controlled_point.position_mm[axis]) and (at_home or controlled_point.forgotten[axis])
        ]
        if unknown:
            x, y, z = (word if axis in unknown else 0.0 for axis, word in enumerate(words.point_mm))
            self._steps[block] = x, y, z

    def _move(self, block: int, words: _Words) -> None:
        drilling = self._drilling
        if words.motion == G.PROBE:
            self._probe(block, words)
        elif words.motion < NO_MOTION:
            drilling.move(min(words.motion // 10, Kind.ARC), words.point_mm, incremental=words.incremental)
        else:
            if words.motion != words.motion_before:
                drilling.run = None
            drilling.drill(words.cycle(), partial(_complaint, self._chunk, block))

    def _probe(self, block: int, words: _Words) -> None:
        drilling, controlled_point = self._drilling, self._drilling.at
        start = controlled_point.place()
        drilling.move(Kind.LINE, words.point_mm, incremental=words.incremental)
        travel = [b - a if b == b and a == a else nan for a, b in zip(start, controlled_point.position_mm, strict=True)]
        known = not any(map(isnan, (t for t, word in zip(travel, words.point_mm, strict=True) if word == word)))
        length = dist((0.0, 0.0, 0.0), [0.0 if t != t else t for t in travel])
        if known and length < _SHORTEST_PROBE_MM - _NOISE_MM:
            message = f"probing over {length:.4f} mm, expected {_SHORTEST_PROBE_MM} mm or more"
            raise _complaint(self._chunk, block, message, "G")
        for axis in _named(words.point_mm):
            controlled_point.forget(axis)
        drilling.leap()

    def _to_machine(self, words: _Words) -> None:
        for axis in _named(words.point_mm):
            self._drilling.at.forget(axis)
        self._drilling.stand(words.motion // 10)

    def _set_apart(self, block: int, code: int, words: _Words) -> None:
        """Carry out G10, G28, G30 and the G92 family."""
        drilling, controlled_point = self._drilling, self._drilling.at
        named = _named(words.point_mm)
        if code in HOMES:
            self._go_home(named, words)
        elif code == G.DATA:
            for axis in named:
                controlled_point.move_origin(round(words.p), axis)
        elif code == G.AXIS_OFFSET:
            for axis in named:
                controlled_point.set_axis_offset(axis, words.point_mm[axis])
            controlled_point.store()
        elif code == G.RESTORE_AXIS_OFFSET:
            controlled_point.restore_axis_offsets()
        else:
            controlled_point.reset_axis_offsets()
            if code == G.RESET_AXIS_OFFSET:
                controlled_point.stored_mm = [0.0, 0.0, 0.0]
        drilling.leap()
        x, y, z = controlled_point.offset_mm
        self._origins[block] = (x, y, z)

    def _go_home(self, named: list[int], words: _Words) -> None:
        drilling, controlled_point = self._drilling, self._drilling.at
        if named:
            for axis in named:
                # A step from a place that nobody named leads to no place that could be taken for zero.
                if not (words.incremental and isnan(controlled_point.position_mm[axis])):
                    controlled_point.name(axis, words.point_mm[axis], incremental=words.incremental)
            drilling.stand(Kind.RAPID)
        for axis in named or (0, 1, 2):
            controlled_point.forget(axis)
        drilling.stand(Kind.RAPID)

    def rows(self) -> MotionRows:
        """Return what was collected."""
        drilling, controlled_point, state = self._drilling, self._drilling.at, self._state
        end = np.array(drilling.end_mm).reshape(3, -1)
        start = np.concatenate([np.array(state.position_mm)[:, np.newaxis], end], axis=1)[:, : end.shape[1]]
        for row, point in drilling.starts.items():
            if row < start.shape[1]:
                start[:, row] = point
        code = np.where(self._chunk.moving[self.events], at(self._modes.motion, self.events), 0)
        x, y, z = controlled_point.assumed_zero
        return MotionRows(
            block=np.repeat(self.events, self._counts),
            kind=np.array(drilling.kind, np.uint8),
            cycle=np.repeat(np.where(code > NO_MOTION, code // 10, 0).astype(np.uint8), self._counts),
            start=start.T,
            end=end.T,
            position_mm=controlled_point.place(),
            assumed_zero=(x, y, z),
            run=drilling.run,
            frame=controlled_point.frame(),
            origin_mm=self._origin_rows(),
            apart=self._apart,
            steps_mm=self._steps,
            spindle=drilling.spindle,
        )

    def _origin_rows(self) -> Floats:
        before = self._state.frame.offset_mm
        if all(origin == before for origin in self._origins.values()):
            return np.array([before])
        rows = np.empty((self._chunk.size, 3))
        rows[:] = before
        for block, origin in self._origins.items():
            rows[block:] = origin
        return rows


def _named(point_mm: Point) -> list[int]:
    return [axis for axis in range(3) if not isnan(point_mm[axis])]


def _complaint(chunk: Chunk, block: int, message: str, letters: str) -> ProgramError:
    return chunk.blocks.error(message, row=chunk.words.first_row(block, letters + "GXYZ"))
