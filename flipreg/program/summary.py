"""What one program does: extents, depth, tools, feeds, time.

Everything is of the controlled point, in the program frame, millimetres. The tool's own size is not in it.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Finding
from flipreg.job.machine import Machine
from flipreg.path import Path
from flipreg.program.duration import Duration, duration, machine_speed
from flipreg.program.dwell import dwell_seconds
from flipreg.program.extent import Extent, ExtentSoFar, RangeSoFar, triple
from flipreg.program.lint import Lint
from flipreg.program.time import Clock, motion_lengths
from flipreg.program.tool_lengths import ToolLengthReader, length_findings
from flipreg.rs274.code_groups import WORK_OFFSETS
from flipreg.rs274.interpret.state import BlockDelete
from flipreg.rs274.interpret.subprograms import Step, executed
from flipreg.rs274.read.program import Readable

__all__ = ["Summary", "summarise"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Summary:
    """One program in figures.

    Attributes
    ----------
    source : str
        Its name.
    unit : str
        'mm', 'inch', or 'mm and inch' where it changes midway.
    unit_stated : bool
        Whether the program says so with G20 or G21; without it, numbers are read as millimetres.
    blocks, motions : int
        Lines of the file, and motions made of them.
    cutting, moving : Extent or None
        Extents of the fed motions, and of all motions; None where there are none.
    start_mm, end_mm : three floats
        The first X, Y and Z that are named, and where the last motion ends.
    tools : tuple of int
        Tool numbers that make motions, in order of first use; -1 for none named.
    feed_mm_per_min, speed_rpm : pair of floats or None
        Lowest and highest while cutting; None where none was named.
    cut_mm, rapid_mm : float
        Lengths of the fed motions and of the traverses with known ends.
    cut_min : float
        Time of the fed motions at their feed, in minutes, without acceleration and without traverses, whose
        speed is the machine's; NaN if a feed is missing or 0.
    drilled : int
        Blocks that are canned cycles.
    work_offsets : tuple of int
        Coordinate systems used: 1 for G54 to 9 for G59.3.
    findings : tuple of Finding
        What to look at before the cut, see `flipreg.program.lint`, and tools that cut under another one's length.
    time : Duration or None
        How long it takes on a machine; None where the machine's speed is not said.
    """

    source: str
    unit: str
    unit_stated: bool
    blocks: int
    motions: int
    cutting: Extent | None
    moving: Extent | None
    start_mm: tuple[float, float, float]
    end_mm: tuple[float, float, float]
    tools: tuple[int, ...]
    feed_mm_per_min: tuple[float, float] | None
    speed_rpm: tuple[float, float] | None
    cut_mm: float
    rapid_mm: float
    cut_min: float
    drilled: int
    work_offsets: tuple[int, ...]
    findings: tuple[Finding, ...] = ()
    time: Duration | None = None

    @property
    def work_offset_names(self) -> tuple[str, ...]:
        """The coordinate systems used, by their codes."""
        return tuple(WORK_OFFSETS[index - 1] for index in self.work_offsets)


def summarise(
    program: Readable, *, block_delete: BlockDelete = BlockDelete.OFF, machine: Machine | None = None
) -> Summary:
    """Return what a program does, in bounded memory.

    Parameters
    ----------
    program : Program or ProgramFile
        The program; its subprograms are run where they are called.
    block_delete : BlockDelete
        The machine's switch: whether lines that start with `/` are left out.
    machine : Machine, optional
        The machine that the time is told for, as a job has it.

    Raises
    ------
    ProgramError, RefusedError
        If the program is not legal, or cannot be interpreted.
    """
    totals, lint, lengths, dwell_s = _Totals(), Lint(), ToolLengthReader(), 0.0
    speed = machine_speed(machine)
    clock = None if machine is None or speed is None else Clock(speed, stop_deg=machine.stop_deg)
    for step in executed(program, block_delete=block_delete):
        totals.add(step)
        lint.add(step)
        lengths.add(step)
        if clock is not None:
            clock.add(step.path)
            dwell_s += dwell_seconds(step)
    return replace(
        totals.summary(program.source, lint),
        findings=(*lint.findings(program.source), *length_findings([(program.source, lengths.uses())])),
        time=None if clock is None else duration(clock.time(), dwell_s),
    )


class _Totals:
    def __init__(self) -> None:
        self._blocks = self._motions = self._drilled = 0
        self._stated = False
        self._cutting, self._moving = ExtentSoFar(), ExtentSoFar()
        self._start = np.full(3, np.nan)
        self._end = (np.nan, np.nan, np.nan)
        self._tools: dict[int, None] = {}
        self._offsets: dict[int, None] = {}
        self._feed, self._speed = RangeSoFar(), RangeSoFar()
        self._lengths = [0.0, 0.0]
        self._minutes = 0.0

    def add(self, step: Step) -> None:
        path = step.path
        self._blocks += 0 if step.depth else len(step.blocks)
        self._stated = step.after.units_stated
        if not len(path):
            return
        self._motions += len(path)
        cut = path.is_cut
        self._moving.include(path.end)
        fed, rapid = path.take(cut), path.take(~cut)
        self._cutting.include_all(fed)
        self._moving.include_all(fed.take(fed.is_arc))
        for axis in np.flatnonzero(np.isnan(self._start)):
            named = path.end[~np.isnan(path.end[:, axis]), axis]
            self._start[axis] = named[0] if named.size else np.nan
        self._end = triple(path.end[-1])
        self._tools.update(dict.fromkeys(_in_order(path.tool)))
        self._offsets.update(dict.fromkeys(_in_order(path.work_offset)))
        self._drilled += int(np.count_nonzero(np.diff(path.line[path.cycle > 0], prepend=-1)))
        self._feed.include(fed.feed_mm_per_min)
        self._speed.include(np.abs(fed.spindle_rpm[fed.spindle_rpm != 0]))
        length = motion_lengths(fed, _never_named(fed))
        self._lengths[0] += float(np.nansum(length))
        self._lengths[1] += float(np.nansum(motion_lengths(rapid, _never_named(rapid))))
        self._minutes += _minutes(length, fed.feed_mm_per_min)

    def summary(self, source: str, lint: Lint) -> Summary:
        return Summary(
            source=source,
            unit="mm and inch" if lint.in_mm and lint.in_inches else "inch" if lint.in_inches else "mm",
            unit_stated=self._stated,
            blocks=self._blocks,
            motions=self._motions,
            cutting=self._cutting.extent(),
            moving=self._moving.extent(),
            start_mm=triple(self._start),
            end_mm=self._end,
            tools=tuple(self._tools),
            feed_mm_per_min=self._feed.pair(),
            speed_rpm=self._speed.pair(),
            cut_mm=self._lengths[0],
            rapid_mm=self._lengths[1],
            cut_min=self._minutes,
            drilled=self._drilled,
            work_offsets=tuple(self._offsets),
        )


def _never_named(path: Path) -> NDArray[np.bool_]:
    """Return the axes that no motion up to each one names, shape (n, 3): they stand still, wherever they stand."""
    return np.asarray(np.isnan(path.start) & np.isnan(path.end))


def _minutes(length: Floats, feed: Floats) -> float:
    """Return the time of fed motions of known length; NaN where one, known or not, has no feed above 0."""
    moves = length != 0
    if not (feed[moves] > 0).all():
        return np.nan
    known = moves & ~np.isnan(length)
    return float(np.sum(length[known] / feed[known]))


def _in_order(column: NDArray[np.generic]) -> list[int]:
    """Return the different values in the order they appear first."""
    changed = np.flatnonzero(np.concatenate(([True], column[1:] != column[:-1])))
    return [int(value) for value in column[changed].tolist()]
