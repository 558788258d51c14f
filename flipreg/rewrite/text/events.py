"""The blocks of a program that move, or that give numbers another meaning, one by one."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from flipreg.path import Path
from flipreg.rs274.interpret.state import Modes, State
from flipreg.rs274.read.blocks import Blocks

__all__ = ["MACHINE", "Event", "events_of"]

MACHINE = (280, 300, 530)
"""Ten times the codes that go to positions of the machine."""

_WORK = tuple(range(540, 600))
_ZEROS = (100, *_WORK, 920, 921, 922, 923)
_OFFSETS = (*_ZEROS, 430, 490)
_CHANGE = 6
_UNITS = (200, 210)


@dataclass(frozen=True, eq=False, slots=True)
class Event:
    """A block that moves, or that gives numbers another meaning.

    Attributes
    ----------
    blocks : Blocks
    block : int
        The block, in its chunk.
    sets_offsets : bool
        It changes the tool, its length, or an offset; that comes before its motion.
    moves_zero : bool
        It gives X and Y another zero.
    moves, by_machine, is_rapid, is_cycle : bool
        It moves; to a position of the machine; all its motions are traverses; it is of a canned cycle.
    axes : frozenset of int
        The axes it names for a motion.
    start_mm, end_mm : three floats
        Where its motions start and end.
    incremental : bool
        G91 in it.
    inch_before, incremental_before, units_known : bool
        The modes before it, and whether the unit is said up to it.
    """

    blocks: Blocks
    block: int
    sets_offsets: bool
    moves_zero: bool
    moves: bool
    by_machine: bool
    is_rapid: bool
    is_cycle: bool
    axes: frozenset[int]
    start_mm: tuple[float, float, float]
    end_mm: tuple[float, float, float]
    incremental: bool
    inch_before: bool
    incremental_before: bool
    units_known: bool

    @property
    def line(self) -> int:
        """Its line in the file."""
        return self.blocks.first_line + self.block

    @property
    def is_across(self) -> bool:
        """Whether it moves along X or Y by numbers."""
        return self.moves and not self.by_machine and bool(self.axes & {0, 1})


def events_of(blocks: Blocks, modes: Modes, path: Path, before: State, *, units_said: bool) -> Iterator[Event]:
    """Yield the blocks of a chunk that move or set offsets, in order; the unit may be said outside of the program."""
    codes, values = blocks.rows("G"), np.rint(np.nan_to_num(modes.values) * 10)
    # A work offset that is in force already may be named again.
    stays = np.diff(modes.work_offset, prepend=before.work_offset)[blocks.block[codes]] == 0
    codes = codes[~(np.isin(values[codes], _WORK) & stays)]
    sets = set(blocks.block[codes[np.isin(values[codes], _OFFSETS)]].tolist())
    zeros = set(blocks.block[codes[np.isin(values[codes], _ZEROS)]].tolist())
    changes = blocks.rows("M")
    sets |= set(blocks.block[changes[values[changes] == 10 * _CHANGE]].tolist())
    units = blocks.block[codes[np.isin(values[codes], _UNITS)]]
    first_unit = int(units[0]) if units.size else len(blocks)
    moving = path.line - blocks.first_line
    for block in sorted({*moving.tolist(), *sets}):
        if not modes.executes[block]:
            continue
        low, high = np.searchsorted(moving, [block, block + 1]).tolist()
        rows = slice(low, high)
        words = {chr(letter) for letter in blocks.letter[blocks.block == block]}
        apart = modes.apart.get(block)
        yield Event(
            blocks,
            block,
            block in sets,
            block in zeros,
            high > low,
            apart is not None and apart.code in MACHINE,
            not path.is_cut[rows].any(),
            bool(path.cycle[rows].any()),
            frozenset(axis for axis, letter in enumerate("XYZ") if letter in words),
            _point(path.start, low) if high > low else (0.0, 0.0, 0.0),
            _point(path.end, high - 1) if high > low else (0.0, 0.0, 0.0),
            bool(modes.incremental[block]),
            bool(modes.inch[block - 1]) if block else before.inch,
            bool(modes.incremental[block - 1]) if block else before.incremental,
            units_said or before.units_stated or first_unit <= block,
        )


def _point(points: "np.ndarray[tuple[int, int], np.dtype[np.float64]]", row: int) -> tuple[float, float, float]:
    x, y, z = points[row].tolist()
    return x, y, z
