"""A program taken apart at its tool changes: for each tool the lines before the first change, and its own.

Each part is told what the lines before it had left behind: modes, feed, speed, and where the tool stood.
"""

from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from flipreg.rewrite.ending import EndFinder
from flipreg.rewrite.refuse import refusal_in
from flipreg.rewrite.seam import line_end_of, names_motion
from flipreg.rewrite.stand import ByMachine, Stand, stand_at
from flipreg.rewrite.standing_alone import refuse_unclear, spelled_z
from flipreg.rs274.interpret.codes import WORK_OFFSETS, code_name
from flipreg.rs274.interpret.interpret import interpret_blocks
from flipreg.rs274.interpret.state import State
from flipreg.rs274.interpret.whole import Whole
from flipreg.rs274.read.blocks import BlockFlag
from flipreg.rs274.read.part import part_of

__all__ = ["Section", "split_sections"]

_CHANGE, _DATA = 6, 100
_MIST, _FLOOD, _DRY = 7, 8, 9
_SPINDLE, _OVERRIDES = (3, 4, 5), (48, 49)
_LENGTH, _PATH = (430, 490), (610, 611, 640)
_OFFSETS = (100, *_LENGTH, *range(540, 600))
_BY_MACHINE, _HOMES = (280, 300, 530), (280, 300)
_ENDS = (2, 30)
_SAME = 1e-6
_MM_PER_INCH = Decimal("25.4")
_HARMLESS = (5, 9, *_OVERRIDES)
"""Stops of spindle and coolant, and overrides: done once more, they do nothing."""


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
    _refuse_moved_zeros(whole)
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


def _check_shared(whole: Whole, shared: int) -> None:
    path, blocks = whole.path, whole.blocks
    for row in range(int(np.searchsorted(path.line, shared, side="right"))):
        block = int(path.line[row]) - 1
        apart = whole.modes.apart.get(block)
        if apart is None or apart.code not in _BY_MACHINE or path.is_cut[row]:
            raise refusal_in(blocks, block, "the program moves before its first tool change")
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
        whole, first, behind = self._whole, bound.first, bound.change + 1
        modal: list[str] = []
        place: list[str] = []
        if first > self._shared:
            modal, place = self._beginning(bound, stop)
        rise, rise_at = ([], stop) if is_last else self._rise(behind, stop)
        ending = [] if is_last else self._ending(stop)
        pieces: list[tuple[list[str], bytes, int]] = [
            ([], whole.lines(1, self._shared), self._shared),
            (modal, whole.lines(first + 1, behind), behind - first),
            (place, whole.lines(behind + 1, rise_at), rise_at - behind),
            (rise, whole.lines(rise_at + 1, stop), stop - rise_at),
            (ending, whole.tail if is_last else b"", 0),
        ]
        text, line, added = b"", 0, list[int]()
        for lines, own, count in pieces:
            if lines and text and not text.endswith((b"\n", b"\r")):
                text += self._line_end
            text += b"".join(each.encode() + self._line_end for each in lines) + own
            added += [line + number for number, each in enumerate(lines) if each != "%"]
            line += len(lines) + count
        begun = self._shared + len(modal) + behind - first + len(place)
        return Section(bound.tool, first + 1, stop, self._shared, text, tuple(added), begun)

    def _state(self, block: int) -> State:
        """Return the state before a block."""
        return interpret_blocks(part_of(self._whole.blocks, 0, block), State())[2] if block else State()

    def _beginning(self, bound: _Bound, stop: int) -> tuple[list[str], list[str]]:
        """Return what the parts before this one had left behind: lines before the tool change, and after it.

        What moves by numbers or turns is said with the new tool in: nobody knows what is in before.
        """
        state, first = self._state(bound.first), bound.first
        self._check_start(state, bound)
        modal = [self._modes(state, first), *self._carried(state, first)]
        if not self._names_tool(bound):
            modal.append(f"T{bound.tool}")
        stand = stand_at(self._whole, state, first)
        height = stand[2]
        if isinstance(height, ByMachine):
            if not self._is_shared(2, height):
                modal += self._machine_lines({2: height}, bound, inch=state.inch)
            place = self._across(stand, bound, inch=state.inch)
        else:
            place = self._position(stand, bound, stop, inch=state.inch)
        mist, flood = self._coolant(first)
        place += [*(["M7"] if mist else []), *(["M8"] if flood else [])]
        if state.incremental:
            place.append("G91")
        return modal, place

    def _modes(self, state: State, first: int) -> str:
        """Return the modes in force before a block, as a line."""
        codes = [f"G{19 - state.normal}", "G20" if state.inch else "G21", "G90", "G94", "G40"]
        codes += [WORK_OFFSETS[state.work_offset - 1], "G98" if state.initial_level else "G99"]
        if state.absolute_centres:
            codes.append("G90.1")
        path = self._last_g(first, _PATH)
        if path is not None:
            codes.append(self._with_words(path, "PQ"))
        length = self._last_g(first, _LENGTH)
        if length is not None:
            codes.append(self._with_words(length, "H"))
        override = self._last_m(first, _OVERRIDES)
        return " ".join([*codes, *([f"M{override}"] if override else [])])

    def _carried(self, state: State, first: int) -> list[str]:
        """Return feed and speed in force before a block, as lines."""
        blocks, modes = self._whole.blocks, self._whole.modes
        lines = []
        rows = blocks.rows("F")
        rows = rows[(blocks.block[rows] < first) & ~modes.inverse_time[blocks.block[rows]]]
        if rows.size:
            row = int(rows[-1])
            if bool(modes.inch[blocks.block[row]]) != state.inch:
                raise blocks.refusal("the feed is named in another unit than the next tool's part begins in", row=row)
            lines.append(f"F{self._spelling(row)}")
        rows = blocks.rows("S")
        rows = rows[blocks.block[rows] < first]
        return [*lines, f"S{self._spelling(int(rows[-1]))}"] if rows.size else lines

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
        codes = (int(line) - 1 for line in path.line[row:])
        coded = next((each for each in codes if not self._goes_home(each)), None)
        if coded is not None and not names_motion(whole, coded):
            message = "this tool's first motion carries on with the motion code of the tool before; name it"
            raise refusal_in(blocks, coded, message)
        rows = blocks.rows("M")
        rows = rows[(blocks.block[rows] >= bound.first) & (blocks.block[rows] <= block)]
        named = np.isin(np.rint(np.nan_to_num(whole.modes.values[rows])), _SPINDLE)
        if state.turning and not named.any():
            message = "the spindle is left running through this tool change; name M3 or M4 after it"
            raise refusal_in(blocks, bound.change, message)

    def _goes_home(self, block: int) -> bool:
        apart = self._whole.modes.apart.get(block)
        return apart is not None and apart.code in _HOMES

    def _names_tool(self, bound: _Bound) -> bool:
        blocks = self._whole.blocks
        named = blocks.block[blocks.rows("T")]
        return bool(((named >= bound.first) & (named <= bound.change)).any())

    def _is_shared(self, axis: int, place: ByMachine) -> bool:
        """Return whether the lines that every part begins with lead to a position of the machine already."""
        return stand_at(self._whole, self._state(self._shared), self._shared)[axis] == place

    def _machine_lines(self, places: dict[int, ByMachine], bound: _Bound, *, inch: bool) -> list[str]:
        """Return traverses to positions of the machine, under G90."""
        words: dict[int, list[str]] = {}
        for axis, place in places.items():
            if place.code in _HOMES:
                words.setdefault(place.code, []).append(f"{'XYZ'[axis]}0")
                continue
            if place.number_mm is None:
                message = "the tool is changed at a position of the machine (G53) that is no plain number; write one"
                raise refusal_in(self._whole.blocks, bound.change, message)
            words.setdefault(place.code, []).append(f"{'XYZ'[axis]}{_spelled(place.number_mm, inch=inch)}")
        lines = []
        for code, each in words.items():
            named = " ".join(each)
            lines += [f"G91 G{code // 10} {named}", "G90"] if code in _HOMES else [f"G53 G0 {named}"]
        return lines

    def _across(self, stand: Stand, bound: _Bound, *, inch: bool) -> list[str]:
        """Return traverses to where the tool stood in X and Y, at the height it has."""
        places = {axis: place for axis, place in enumerate(stand[:2]) if isinstance(place, ByMachine)}
        moved = {axis: place for axis, place in places.items() if not self._is_shared(axis, place)}
        lines = self._machine_lines(moved, bound, inch=inch)
        words = [
            f"{letter}{_spelled(Decimal(repr(value)), inch=inch)}"
            for letter, value in zip("XY", stand[:2], strict=True)
            if isinstance(value, float)
        ]
        return [*lines, "G0 " + " ".join(words)] if words else lines

    def _position(self, stand: Stand, bound: _Bound, stop: int, *, inch: bool) -> list[str]:
        """Return traverses by numbers to where the tool stood: up, across, and down to its height."""
        z, blocks = stand[2], self._whole.blocks
        across = self._across(stand, bound, inch=inch)
        if not isinstance(z, float):
            if across or self._moved(bound.first):
                message = (
                    "how high the tool stands is not known at this tool change; raise it by the machine (G53 G0 Z0) "
                    "before it, or name a Z in the work offset in force"
                )
                raise refusal_in(blocks, bound.change, message)
            return []
        self._refuse_other_numbers(bound, stop)
        safe = float(self._safe)
        height = _spelled(Decimal(repr(z)), inch=inch)
        lines = [f"G0 Z{spelled_z(self._safe, inch=inch) if z < safe else height}", *across]
        return [*lines, f"G0 Z{height}"] if z < safe else lines

    def _moved(self, block: int) -> bool:
        return bool((self._whole.path.line <= block).any())

    def _refuse_other_numbers(self, bound: _Bound, stop: int) -> None:
        """Refuse a height by numbers that mean another height where the new tool cuts."""
        whole = self._whole
        blocks, path = whole.blocks, whole.path
        cuts = path.line[path.is_cut & (path.line > bound.change + 1) & (path.line <= stop)]
        last = int(cuts[0]) - 1 if cuts.size else stop - 1
        rows = blocks.rows("G")
        rows = rows[np.isin(np.rint(whole.modes.values[rows] * 10), _OFFSETS)]
        rows = rows[(blocks.block[rows] >= bound.first) & (blocks.block[rows] <= last)]
        if rows.size:
            message = (
                "an offset is set after the tool is changed at a height by numbers, so that nobody knows how high the "
                "new tool is there; raise it by the machine (G53 G0 Z0) before the tool change"
            )
            raise blocks.refusal(message, row=int(rows[0]))

    def _rise(self, first: int, stop: int) -> tuple[list[str], int]:
        """Return the way up after the last motion of a part, and the block before which it goes."""
        finder = EndFinder(float("-inf"))
        blocks = part_of(self._whole.blocks, 0, stop)
        modes, path, _ = interpret_blocks(blocks, State())
        finder.add(blocks, modes, path)
        end = finder.found
        if end.line <= first or end.is_up_by_machine:
            return [], stop
        if end.refusal is not None:
            raise end.refusal
        if end.end_mm[2] >= float(self._safe) - _SAME:
            return [], stop
        unit = "G20" if end.inch else "G21"
        lines = [f"{unit} G90 G0 Z{spelled_z(self._safe, inch=end.inch)}", *(["G91"] if end.incremental else [])]
        return lines, end.line

    def _ending(self, stop: int) -> list[str]:
        """Return the lines that end a part: stop, end."""
        lines = ["M5"] if self._state(stop).turning else []
        if any(self._coolant(stop)):
            lines.append("M9")
        return [*lines, f"M{self._end_code()}", *(["%"] if self._framed else [])]

    def _end_code(self) -> int:
        values = self._whole.modes.values[self._whole.blocks.rows("M")]
        codes = [code for code in np.rint(np.nan_to_num(values)).astype(int).tolist() if code in _ENDS]
        return codes[0] if codes else 30

    def _coolant(self, block: int) -> tuple[bool, bool]:
        """Return whether mist and flood are on before a block."""
        mist = flood = False
        blocks, values = self._whole.blocks, self._whole.modes.values
        rows = blocks.rows("M")
        for code in np.rint(np.nan_to_num(values[rows[blocks.block[rows] < block]])).astype(int).tolist():
            mist = code == _MIST or (mist and code != _DRY)
            flood = code == _FLOOD or (flood and code != _DRY)
        return mist, flood

    def _last_g(self, block: int, codes: tuple[int, ...]) -> int | None:
        """Return the row of the last G word of some codes before a block."""
        blocks = self._whole.blocks
        rows = blocks.rows("G")
        rows = rows[(blocks.block[rows] < block) & np.isin(np.rint(self._whole.modes.values[rows] * 10), codes)]
        return int(rows[-1]) if rows.size else None

    def _last_m(self, block: int, codes: tuple[int, ...]) -> int:
        """Return the last M code of some before a block, 0 if there is none."""
        blocks = self._whole.blocks
        rows = blocks.rows("M")
        values = np.rint(np.nan_to_num(self._whole.modes.values[rows[blocks.block[rows] < block]])).astype(int)
        found = [code for code in values.tolist() if code in codes]
        return found[-1] if found else 0

    def _code(self, row: int) -> int:
        return round(float(self._whole.modes.values[row]) * 10)

    def _with_words(self, row: int, letters: str) -> str:
        """Return a G word with the words of its block that belong to it."""
        blocks = self._whole.blocks
        low, high = np.searchsorted(blocks.block, [blocks.block[row], blocks.block[row] + 1]).tolist()
        others = [each for each in range(low, high) if chr(blocks.letter[each]) in letters]
        return " ".join([code_name(self._code(row)), *(chr(blocks.letter[o]) + self._spelling(o) for o in others)])

    def _spelling(self, row: int) -> str:
        """Return the value of a word as it is written."""
        blocks = self._whole.blocks
        return blocks.text[int(blocks.number[row]) : int(blocks.end[row])].decode("latin-1")


def _spelled(value_mm: Decimal, *, inch: bool) -> str:
    value = round(value_mm / _MM_PER_INCH if inch else value_mm, 9)
    return f"{value.normalize() + 0:f}"
