"""A place in a text where another block runs before a block than in the source: what it has to be told again.

Blocks depend on what was said before them: the motion code, the feed, a coordinate not named. Where passes are
repeated or left out that has to be made explicit, or the result would be another program.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from flipreg.rewrite.text.refuse import refusal_at
from flipreg.rewrite.text.rows import rows_of
from flipreg.rewrite.text.spans import Span
from flipreg.rs274.code_numbers import ARCS, CYCLES, G
from flipreg.rs274.interpret.modes import MODE_COLUMNS
from flipreg.rs274.interpret.whole import Whole
from flipreg.rs274.read.blocks import Blocks

__all__ = [
    "Junctions",
    "WayBack",
    "blocks_that_name_motion",
    "first_word",
    "line_end_of",
    "motion_code",
    "names_motion",
]

_MOTIONS = (G.RAPID, G.LINE, *ARCS, G.PROBE, G.NO_MOTION, *CYCLES)
# The motion code is said again, and whether a block is run is nothing that the next one depends on.
_MODES = tuple(name for name in MODE_COLUMNS if name not in {"motion", "executes"})
_SAME_MM = 1e-9


@dataclass(frozen=True, slots=True)
class WayBack:
    """Traverses that lead to where a pass starts: the lines, without their ends, and the height across."""

    lines: tuple[bytes, ...]
    height_mm: Decimal


class Junctions:
    """Knows the state after each line of a program, and what a block needs that is reached from another one."""

    def __init__(self, whole: Whole) -> None:
        self._whole = whole
        blocks, modes = whole.blocks, whole.modes
        self._feed_rows = rows_of(blocks, modes, "F")
        self._feed_blocks = blocks.block[self._feed_rows]
        self._named = [np.zeros(len(blocks), np.bool_) for _ in range(3)]
        for axis, letter in enumerate("XYZ"):
            self._named[axis][blocks.block[rows_of(blocks, modes, letter)]] = True

    def lines_before(
        self, first: int, expected: int, actual: int, way: WayBack | None = None
    ) -> tuple[list[bytes], list[Span]]:
        """Return what has to be said before a line that runs after another line now.

        Parameters
        ----------
        first : int
            The line that is reached.
        expected, actual : int
            The line after which it ran in the source, and the one after which it runs now; 0 is the start.
        way : WayBack, optional
            Traverses that lead in X and Y to where it stood in the source; the first of what is said.

        Returns
        -------
        lines : list of bytes
            Lines to put before it, without line ends.
        edits : list of Span
            A motion code to name in its first moving block.

        Raises
        ------
        RefusedError
            If it depends on more than the motion code and the feed.
        """
        if expected == actual:
            return [], []
        whole = self._whole
        for name in _MODES:
            column = getattr(whole.modes, name)
            if column[max(expected, 1) - 1] != column[max(actual, 1) - 1]:
                message = f"this pass needs another {name.replace('_', ' ')} than the pass before it leaves behind"
                raise refusal_at(whole, first, message)
        if way is None:
            self._check_places(first, {0, 1, 2}, expected, actual)
        elif not self._stands_at(expected, way.height_mm):
            self._check_places(first, {2}, expected, actual)
        lines = [] if way is None else [*way.lines]
        feed, left = self._feed(expected), self._feed(actual)
        if feed != left and not self._names_feed(first):
            if feed is None:
                raise refusal_at(whole, first, "this pass would be fed with another feed: it names none before it")
            lines.append(feed)
        if way is not None:
            return lines, motion_code(whole, first)
        if whole.modes.motion[max(expected, 1) - 1] == whole.modes.motion[max(actual, 1) - 1]:
            return lines, []
        return lines, motion_code(whole, first)

    def _names_feed(self, first: int) -> bool:
        """Return whether a feed is named before anything is fed."""
        path = self._whole.path
        row = int(np.searchsorted(path.line, first))
        fed = np.flatnonzero(path.is_cut[row:])
        if not fed.size:
            return True
        last = int(path.line[row + fed[0]])
        low, high = np.searchsorted(self._feed_blocks, [first - 1, last])
        return bool(high > low)

    def _feed(self, line: int) -> bytes | None:
        at = int(np.searchsorted(self._feed_blocks, line)) - 1
        if at < 0:
            return None
        row, blocks = self._feed_rows[at], self._whole.blocks
        return blocks.text[int(blocks.start[row]) : int(blocks.end[row])]

    def depends(self, first: int, expected: int, actual: int) -> set[int]:
        """Return along which axes a line that runs after another line now depends on a place that is another one."""
        return set[int]().union(*(axes for _, axes in self._leaning(first, {0, 1, 2}, expected, actual)))

    def crosses(self, first: int, expected: int, actual: int) -> bool:
        """Return whether a line that runs after another line now is a traverse across from another place."""
        path = self._whole.path
        row = int(np.searchsorted(path.line, first))
        if expected == actual or row == len(path) or path.is_cut[row]:
            return False
        named = [axis for axis in (0, 1) if self._named[axis][path.line[row] - 1]]
        here, there = (self._place_after(line) for line in (expected, actual))
        # Where nobody knows where the source stands, any place that is known is another one.
        is_elsewhere = not (np.abs(there - here)[:2] <= _SAME_MM).all()
        return bool(is_elsewhere and not (np.abs(path.end[row] - there)[named] <= _SAME_MM).all())

    def _place_after(self, line: int) -> NDArray[np.float64]:
        path = self._whole.path
        row = int(np.searchsorted(path.line, line, side="right")) - 1
        return path.end[row] if row >= 0 else np.full(3, np.nan)

    def _stands_at(self, line: int, height_mm: Decimal) -> bool:
        """Return whether the tool is at a height after a line of the source."""
        return bool(abs(self._place_after(line)[2] - float(height_mm)) <= _SAME_MM)

    def _check_places(self, first: int, axes: set[int], expected: int, actual: int) -> None:
        """Refuse a block that does not say where it goes, and would go there from another place."""
        for line, leant in self._leaning(first, axes, expected, actual):
            raise self._unnamed(line, min(leant))

    def _leaning(self, first: int, axes: set[int], expected: int, actual: int) -> Iterator[tuple[int, set[int]]]:
        """Yield lines that depend on coordinates, of those named, that are others now; and the axes."""
        if expected == actual:
            return
        path = self._whole.path
        here, there = (self._place_after(line) for line in (expected, actual))
        open_axes = {axis for axis in axes if not abs(here[axis] - there[axis]) <= _SAME_MM}
        for row in range(int(np.searchsorted(path.line, first)), len(path)):
            if not open_axes:
                return
            line = int(path.line[row])
            named = {axis for axis in range(3) if self._named[axis][line - 1]}
            missing = open_axes - named
            if open_axes == {2} and (path.start[row, :2] == path.end[row, :2]).all() and 2 not in named:
                # It goes nowhere, at whatever height.
                continue
            if missing and (named & {0, 1} or (path.is_cut[row] and missing & {0, 1})):
                yield line, missing
            open_axes -= named

    def _unnamed(self, line: int, axis: int) -> Exception:
        message = (
            f"this line does not name {'XYZ'[axis]}, which would have another value here when passes are repeated or "
            "dropped; name the whole point in the source"
        )
        return refusal_at(self._whole, line, message)


def names_motion(whole: Whole, block: int) -> bool:
    """Return whether a block names its motion code."""
    blocks = whole.blocks
    low, high = np.searchsorted(blocks.block, [block, block + 1]).tolist()
    return bool(_is_motion_code(whole, slice(low, high)).any())


def blocks_that_name_motion(whole: Whole) -> NDArray[np.bool_]:
    """Return which blocks name their motion code."""
    names = np.zeros(len(whole.blocks), np.bool_)
    names[whole.blocks.block[_is_motion_code(whole, slice(None))]] = True
    return names


def _is_motion_code(whole: Whole, rows: slice) -> NDArray[np.bool_]:
    codes = np.rint(whole.modes.values[rows] * 10)
    return np.asarray((whole.blocks.letter[rows] == ord("G")) & np.isin(codes, _MOTIONS))


def motion_code(whole: Whole, first: int) -> list[Span]:
    """Return the insertion that names the motion code in the first moving block from a line on, if it does not."""
    path = whole.path
    row = int(np.searchsorted(path.line, first))
    if row == len(path):
        return []
    block = int(path.line[row]) - 1
    if names_motion(whole, block):
        return []
    at = first_word(whole.blocks, block)
    return [(at, at, b"G%d " % (int(whole.modes.motion[block]) // 10))]


def first_word(blocks: Blocks, block: int) -> int:
    """Return the offset of a block's first word that is no line number."""
    row = int(np.searchsorted(blocks.block, block))
    if blocks.letter[row] == ord("N"):
        row += 1
    return int(blocks.start[row])


def line_end_of(text: bytes) -> bytes:
    """Return how a text ends its lines."""
    at = text.find(b"\n")
    if at > 0 and text[at - 1 : at] == b"\r":
        return b"\r\n"
    return b"\n" if at >= 0 or b"\r" not in text else b"\r"
