"""The text of a program with subprograms, each line once, under the modes that it runs in.

A subprogram is text that runs more than once. It can be rewritten where it stands only if all its runs read it alike.
"""

from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path
from flipreg.rs274.interpret.frame import Point
from flipreg.rs274.interpret.state import Apart, Modes
from flipreg.rs274.interpret.subprograms import Step
from flipreg.rs274.read.blocks import Blocks
from flipreg.rs274.read.location import RefusedError
from flipreg.rs274.read.program import Readable
from flipreg.rs274.read.scanner import scan_chunks

__all__ = ["UnrolledChunk", "unrolled"]

_COORDINATES = "XYZIJKR"
"""Letters of the words that modes decide about."""

_ALIKE = {
    "motion": "another motion code",
    "normal": "another plane",
    "incremental": "the other distance mode",
    "absolute_centres": "another kind of arc centres",
    "inch": "another unit",
    "cutter": "another side of cutter compensation",
    "work_offset": "another work offset",
}
"""Modes that decide how a line is rewritten, and how a person calls the difference."""


@dataclass(frozen=True, eq=False, slots=True)
class UnrolledChunk:
    """One chunk of the file: its blocks, the modes of their first run, and the motions of that run."""

    blocks: Blocks
    modes: Modes
    path: Path


def unrolled(program: Readable, steps: list[Step]) -> list[UnrolledChunk]:
    """Return a program's chunks in file order, from the steps of its run.

    Raises
    ------
    RefusedError
        Where a line runs twice and has to be read in two ways, at the second call.
    """
    chunks = list(scan_chunks(program.pieces(), program.source))
    lines = sum(map(len, chunks))
    table = _Table(lines)
    for step in sorted(steps, key=lambda step: not step.depth):
        # What a call has run is what counts, not the same lines after the end of the main program.
        table.add(step, chunks)
    return [table.chunk(blocks) for blocks in chunks]


class _Table:
    def __init__(self, lines: int) -> None:
        self._run_by = np.full(lines, -1)
        self._columns: dict[str, NDArray[Any]] = {}
        self._lines = lines
        self._values: dict[int, NDArray[np.float64]] = {}
        self._origin = np.zeros((lines, 3))
        self._apart: dict[int, Apart] = {}
        self._steps: dict[int, Point] = {}
        self._idle: list[NDArray[np.int64]] = [np.empty(0, np.int64)]
        self._paths: list[Path] = []

    def add(self, step: Step, chunks: list[Blocks]) -> None:
        first = step.blocks.first_line - 1
        at = slice(first, first + len(step.blocks))
        runs = np.asarray(step.modes.executes)
        again = (self._run_by[at] >= 0) & runs
        if again.any():
            self._compare(step, at, np.flatnonzero(again), chunks)
        fresh = (self._run_by[at] < 0) & runs
        for name in _names():
            column = getattr(step.modes, name)
            target = self._columns.setdefault(name, np.zeros(self._lines, column.dtype))
            target[at] = np.where(fresh | (self._run_by[at] < 0), column, target[at])
        new = np.flatnonzero(fresh)
        origin = np.broadcast_to(step.modes.origin_mm, (len(step.blocks), 3))
        self._origin[first + new] = origin[new]
        for block in new.tolist():
            self._values[first + block] = step.modes.values[step.blocks.block == block]
        self._apart.update({first + block: apart for block, apart in step.modes.apart.items() if fresh[block]})
        idle = step.modes.idle
        self._idle.append(idle[fresh[idle // 128]] + first * 128)
        self._steps.update({first + block: by for block, by in step.modes.steps_mm.items() if fresh[block]})
        if len(step.path):
            self._paths.append(step.path.take(fresh[step.path.line - step.blocks.first_line]))
        self._run_by[at] = np.where(fresh, step.call_line, self._run_by[at])

    def _compare(self, step: Step, at: slice, again: NDArray[np.intp], chunks: list[Blocks]) -> None:
        letters = [ord(letter) for letter in _COORDINATES]
        says = np.unique(step.blocks.block[np.isin(step.blocks.letter, letters)])
        again = again[np.isin(again, says)]
        for name, what in _ALIKE.items():
            differs = again[self._columns[name][at][again] != np.asarray(getattr(step.modes, name))[again]]
            if differs.size:
                line = at.start + int(differs[0]) + 1
                raise _refusal(step, chunks, f"this call runs line {line} under {what} than another call")

    def chunk(self, blocks: Blocks) -> UnrolledChunk:
        first = blocks.first_line - 1
        at = slice(first, first + len(blocks))
        columns = {name: self._columns[name][at].copy() for name in _names()}
        columns["executes"] = columns["executes"] & (self._run_by[at] >= 0)
        values = np.full(len(blocks.letter), np.nan)
        for block in np.flatnonzero(self._run_by[at] >= 0).tolist():
            values[blocks.block == block] = self._values[first + block]
        modes = Modes(
            **columns,
            values=values,
            origin_mm=self._origin[at].copy(),
            apart={line - first: apart for line, apart in self._apart.items() if first <= line < at.stop},
            steps_mm={line - first: step for line, step in self._steps.items() if first <= line < at.stop},
            idle=self._idle_in(at),
            habits=(),
        )
        paths = [path.take((path.line > first) & (path.line <= at.stop)) for path in self._paths]
        paths = [path for path in paths if len(path)]
        return UnrolledChunk(blocks, modes, Path.concatenate(paths) if paths else Path.empty())


    def _idle_in(self, at: slice) -> NDArray[np.int64]:
        """Return the words of a stretch of lines that are no lengths."""
        idle = np.sort(np.concatenate(self._idle)) - 128 * at.start
        found: NDArray[np.int64] = idle[(idle >= 0) & (idle < 128 * (at.stop - at.start))]
        return found


def _names() -> list[str]:
    others = ("values", "origin_mm", "apart", "steps_mm", "idle", "habits")
    return [field.name for field in fields(Modes) if field.name not in others]


def _refusal(step: Step, chunks: list[Blocks], message: str) -> RefusedError:
    line = step.call_line or step.blocks.first_line
    blocks = next(chunk for chunk in reversed(chunks) if chunk.first_line <= line)
    error = blocks.block_error(
        f"{message}, so that the subprogram cannot be rewritten where it stands; write it out",
        block=line - blocks.first_line,
    )
    return RefusedError(error.message, error.location, error.excerpt)
