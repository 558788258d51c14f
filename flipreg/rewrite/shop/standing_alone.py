"""What a program relies on and leaves behind: what has to be said where programs are joined or taken apart.

A program that is run by itself starts in the modes a machine starts in. After another one it starts in the modes
that one left, unless it is told.
"""

from dataclasses import dataclass, field
from decimal import ROUND_CEILING, Decimal

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path
from flipreg.rewrite.shop.ending import EndFinder, Ending
from flipreg.rewrite.text.framing import begins_in, percents
from flipreg.rewrite.text.refuse import refusal_in
from flipreg.rs274.interpret.habit_count import HabitCount
from flipreg.rs274.interpret.interpret import interpret_blocks
from flipreg.rs274.interpret.state import Modes, State
from flipreg.rs274.interpret.units import first_state
from flipreg.rs274.read.blocks import EXPRESSION, BlockFlag, Blocks
from flipreg.rs274.read.program import Readable
from flipreg.rs274.read.scanner import scan_chunks
from flipreg.units import INCH

__all__ = ["MODAL_START", "Survey", "refuse_unclear", "spelled_z", "survey_program"]

MODAL_START = "G17 {unit} G90 G94 G40 G80 G54 G98"
"""The modes a program starts in: NISTIR 6556, 3.6.1, and common practice, no source."""

_INCH_DECIMALS = Decimal("0.0001")
_AXIS_OFFSET, _DATA, _MACHINE = 920, 100, 530
_BY_MACHINE = (280, 300, 530)
_LENGTH, _PATH = (430, 490), (610, 611, 640)
_COOLANT, _OVERRIDES = (7, 8, 9), (48, 49)
_TURNS = (3, 4)


@dataclass(slots=True)
class Survey:
    """One program as others see it.

    Attributes
    ----------
    source : str
        Its name.
    is_unit_said : bool
        Its unit is known without a G20 or G21 in it.
    units, tools, work_offsets : dict from what it uses to the first line that does
    highest_mm : float
        The highest place it goes to; -inf without a motion.
    after : State
        The state after its last executed block.
    end_line : int
        The line of its M2 or M30; 0 if it has none.
    opens, closes : bool
        A `%` stands before its first word; one stands after it.
    ending : Ending
        Where its last motion ends.
    length_offset, coolant, overrides_off : bool
        After it a length offset is in force (G43); coolant is on; overrides are off (M49).
    path_line, unpathed_line : int
        The first line that says path control (G61, G61.1, G64), and the first motion before that; 0 if there is none.
    length_line, unlengthed_line : int
        The first line that says a length offset (G43, G49), and the first motion to a height by numbers before that; 0
        if there is none.
    data_line : int
        The line of its first G10; 0 if it has none.
    machine_z : bytes
        The Z of its first traverse to a height of the machine (G53 G0 Z0), as it is written; empty if it has none.
    settings_line : int
        The line of its first parameter setting; 0 if it has none.
    compensated_line : int
        The line of its last motion if cutter compensation is on there; else 0.
    line_end : bytes
        How it ends its first line.
    habits : HabitCount
        What is read in it by habit.
    """

    source: str
    is_unit_said: bool = False
    units: dict[int, int] = field(default_factory=dict)
    tools: dict[int, int] = field(default_factory=dict)
    work_offsets: dict[int, int] = field(default_factory=dict)
    highest_mm: float = float("-inf")
    after: State = field(default_factory=State)
    end_line: int = 0
    opens: bool = False
    closes: bool = False
    ending: Ending = field(default_factory=Ending)
    length_offset: bool = False
    coolant: bool = False
    overrides_off: bool = False
    path_line: int = 0
    unpathed_line: int = 0
    unlengthed_line: int = 0
    length_line: int = 0
    data_line: int = 0
    machine_z: bytes = b""
    settings_line: int = 0
    compensated_line: int = 0
    line_end: bytes = b"\n"
    habits: HabitCount = field(default_factory=HabitCount)
    _is_begun: bool = False
    _end_finder: EndFinder = field(default_factory=lambda: EndFinder(float("-inf")))

    def add(self, blocks: Blocks, modes: Modes, path: Path, after: State) -> None:
        """Take in the next chunk."""
        self._end_finder.add(blocks, modes, path)
        self.ending = self._end_finder.found
        self._add_motions(blocks, modes, path)
        self._add_codes(blocks, modes)
        self.after = after
        self.habits.add(blocks.habits)
        self.habits.add(modes.habits)
        if self.line_end == b"\n" and len(blocks) > 1:
            self.line_end = blocks.text[int(blocks.line_end[0]) : int(blocks.line_start[1])]

    def _add_motions(self, blocks: Blocks, modes: Modes, path: Path) -> None:
        if not len(path):
            return
        block = path.line - blocks.first_line
        by_machine = [number for number, apart in modes.apart.items() if apart.code in _BY_MACHINE]
        # A traverse to a position of the machine is the same with any tool, unit and zero.
        own = path.is_cut | ~np.isin(block, by_machine)
        for uses, values in (
            (self.units, np.where(modes.inch[block], 20, 21)),
            (self.tools, path.tool),
            (self.work_offsets, path.work_offset),
        ):
            found, first = np.unique(values[own], return_index=True)
            for value, row in zip(found.tolist(), first.tolist(), strict=True):
                uses.setdefault(value, int(path.line[own][row]))
        self.compensated_line = int(path.line[-1]) if path.compensation[-1] else 0
        self.highest_mm = float(np.nanmax(path.end[:, 2], initial=self.highest_mm))
        self._add_unlengthed(blocks, modes, path.line[own])
        rows = blocks.rows("G")
        said = blocks.block[rows[np.isin(np.rint(modes.values[rows] * 10), _PATH)]]
        moves = path.line[own]
        if moves.size and not self.path_line and not self.unpathed_line:
            first_move = int(moves[0])
            if not said.size or blocks.first_line + int(said[0]) > first_move:
                self.unpathed_line = first_move

    def _add_unlengthed(self, blocks: Blocks, modes: Modes, moves: NDArray[np.int64]) -> None:
        if self.length_line or self.unlengthed_line:
            return
        rows = blocks.rows("G")
        said = blocks.block[rows[np.isin(np.rint(modes.values[rows] * 10), _LENGTH)]]
        heights = np.intersect1d(blocks.block[blocks.rows("Z")], moves - blocks.first_line)
        if heights.size and not (said.size and said[0] <= heights[0]):
            self.unlengthed_line = blocks.first_line + int(heights[0])

    def _add_machine_height(self, blocks: Blocks, modes: Modes) -> None:
        for block, apart in modes.apart.items():
            if self.machine_z or apart.code != _MACHINE or modes.motion[block] != 0:
                continue
            rows = np.flatnonzero((blocks.block == block) & np.isin(blocks.letter, np.frombuffer(b"XYZ", np.uint8)))
            if len(rows) == 1 and blocks.letter[rows[0]] == ord("Z") and blocks.decimals[rows[0]] != EXPRESSION:
                self.machine_z = blocks.text[int(blocks.number[rows[0]]) : int(blocks.end[rows[0]])]

    def _add_codes(self, blocks: Blocks, modes: Modes) -> None:
        opening, closing = percents(blocks, is_begun=self._is_begun)
        self.opens |= bool(opening)
        self.closes |= bool(closing)
        self._is_begun = self._is_begun or begins_in(blocks) < len(blocks)
        if blocks.settings and not self.settings_line:
            self.settings_line = blocks.first_line + blocks.settings[0].block
        rows = blocks.rows("M")
        rows = rows[modes.executes[blocks.block[rows]]]
        for row in rows.tolist():
            code = round(float(modes.values[row]))
            if code in _COOLANT:
                self.coolant = code != _COOLANT[-1]
            elif code in _OVERRIDES:
                self.overrides_off = code == _OVERRIDES[-1]
            elif code in (2, 30) and not self.end_line:
                self.end_line = blocks.first_line + int(blocks.block[row])
        self._add_machine_height(blocks, modes)
        rows = blocks.rows("G")
        rows = rows[modes.executes[blocks.block[rows]]]
        for row in rows[np.isin(np.rint(modes.values[rows] * 10), (*_LENGTH, *_PATH, _DATA))].tolist():
            code, line = round(float(modes.values[row]) * 10), blocks.first_line + int(blocks.block[row])
            if code in _LENGTH:
                self.length_offset, self.length_line = code == _LENGTH[0], self.length_line or line
            elif code in _PATH:
                self.path_line = self.path_line or line
            else:
                self.data_line = self.data_line or line


def survey_program(program: Readable) -> Survey:
    """Read a program once, in bounded memory.

    Raises
    ------
    ProgramError, RefusedError
        If it is not legal, or relies on what can't be made explicit.
    """
    survey, state = Survey(program.source, is_unit_said=program.units is not None), first_state(program)
    for blocks in scan_chunks(program.pieces(), program.source):
        before = state
        modes, path, state = interpret_blocks(blocks, before)
        refuse_unclear(blocks, modes, path, before=before, after=state)
        survey.add(blocks, modes, path, state)
    return survey


def refuse_unclear(blocks: Blocks, modes: Modes, path: Path, *, before: State, after: State) -> None:
    """Refuse what a program can't be joined or taken apart with."""
    for block, apart in modes.apart.items():
        if apart.code == _AXIS_OFFSET:
            raise refusal_in(blocks, block, "G92 gives program zero another place, which the next program would see")
    skipped = np.flatnonzero(blocks.flags & BlockFlag.DELETE)
    if skipped.size:
        message = "a line that may be skipped (/), so that what comes after it depends on a switch"
        raise refusal_in(blocks, int(skipped[0]), message)
    if any(after.assumed_zero) and len(path):
        block = int(path.line[0]) - blocks.first_line
        raise refusal_in(blocks, block, "the program starts from a position that it does not name; name it in G90")
    _refuse_unnamed_speed(blocks, modes, before)
    if len(path):
        unfed = path.is_cut & np.isnan(path.feed_mm_per_min) & ~modes.inverse_time[path.line - blocks.first_line]
        if unfed.any():
            block = int(path.line[int(np.argmax(unfed))]) - blocks.first_line
            raise refusal_in(blocks, block, "a cut without a feed named in this program")


def _refuse_unnamed_speed(blocks: Blocks, modes: Modes, before: State) -> None:
    rows = blocks.rows("M")
    turns = rows[np.isin(np.rint(np.nan_to_num(modes.values[rows])), _TURNS) & modes.executes[blocks.block[rows]]]
    if before.speed_rpm or not turns.size:
        return
    speeds = blocks.block[blocks.rows("S")]
    if not speeds.size or speeds[0] > blocks.block[turns[0]]:
        block = int(blocks.block[turns[0]])
        raise refusal_in(blocks, block, "the spindle starts without a speed named in this program")


def spelled_z(z_mm: Decimal, *, inch: bool) -> str:
    """Write a height in the program's unit, never lower than it is."""
    z = (z_mm / INCH).quantize(_INCH_DECIMALS, ROUND_CEILING) if inch else z_mm
    return f"{z.normalize() + 0:f}"
