"""A program taken apart at its tool changes: for each tool the lines before the first change, and its own.

Each part is told what the lines before it had left behind: modes, feed, speed, and where the tool stood.
"""

from dataclasses import dataclass
from decimal import Decimal
from math import isnan

import numpy as np

from flipreg.rewrite.seam import line_end_of, names_motion
from flipreg.rewrite.standing_alone import refusal_in, refuse_unclear, spelled_z
from flipreg.rs274.block import BlockFlag
from flipreg.rs274.interpret import interpret_blocks
from flipreg.rs274.modal import WORK_OFFSETS
from flipreg.rs274.part import part_of
from flipreg.rs274.state import State
from flipreg.rs274.whole import Whole

__all__ = ["Section", "split_sections"]

_CHANGE, _LENGTH_OFFSET = 6, 43
_COOLANT = {7: True, 8: True, 9: False}
_SPINDLE = (3, 4, 5)
_CUTTER_OFF = 400
_ENDS = (2, 30)
_HARMLESS = (5, 9)
"""Stops of spindle and coolant: done once more, they do nothing."""


@dataclass(frozen=True, slots=True)
class Section:
    """What one tool does, as a program.

    Attributes
    ----------
    tool : int
        Its number.
    first, last : int
        Its lines in the source, from 1, both included.
    shared : int
        The lines before the first tool change, which every part begins with: 1 to this one.
    text : bytes
        The program.
    added : tuple of int
        Lines of it that are new, from 0.
    """

    tool: int
    first: int
    last: int
    shared: int
    text: bytes
    added: tuple[int, ...]


def split_sections(whole: Whole, safe_z_mm: Decimal) -> list[Section]:
    """Return the parts of a program, in the order they are run.

    Raises
    ------
    RefusedError
        If a part relies on what can't be made explicit.
    """
    blocks, modes = whole.blocks, whole.modes
    refuse_unclear(blocks, modes, whole.path, before=State(), after=whole.after)
    if blocks.settings:
        raise refusal_in(blocks, blocks.settings[0].block, "a parameter is set, which another part would not see")
    _refuse_length_offsets(whole)
    bounds = _bounds(whole)
    if not bounds:
        raise refusal_in(blocks, 0, "no tool is changed (M6) in this program, so that there is nothing to take apart")
    shared = bounds[0].first
    _check_shared(whole, shared)
    stops = [*(bound.first for bound in bounds[1:]), len(blocks)]
    splitter = _Splitter(whole, safe_z_mm, shared)
    return [
        splitter.section(bound, stop, is_last=number == len(bounds) - 1)
        for number, (bound, stop) in enumerate(zip(bounds, stops, strict=True))
    ]


def _refuse_length_offsets(whole: Whole) -> None:
    """Refuse G43: where the tool stands when it is changed hangs on a table in the control."""
    rows = whole.blocks.rows("G")
    rows = rows[np.rint(np.nan_to_num(whole.modes.values[rows])) == _LENGTH_OFFSET]
    if rows.size:
        message = "with tool length offsets (G43) it is not known how high the tool stands when it is changed"
        raise whole.blocks.refusal(message, row=int(rows[0]))


@dataclass(frozen=True, slots=True)
class _Bound:
    """Where a part begins: its first block, the block that changes the tool, and the tool."""

    first: int
    change: int
    tool: int


def _bounds(whole: Whole) -> list[_Bound]:
    """Return where each part begins; changes to the tool that is in already are no bounds."""
    blocks, modes = whole.blocks, whole.modes
    rows = blocks.rows("M")
    changes = blocks.block[rows[(np.rint(np.nan_to_num(modes.values[rows])) == _CHANGE)]]
    changes = changes[modes.executes[changes]]
    bounds: list[_Bound] = []
    for block in changes.tolist():
        tool = _tool_at(whole, block)
        if not bounds or bounds[-1].tool != tool:
            bounds.append(_Bound(_first_of_change(whole, block), block, tool))
    return bounds


def _tool_at(whole: Whole, block: int) -> int:
    rows = whole.blocks.rows("T")
    rows = rows[whole.blocks.block[rows] <= block]
    if not rows.size:
        raise refusal_in(whole.blocks, block, "a tool change without a T word: which tool it is can't be told")
    return round(float(whole.modes.values[rows[-1]]))


def _first_of_change(whole: Whole, block: int) -> int:
    """Return the first of the lines that belong to a tool change: its T word, and comments and blank lines above."""
    blocks = whole.blocks
    first = block
    while first:
        low, high = np.searchsorted(blocks.block, [first - 1, first]).tolist()
        letters = {chr(letter) for letter in blocks.letter[low:high]}
        if letters - {"N", "T"} or blocks.flags[first - 1] & (BlockFlag.PERCENT | BlockFlag.PROGRAM_NUMBER):
            return first
        first -= 1
    return first


def _check_shared(whole: Whole, shared: int) -> None:
    path, blocks = whole.path, whole.blocks
    if len(path) and int(path.line[0]) <= shared:
        raise refusal_in(blocks, int(path.line[0]) - 1, "the program moves before its first tool change")
    rows = blocks.rows("M")
    rows = rows[blocks.block[rows] < shared]
    rows = rows[~np.isin(np.rint(np.nan_to_num(whole.modes.values[rows])), _HARMLESS)]
    if rows.size:
        message = f"{blocks.spelling(int(rows[0]))} before the first tool change would be done for every tool"
        raise blocks.refusal(message, row=int(rows[0]))


class _Splitter:
    def __init__(self, whole: Whole, safe_z_mm: Decimal, shared: int) -> None:
        self._whole, self._safe, self._shared = whole, safe_z_mm, shared
        self._line_end = line_end_of(whole.blocks.text)
        self._framed = bool((whole.blocks.flags & BlockFlag.PERCENT).any())

    def section(self, bound: _Bound, stop: int, *, is_last: bool) -> Section:
        """Return the part from a bound up to, not including, block `stop`."""
        whole, first = self._whole, bound.first
        modal: list[str] = []
        place: list[str] = []
        if first > self._shared:
            modal, place = self._beginning(bound)
        ending = [] if is_last else self._ending(stop)
        own = whole.lines(bound.change + 2, stop) + (whole.tail if is_last else b"")
        if ending and own and not own.endswith((b"\n", b"\r")):
            own += self._line_end
        change = whole.lines(first + 1, bound.change + 1)
        if not change.endswith((b"\n", b"\r")):
            change += self._line_end
        text = b"".join(
            (whole.lines(1, self._shared), self._joined(modal), change, self._joined(place), own, self._joined(ending))
        )
        at_place = self._shared + len(modal) + bound.change + 1 - first
        at_end = at_place + len(place) + stop - bound.change - 1
        added = [*range(self._shared, self._shared + len(modal)), *range(at_place, at_place + len(place))]
        added += [line for line, said in enumerate(ending, at_end) if said != "%"]
        return Section(bound.tool, first + 1, stop, self._shared, text, tuple(added))

    def _joined(self, lines: list[str]) -> bytes:
        return b"".join(line.encode() + self._line_end for line in lines)

    def _state(self, block: int) -> State:
        """Return the state before a block."""
        return interpret_blocks(part_of(self._whole.blocks, 0, block), State())[2] if block else State()

    def _beginning(self, bound: _Bound) -> tuple[list[str], list[str]]:
        """Return what the parts before this one had left behind: lines before the tool change, and behind it.

        What moves or turns is said with the new tool in: nobody knows what is in before.
        """
        state, first = self._state(bound.first), bound.first
        self._check_start(state, bound)
        unit = "G20" if state.inch else "G21"
        codes = [f"G{19 - state.normal}", unit, "G90", "G94", "G40"]
        codes += [WORK_OFFSETS[state.work_offset - 1], "G98" if state.initial_level else "G99"]
        if state.absolute_centres:
            codes.append("G90.1")
        modal = [" ".join(codes)]
        if not isnan(state.feed_mm_per_min):
            modal.append(f"F{self._last_spelling(first, 'F')}")
        if state.speed_rpm:
            modal.append(f"S{self._last_spelling(first, 'S')}")
        place = self._position(state, first)
        if self._coolant(first):
            place.append("M8")
        if state.incremental:
            place.append("G91")
        return modal, place

    def _check_start(self, state: State, bound: _Bound) -> None:
        """Refuse a part that relies on more than can be said before it."""
        blocks, path = self._whole.blocks, self._whole.path
        if state.inverse_time:
            raise refusal_in(blocks, bound.change, "the tool is changed under G93; end it with G94 before")
        row = int(np.searchsorted(path.line, bound.first + 1))
        if row == len(path):
            return
        block = int(path.line[row]) - 1
        if block <= bound.change:
            raise refusal_in(blocks, block, "this line changes the tool and moves; put that on two lines")
        if not names_motion(self._whole, block):
            message = "this tool's first motion carries on with the motion code of the tool before; name it"
            raise refusal_in(blocks, block, message)
        rows = blocks.rows("M")
        rows = rows[(blocks.block[rows] >= bound.first) & (blocks.block[rows] <= block)]
        named = np.isin(np.rint(np.nan_to_num(self._whole.modes.values[rows])), _SPINDLE)
        if state.turning and not named.any():
            message = "the spindle is left running through this tool change; name M3 or M4 behind it"
            raise refusal_in(blocks, bound.change, message)

    def _position(self, state: State, first: int) -> list[str]:
        """Return traverses to where the tool stood: up, across, and down to its height."""
        x, y, z = state.position_mm
        across = [f"{letter}{_spelled(value, inch=state.inch)}" for letter, value in zip("XY", (x, y), strict=True)]
        across = [word for word, value in zip(across, (x, y), strict=True) if not isnan(value)]
        if isnan(z):
            if across:
                raise refusal_in(self._whole.blocks, first, "the height of the tool is not known at this tool change")
            return []
        safe = float(self._safe)
        lines = [f"G0 Z{spelled_z(self._safe, inch=state.inch) if z < safe else _spelled(z, inch=state.inch)}"]
        if across:
            lines.append("G0 " + " ".join(across))
        return [*lines, f"G0 Z{_spelled(z, inch=state.inch)}"] if z < safe else lines

    def _last_spelling(self, first: int, letter: str) -> str:
        blocks = self._whole.blocks
        rows = blocks.rows(letter)
        row = int(rows[blocks.block[rows] < first][-1])
        return blocks.text[int(blocks.number[row]) : int(blocks.end[row])].decode("latin-1")

    def _coolant(self, block: int) -> bool:
        blocks, values = self._whole.blocks, self._whole.modes.values
        rows = blocks.rows("M")
        codes = np.rint(np.nan_to_num(values[rows[blocks.block[rows] < block]])).astype(int).tolist()
        states = [_COOLANT[code] for code in codes if code in _COOLANT]
        return bool(states and states[-1])

    def _ending(self, stop: int) -> list[str]:
        """Return the lines that end a part: up, stop, end."""
        state = self._state(stop)
        lines = []
        if state.cutter != _CUTTER_OFF:
            message = "cutter compensation is on where this tool ends; end it with G40"
            raise refusal_in(self._whole.blocks, stop - 1, message)
        unit = "G20" if state.inch else "G21"
        if not state.position_mm[2] >= float(self._safe) - 1e-6:
            lines.append(f"{unit} G90 G0 Z{spelled_z(self._safe, inch=state.inch)}")
        if state.turning:
            lines.append("M5")
        if self._coolant(stop):
            lines.append("M9")
        return [*lines, f"M{self._end_code()}", *(["%"] if self._framed else [])]

    def _end_code(self) -> int:
        values = self._whole.modes.values[self._whole.blocks.rows("M")]
        codes = [code for code in np.rint(np.nan_to_num(values)).astype(int).tolist() if code in _ENDS]
        return codes[0] if codes else 30


def _spelled(value_mm: float, *, inch: bool) -> str:
    value = Decimal(repr(round(value_mm / 25.4 if inch else value_mm, 9)))
    return f"{value.normalize() + 0:f}"
