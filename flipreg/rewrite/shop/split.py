"""A program taken apart at its tool changes: for each tool the lines before the first change, and its own.

Each part is told what the lines before it had left behind: modes, feed, speed, and where the tool stood.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np

from flipreg.rewrite.shop.in_force import InForce
from flipreg.rewrite.shop.standing_alone import refuse_unclear
from flipreg.rewrite.shop.way_there import WayThere, goes_home
from flipreg.rewrite.text.junction import line_end_of, names_motion
from flipreg.rewrite.text.refuse import refusal_in
from flipreg.rs274.interpret.state import NO_MOTION, State
from flipreg.rs274.interpret.whole import Whole
from flipreg.rs274.read.blocks import BlockFlag

__all__ = ["ToolProgram", "tool_programs"]

_CHANGE, _DATA = 6, 100
_SPINDLE, _OVERRIDES = (3, 4, 5), (48, 49)
_BY_MACHINE = (280, 300, 530)
_ENDS = (2, 30)
_HARMLESS = (5, 9, *_OVERRIDES)
"""Stops of spindle and coolant, and overrides: done once more, they do nothing."""


@dataclass(frozen=True, slots=True)
class ToolProgram:
    """What one tool does, as a program.

    Attributes
    ----------
    tool : int
        Its number.
    first, last : int
        Its lines in the source, from 1, both included.
    shared : int
        The lines before the first tool change that every part begins with: 1 to this one.
    text : bytes
        The program.
    added : tuple of int
        Lines of it that are new, from 0.
    begun : int
        The line of it from which on all is as it is in the whole program.
    """

    tool: int
    first: int
    last: int
    shared: int
    text: bytes
    added: tuple[int, ...]
    begun: int


def tool_programs(whole: Whole, safe_z_mm: Decimal) -> list[ToolProgram]:
    """Return the parts of a program, in the order they are run.

    Raises
    ------
    RefusedError
        If a part relies on what can't be made explicit.
    """
    blocks, modes = whole.blocks, whole.modes
    refuse_unclear(blocks, modes, whole.path, before=whole.before, after=whole.after)
    if blocks.settings:
        raise refusal_in(blocks, blocks.settings[0].block, "a parameter is set, which another part would not see")
    _refuse_moved_zeros(whole)
    bounds = _bounds(whole)
    if not bounds:
        raise refusal_in(blocks, 0, "no tool is changed (M6) in this program, so that there is nothing to take apart")
    shared = _shared(whole, bounds[0])
    bounds[0] = replace(bounds[0], first=shared)
    stops = [*(bound.first for bound in bounds[1:]), len(blocks)]
    splitter = _Splitter(whole, safe_z_mm, shared)
    return [
        splitter.part(bound, stop, is_last=number == len(bounds) - 1)
        for number, (bound, stop) in enumerate(zip(bounds, stops, strict=True))
    ]


def _refuse_moved_zeros(whole: Whole) -> None:
    for block, apart in whole.modes.apart.items():
        if apart.code == _DATA:
            raise refusal_in(whole.blocks, block, "G10 moves a zero, which another part would not see")


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


def _shared(whole: Whole, bound: _Bound) -> int:
    """Return how many lines every part begins with: those before the first tool change that may be run again.

    From the first line on that moves by numbers, or starts something, they are the first tool's own.
    """
    path, blocks = whole.path, whole.blocks
    shared = bound.first
    rows = path.line <= bound.change
    parks = [block for block, apart in whole.modes.apart.items() if apart.code in _BY_MACHINE]
    if (cuts := path.line[rows & path.is_cut]).size:
        message = "a feed before the first tool change, with a tool that has no number; write its T and M6 before it"
        raise refusal_in(blocks, int(cuts[0]) - 1, message)
    moves = path.line[rows & ~np.isin(path.line - 1, parks)]
    if moves.size:
        shared = min(shared, int(moves[0]) - 1)
    codes = blocks.rows("M")
    codes = codes[~np.isin(np.rint(np.nan_to_num(whole.modes.values[codes])), _HARMLESS)]
    return int(min([shared, *blocks.block[codes[:1]].tolist()]))


class _Splitter:
    def __init__(self, whole: Whole, safe_z_mm: Decimal, shared: int) -> None:
        self._whole, self._shared = whole, shared
        self._in_force = InForce(whole)
        self._way = WayThere(whole, self._in_force, safe_z_mm, shared)
        self._line_end = line_end_of(whole.blocks.text)
        self._framed = bool((whole.blocks.flags & BlockFlag.PERCENT).any())

    def part(self, bound: _Bound, stop: int, *, is_last: bool) -> ToolProgram:
        """Return the part from a bound up to, not including, block `stop`."""
        whole, first, then = self._whole, bound.first, bound.change + 1
        modal: list[str] = []
        place: list[str] = []
        if first > self._shared:
            modal, place = self._beginning(bound, stop)
        rise, rise_at = ([], stop) if is_last else self._way.rise(then, stop)
        ending = [] if is_last else self._ending(stop)
        pieces: list[tuple[list[str], bytes, int]] = [
            ([], whole.lines(1, self._shared), self._shared),
            (modal, whole.lines(first + 1, then), then - first),
            (place, whole.lines(then + 1, rise_at), rise_at - then),
            (rise, whole.lines(rise_at + 1, stop), stop - rise_at),
            (ending, whole.tail if is_last else b"", 0),
        ]
        text, line, added = b"", 0, list[int]()
        for lines, own, count in pieces:
            text += b"".join(each.encode() + self._line_end for each in lines) + own
            added += [line + number for number, each in enumerate(lines) if each != "%"]
            line += len(lines) + count
        # The first part is in the state of the whole program from its own first line on.
        begun = self._shared + (len(modal) + then - first + len(place) if first > self._shared else 0)
        return ToolProgram(bound.tool, first + 1, stop, self._shared, text, tuple(added), begun)

    def _beginning(self, bound: _Bound, stop: int) -> tuple[list[str], list[str]]:
        """Return what the parts before this one had left behind: lines before the tool change, and after it."""
        in_force, first = self._in_force, bound.first
        state = in_force.state(first)
        self._check_start(state, bound)
        modal = [in_force.modes(state, first, stop), *in_force.axis_offsets(first)]
        modal += in_force.feed_and_speed(state, first)
        if not self._names_tool(bound):
            modal.append(f"T{bound.tool}")
        rise, place = self._way.ways(state, first, bound.change, stop)
        modal += rise
        mist, flood = in_force.coolant(first)
        place += [*(["M7"] if mist else []), *(["M8"] if flood else [])]
        if state.incremental:
            place.append("G91")
        self._check_motion(bound, [*modal, *place])
        return modal, place

    def _check_start(self, state: State, bound: _Bound) -> None:
        """Refuse a part that relies on more than can be said before it."""
        whole = self._whole
        blocks, path = whole.blocks, whole.path
        if state.inverse_time:
            raise refusal_in(blocks, bound.change, "the tool is changed under G93; end it with G94 before")
        row = int(np.searchsorted(path.line, bound.first + 1))
        if row == len(path):
            return
        block = int(path.line[row]) - 1
        if block <= bound.change:
            raise refusal_in(blocks, block, "this line changes the tool and moves; put that on two lines")
        rows = blocks.rows("M")
        rows = rows[(blocks.block[rows] >= bound.first) & (blocks.block[rows] <= block)]
        named = np.isin(np.rint(np.nan_to_num(whole.modes.values[rows])), _SPINDLE)
        if state.turning and not named.any():
            message = "the spindle is left running through this tool change; name M3 or M4 before its first motion"
            raise refusal_in(blocks, bound.change, message)

    def _check_motion(self, bound: _Bound, added: Sequence[str]) -> None:
        """Refuse a part whose first motion carries on with a motion code that it does not have."""
        whole = self._whole
        lines = whole.path.line[whole.path.line > bound.change + 1]
        first = next((block for line in lines if not goes_home(whole, block := int(line) - 1)), None)
        if first is None or any(names_motion(whole, block) for block in range(bound.first, first + 1)):
            return
        shared = int(whole.modes.motion[self._shared - 1]) if self._shared else NO_MOTION
        if whole.modes.motion[first] != (0 if any("G0 " in line for line in added) else shared):
            message = "this tool's first motion carries on with the motion code of the tool before; name it"
            raise refusal_in(whole.blocks, first, message)

    def _names_tool(self, bound: _Bound) -> bool:
        blocks = self._whole.blocks
        named = blocks.block[blocks.rows("T")]
        return bool(((named >= bound.first) & (named <= bound.change)).any())

    def _ending(self, stop: int) -> list[str]:
        """Return the lines that end a part: stop, end."""
        lines = ["M5"] if self._in_force.state(stop).turning else []
        if any(self._in_force.coolant(stop)):
            lines.append("M9")
        return [*lines, f"M{self._end_code()}", *(["%"] if self._framed else [])]

    def _end_code(self) -> int:
        values = self._whole.modes.values[self._whole.blocks.rows("M")]
        codes = [code for code in np.rint(np.nan_to_num(values)).astype(int).tolist() if code in _ENDS]
        return codes[0] if codes else 30
