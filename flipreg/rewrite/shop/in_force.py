"""What the lines before a tool change leave behind: modes, feed, speed, overrides and coolant, as lines to be said."""

import numpy as np
from numpy.typing import NDArray

from flipreg.rewrite.text.refuse import refusal_in
from flipreg.rs274.code_groups import WORK_OFFSETS
from flipreg.rs274.code_numbers import ARCS, CYCLES, G
from flipreg.rs274.interpret.code_columns import code_name
from flipreg.rs274.interpret.interpret import interpret_blocks
from flipreg.rs274.interpret.state import State
from flipreg.rs274.interpret.whole import Whole
from flipreg.rs274.read.part import part_of

__all__ = ["InForce"]

_MIST, _FLOOD, _DRY = 70, 80, 90
_OVERRIDES = (480, 490)
_LENGTH, _PATH = (430, 490), (610, 611, 640)
_UNLABEL, _RELABEL = 921, (922, 923)
"""Ten times the codes."""


class InForce:
    """Knows what is in force before any block of a program.

    Parameters
    ----------
    whole : Whole
        The program.
    """

    def __init__(self, whole: Whole) -> None:
        self._whole = whole

    def state(self, block: int) -> State:
        """Return the state before a block."""
        whole = self._whole
        return interpret_blocks(part_of(whole.blocks, 0, block), whole.before)[2] if block else whole.before

    def modes(self, state: State, first: int, stop: int) -> str:
        """Return the modes in force before a block, as a line.

        Raises
        ------
        RefusedError
            If the blocks from there up to `stop` depend on one that can't be said again.
        """
        codes = [f"G{19 - state.normal}", "G90", "G94", "G40"]
        if state.units_stated:
            codes.insert(1, "G20" if state.inch else "G21")
        codes += [WORK_OFFSETS[state.work_offset - 1], "G98" if state.initial_level else "G99"]
        if state.absolute_centres:
            codes.append("G90.1")
        path = self._last("G", first, _PATH)
        if path is not None:
            codes.append(self._path(path, state))
        length = self._last("G", first, _LENGTH)
        if length is not None and not self._is_of_tool(length, first, stop):
            codes.append(self._with_words(length, "H"))
        override = self._last("M", first, _OVERRIDES)
        if override is not None:
            codes.append(f"M{self._spelling(override)}")
        return " ".join(codes)

    def feed_and_speed(self, state: State, first: int) -> list[str]:
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
        rows = self._rows("S", first)
        return [*lines, f"S{self._spelling(int(rows[-1]))}"] if rows.size else lines

    def axis_offsets(self, first: int) -> list[str]:
        """Return what was done with axis offsets (G92.1 to G92.3) before a block, as lines."""
        rows = self._rows("G", first)
        codes = [code for code in self._codes(rows) if code in (_UNLABEL, *_RELABEL)]
        # G92.1 takes away for good what G92.3 would bring back.
        return [code_name(code) for code in dict.fromkeys([_UNLABEL] * (_UNLABEL in codes) + codes[-1:])]

    def coolant(self, block: int) -> tuple[bool, bool]:
        """Return whether mist and flood are on before a block."""
        mist = flood = False
        for code in self._codes(self._rows("M", block)):
            mist = code == _MIST or (mist and code != _DRY)
            flood = code == _FLOOD or (flood and code != _DRY)
        return mist, flood

    def _path(self, row: int, state: State) -> str:
        """Return path control with the words of its block that are not of an arc or a cycle."""
        whole = self._whole
        blocks, modes = whole.blocks, whole.modes
        block = int(blocks.block[row])
        is_theirs = modes.motion[block] in (*ARCS, *CYCLES) and bool((whole.path.line == block + 1).any())
        said = self._with_words(row, "PQL" if is_theirs else "PQLRIJK")
        if " " in said and bool(modes.inch[block]) != state.inch:
            message = "path control has words in another unit than the next tool's part begins in; name it again there"
            raise blocks.refusal(message, row=row)
        return said

    def _is_of_tool(self, row: int, first: int, stop: int) -> bool:
        """Return whether a length offset is that of the tool before (G43 without H), which nothing depends on any more.

        Raises
        ------
        RefusedError
            If something depends on it.
        """
        whole = self._whole
        blocks, path = whole.blocks, whole.path
        block = int(blocks.block[row])
        if self._codes(np.array([row])) != [G.LENGTH_ON] or block in blocks.block[blocks.rows("H")]:
            return False
        codes = blocks.rows("G")
        codes = codes[np.isin(self._codes(codes), _LENGTH)]
        said = blocks.block[codes][(blocks.block[codes] >= first) & (blocks.block[codes] < stop)]
        heights = (path.is_cut | np.isin(path.line - 1, blocks.block[blocks.rows("Z")])) & (path.line > first)
        heights &= ~np.isin(path.line - 1, list(whole.modes.apart))
        depending = path.line[heights & (path.line <= (said[0] if said.size else stop))]
        if depending.size:
            message = (
                f"this height depends on the length of the tool before: line {block + 1} has G43 without H; name G43 "
                "or G49 after this tool is changed"
            )
            raise refusal_in(blocks, int(depending[0]) - 1, message)
        return True

    def _rows(self, letter: str, block: int) -> NDArray[np.int64]:
        """Return the rows of a letter before a block."""
        rows = self._whole.blocks.rows(letter)
        return rows[self._whole.blocks.block[rows] < block]

    def _codes(self, rows: NDArray[np.int64]) -> list[int]:
        """Return ten times each code."""
        codes: list[int] = np.rint(np.nan_to_num(self._whole.modes.values[rows]) * 10).astype(int).tolist()
        return codes

    def _last(self, letter: str, block: int, codes: tuple[int, ...]) -> int | None:
        """Return the row of the last word of some codes before a block."""
        rows = self._rows(letter, block)
        found = [row for row, code in zip(rows.tolist(), self._codes(rows), strict=True) if code in codes]
        return found[-1] if found else None

    def _with_words(self, row: int, letters: str) -> str:
        """Return a G word with the words of its block that belong to it."""
        blocks = self._whole.blocks
        low, high = np.searchsorted(blocks.block, [blocks.block[row], blocks.block[row] + 1]).tolist()
        others = [each for each in range(low, high) if chr(blocks.letter[each]) in letters]
        (code,) = self._codes(np.array([row]))
        return " ".join([code_name(code), *(chr(blocks.letter[o]) + self._spelling(o) for o in others)])

    def _spelling(self, row: int) -> str:
        """Return the value of a word as it is written."""
        blocks = self._whole.blocks
        return blocks.text[int(blocks.number[row]) : int(blocks.end[row])].decode("latin-1")
