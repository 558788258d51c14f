"""The text of one pass at another level: its Z words, and nothing else.

The entry is moved with its floor, so that ramps and helices keep their angle. What is above the level it enters
from has to stay out of the wood: a traverse or the start of a ramp that would be below the level above is refused.
"""

from decimal import Decimal
from math import isnan

import numpy as np

from flipreg.rewrite.floor.depth_plan import MovedPass
from flipreg.rewrite.floor.passes import SAME_LEVEL_MM, Pass, exact_mm
from flipreg.rewrite.text.heights import spelled_height, told_height
from flipreg.rewrite.text.refuse import refusal_at
from flipreg.rewrite.text.rows import rows_of, word_in_block
from flipreg.rewrite.text.spans import Span
from flipreg.rs274.interpret.whole import Whole
from flipreg.rs274.read.blocks import EXPRESSION
from flipreg.units import plain

__all__ = ["Releveller", "standing_mm"]

_SAME = Decimal(str(SAME_LEVEL_MM))


def standing_mm(z_mm: float) -> Decimal:
    """Return a height that a tool stands at, infinite where nobody knows it, as at a position of the machine."""
    return Decimal("Infinity") if isnan(z_mm) else exact_mm(z_mm)


class Releveller:
    """Gives the Z words of passes of one program new values."""

    def __init__(self, whole: Whole) -> None:
        self._whole = whole
        self._z_word = word_in_block(whole.blocks, rows_of(whole.blocks, whole.modes, "Z")).tolist()
        path = whole.path
        self._line = path.line.tolist()
        self._fed = path.is_cut.tolist()
        across = (path.end[:, :2] != path.start[:, :2]).any(axis=1) | path.is_arc
        self._across = across.tolist()
        self._start_z, self._end_z = path.start[:, 2].tolist(), path.end[:, 2].tolist()

    def end_mm(self, each: Pass, level_mm: Decimal) -> Decimal:
        """Return the height that a pass ends at, cut at a level; as `standing_mm` has it."""
        end = standing_mm(self._end_z[each.last])
        at_level = abs(self._end_z[each.last] - each.level_mm) <= SAME_LEVEL_MM
        return level_mm if at_level or end < level_mm else end

    def check_after(self, each: Pass, level_mm: Decimal) -> None:
        """Refuse what comes after a pass and depends on its level: a ramp that begins there, a traverse at its height.

        Raises
        ------
        RefusedError
            At the line that would move in another way.
        """
        if self.end_mm(each, level_mm) == exact_mm(self._end_z[each.last]):
            return
        for row in range(each.last + 1, len(self._line)):
            named = self._z_word[self._line[row] - 1] >= 0
            if self._across[row] and (self._fed[row] or not named):
                what = "ramp" if self._fed[row] else "traverse"
                message = (
                    f"this {what} begins at the level of the pass before it, which is {self._told(level_mm)} now, and "
                    "would run in another way; lift the tool in between in the source"
                )
                raise refusal_at(self._whole, self._line[row], message)
            is_step = named and self._whole.modes.incremental[self._line[row] - 1]
            if is_step and self._end_z[row] != self._start_z[row]:
                message = (
                    "this line moves Z in increments (G91) from the level of the pass before it, which is "
                    f"{self._told(level_mm)} now, and would end at another height; name the height in G90"
                )
                raise refusal_at(self._whole, self._line[row], message)
            if named:
                return

    def entry_mm(self, each: Pass, level_mm: Decimal) -> Decimal:
        """Return the height that a pass's ramp starts at, or its cut, at a level."""
        return exact_mm(self._start_z[self._ramp(each)]) + level_mm - exact_mm(each.level_mm)

    def edits(self, each: Pass, move: MovedPass, level_mm: Decimal, before_mm: tuple[Decimal, Decimal]) -> list[Span]:
        """Return the edits that cut a pass at another level.

        Parameters
        ----------
        each : Pass
            The pass.
        move : MovedPass
            What becomes of it.
        level_mm : Decimal
            The one of its new levels that is meant.
        before_mm : pair of Decimal
            The ground where it comes down now, and where the tool stands before it now.

        Raises
        ------
        RefusedError
            Where a ramp would change its angle, a traverse would go into the wood, or a word can't be changed.
        """
        was, (above_mm, _) = exact_mm(each.level_mm), before_mm
        for row in range(each.first, each.last + 1):
            if self._fed[row] and self._end_z[row] < each.level_mm - SAME_LEVEL_MM:
                message = (
                    f"this line goes down to {self._told(exact_mm(self._end_z[row]))}, below the level of its pass, "
                    f"which is {self._told(was)}, and nothing is cut along there"
                )
                raise refusal_at(self._whole, self._line[row], message)
        if level_mm == was:
            self._check_entry(each, {}, above_mm)
            return []
        new = self._entry(each, move, level_mm - was, before_mm)
        for row in range(each.cut, each.last + 1):
            start, end = (abs(z[row] - each.level_mm) <= SAME_LEVEL_MM for z in (self._start_z, self._end_z))
            if self._fed[row] and self._across[row] and start != end:
                message = "a ramp inside the pass would change its angle: one end is at the level, the other is not"
                raise refusal_at(self._whole, self._line[row], message)
            # Above the top of a tab there is no tab: what would rise to it stays at the level. Of heights that nobody
            # knows, as those of the machine, none is changed.
            if end or self._end_z[row] < float(level_mm):
                new[row] = level_mm
        self._check_entry(each, new, above_mm)
        return [self._word(row, z) for row, z in new.items() if self._z_word[self._line[row] - 1] >= 0]

    def bottom(self, line: int, level_mm: Decimal) -> Span | None:
        """Return the edit of the Z word of a canned cycle; None where it is carried over from a block before."""
        row = self._z_word[line - 1]
        return None if row < 0 else self._replaced(row, line, level_mm)

    def _ramp(self, each: Pass) -> int:
        """Return the first row of a pass's ramp, or that of its cut."""
        return next((row for row in range(each.first, each.cut) if self._is_ramp(row)), each.cut)

    def _entry(
        self, each: Pass, move: MovedPass, by_mm: Decimal, before_mm: tuple[Decimal, Decimal]
    ) -> dict[int, Decimal]:
        """Return the new heights of the rows before the level."""
        rows, ramp, (above_mm, stands_mm) = range(each.first, each.cut), self._ramp(each), before_mm
        new: dict[int, Decimal] = {}
        for row in rows:
            z = self._end_z[row]
            if np.isnan(z):
                continue
            if row >= ramp or abs(z - each.level_mm) <= SAME_LEVEL_MM:
                new[row] = exact_mm(z) + by_mm
            elif by_mm > 0 and exact_mm(z) <= above_mm:
                # What was above the level above has to be above the one that takes its place.
                new[row] = exact_mm(z) + by_mm
        if ramp < each.cut:
            self._move_start(each, move, new, (by_mm, above_mm, stands_mm))
        return new

    def _is_ramp(self, row: int) -> bool:
        drop = self._start_z[row] - self._end_z[row]
        return bool(self._fed[row] and self._across[row] and abs(drop) > SAME_LEVEL_MM)

    def _move_start(
        self, each: Pass, move: MovedPass, new: dict[int, Decimal], heights_mm: tuple[Decimal, Decimal, Decimal]
    ) -> None:
        """Give a ramp the start that keeps its angle."""
        ramp, (by_mm, above_mm, stands_mm) = self._ramp(each), heights_mm
        whole, line = self._whole, self._line[ramp]
        was = exact_mm(self._start_z[ramp])
        known = ~np.isnan(self._end_z)
        starts = [row for row in range(each.first, ramp) if known[row] and self._z_word[self._line[row] - 1] >= 0]
        start = was + by_mm
        if start < above_mm - move.plunge_mm - _SAME:
            too_deep = f"; from {self._told(above_mm)} down to the new one it would have to be steeper"
            if move.plunge_mm > _SAME:
                depth, most = plain(above_mm - start), plain(move.plunge_mm)
                too_deep = f", and would start {depth} mm deep in wood, over {most} mm"
            what_helps = "a smaller --step-down, or one more pass, keeps its angle"
            if not move.is_cut_through:
                what_helps = "its pass does not cut where it starts, so that no pass before it makes room there"
            message = f"this ramp drops {plain(was - exact_mm(each.level_mm))} mm to its level{too_deep}; {what_helps}"
            raise refusal_at(whole, line, message)
        if not starts:
            if abs(start - stands_mm) > _SAME:
                message = (
                    "this ramp starts where the cut before it ends, without a Z word of its own, so that another "
                    "step-down would change its angle"
                )
                raise refusal_at(whole, line, message)
            return
        first = starts[-1]
        if start > max(exact_mm(self._end_z[row]) for row in starts) and len(starts) > 1:
            raise refusal_at(whole, line, f"this ramp would start at {self._told(start)}, above the approach to it")
        if not self._fed[first] and start <= above_mm and by_mm < 0:
            into = f"{self._told(start)}, into the wood"
            message = f"for the ramp after it to keep its angle this traverse would go to {into}"
            raise refusal_at(whole, self._line[first], message)
        self._check_crossing(range(first, ramp), start, is_lower=by_mm < 0)
        new[first] = start

    def _check_crossing(self, rows: range, start_mm: Decimal, *, is_lower: bool) -> None:
        """Refuse a way to a ramp's start that goes across at its height: a traverse lower than it was, or a feed."""
        for row in reversed(rows):
            if self._across[row] and (is_lower or self._fed[row]):
                message = (
                    f"for the ramp after it to keep its angle this line would go across at {self._told(start_mm)}; let "
                    "the ramp start from a line of its own that goes straight down"
                )
                raise refusal_at(self._whole, self._line[row], message)

    def _check_entry(self, each: Pass, new: dict[int, Decimal], above_mm: Decimal) -> None:
        for row in range(each.first, each.last + 1):
            if self._fed[row] or np.isnan(self._end_z[row]) or self._stays(row):
                continue
            z = new.get(row, exact_mm(self._end_z[row]))
            before = float(new.get(row - 1, self._end_z[row - 1]))
            if row > each.cut and float(z) >= before:
                # Up over a tab.
                continue
            if z < above_mm - _SAME:
                message = (
                    f"this traverse goes down to {self._told(z)}, below the level above, which is "
                    f"{self._told(above_mm)} now"
                )
                raise refusal_at(self._whole, self._line[row], message)

    def _stays(self, row: int) -> bool:
        """Return whether a row goes nowhere, at whatever height the tool is."""
        names_z = self._z_word[self._line[row] - 1] >= 0
        return not (self._across[row] or names_z) and self._start_z[row] == self._end_z[row]

    def _told(self, z_mm: Decimal) -> str:
        return told_height(self._whole, z_mm)

    def _word(self, row: int, z_mm: Decimal) -> Span:
        line = self._line[row]
        return self._replaced(self._z_word[line - 1], line, z_mm)

    def _replaced(self, word: int, line: int, z_mm: Decimal) -> Span:
        blocks, modes = self._whole.blocks, self._whole.modes
        if modes.incremental[line - 1]:
            raise blocks.refusal("a depth in increments (G91) is not moved; name it in G90", row=word)
        if float(modes.origins(np.array([line - 1]))[0, 2]):
            raise blocks.refusal("a depth in numbers that G92 has changed is not moved", row=word)
        if blocks.decimals[word] == EXPRESSION:
            raise blocks.refusal("a depth that is a parameter or an expression is not moved", row=word)
        start, end = int(blocks.number[word]), int(blocks.end[word])
        decimals = int(blocks.decimals[word])
        pointed = blocks.text[end - 1 : end] == b"."
        return start, end, spelled_height(z_mm, decimals, inch=bool(modes.inch[line - 1]), pointed=pointed)
