"""A program's text with one floor at another depth: passes moved, repeated, dropped; all else as it was."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from flipreg.rewrite.floor.depth_plan import DepthPlan, MovedPass, plan_depth
from flipreg.rewrite.floor.floors import FloorChange
from flipreg.rewrite.floor.left_out import check_way_up, refuse_rise_elsewhere
from flipreg.rewrite.floor.movable import check_movable
from flipreg.rewrite.floor.passes import Pass, exact_mm
from flipreg.rewrite.floor.relevel import Releveller, standing_mm
from flipreg.rewrite.floor.trace import backwards, trace_of
from flipreg.rewrite.floor.way_back import way_back, way_up
from flipreg.rewrite.text.heights import height_at
from flipreg.rewrite.text.junction import Junctions, line_end_of
from flipreg.rewrite.text.refuse import refusal_at
from flipreg.rewrite.text.spans import Span, spliced
from flipreg.rs274.interpret.whole import Whole

__all__ = ["Stretch", "change_floor"]


@dataclass(frozen=True, slots=True)
class Stretch:
    """Consecutive lines of the new program, and the source's lines that they stand for.

    Attributes
    ----------
    text : bytes
        Whole lines.
    first, last : int
        Lines of the source, both included; `last` is `first - 1` for lines that are only new.
    level_mm : Decimal or None
        Where the stretch's floor is now; None where the lines do what they did.
    dropped : bool
        The source's lines are not run any more.
    is_way : bool
        The lines lead back, by traverses, to where the next stretch starts.
    """

    text: bytes
    first: int
    last: int
    level_mm: Decimal | None = None
    dropped: bool = False
    is_way: bool = False


def change_floor(whole: Whole, change: FloorChange) -> tuple[list[Stretch], DepthPlan]:
    """Return the new program in stretches, and what was done.

    Raises
    ------
    RefusedError
        Where it can't be done without a guess.
    """
    plan = plan_depth(whole, change)
    return list(_Assembly(whole, plan, float(change.top_mm)).stretches()), plan


@dataclass(frozen=True, slots=True)
class _Run:
    """Consecutive passes that are moved to the same levels, or one that is left out; and its lines."""

    passes: tuple[Pass, ...]
    first: int
    last: int
    moves: tuple[MovedPass, ...]

    @property
    def move(self) -> MovedPass | None:
        """The first of the moves; None for what is left out."""
        return self.moves[0] if self.moves else None


class _Assembly:
    def __init__(self, whole: Whole, plan: DepthPlan, top_mm: float) -> None:
        self._whole, self._plan, self._top_mm = whole, plan, top_mm
        self._relevel = Releveller(whole)
        self._junctions = Junctions(whole)
        self._line_end = line_end_of(whole.blocks.text)
        self._hole_edits = self._holes()
        # Motion codes to name in blocks that come later.
        self._pending: list[Span] = []

    def stretches(self) -> Iterator[Stretch]:
        """Yield the new program, stretch by stretch."""
        # The next line of the source, and the line of the source that ran last.
        next_line, actual = 1, 0
        before: _Run | None = None
        for run in self._runs():
            if run.first > next_line:
                self._check_after(before)
                before = None
                in_step = actual == next_line - 1
                says = self._says_something(next_line, run.first - 1)
                yield from self._kept(next_line, run.first - 1, actual if says else next_line - 1)
                if not in_step and says and run.move is None and not self._moves(next_line, run.first - 1):
                    message = "words between passes that are left out; put them inside of a pass, or above the first"
                    raise refusal_at(self._whole, next_line, message)
                actual = run.first - 1 if in_step or says else actual
            if run.move is None:
                yield from self._dropped(run)
            else:
                yield from self._moved(run, actual, before)
                actual = run.last
            next_line, before = run.last + 1, run
        last = len(self._whole.blocks)
        if last >= next_line:
            self._check_after(before)
            yield from self._kept(next_line, last, actual)

    def _check_after(self, run: _Run | None) -> None:
        """Refuse lines that stay and depend on the level of the pass right before them, which has another one now."""
        if run is not None and run.move is not None:
            self._relevel.check_after(run.passes[-1], run.move.levels_mm[-1])

    def _says_something(self, first: int, last: int) -> bool:
        """Return whether lines hold more than comments and line numbers."""
        blocks = self._whole.blocks
        low, high = np.searchsorted(blocks.block, [first - 1, last])
        return bool((blocks.letter[low:high] != ord("N")).any())

    def _moves(self, first: int, last: int) -> bool:
        low, high = np.searchsorted(self._whole.path.line, [first, last + 1])
        return bool(high > low)

    def _runs(self) -> list[_Run]:
        """Return the passes that do not stay, in the order of the program."""
        moves = {move.index: move for move in self._plan.moves}
        fates: dict[int, MovedPass | None] = {**dict.fromkeys(self._plan.dropped), **moves}
        runs: list[_Run] = []
        group: list[int] = []
        for index in sorted(fates):
            if group and not self._goes_on(group[-1], index, fates):
                runs.append(self._run(group, fates))
                group = []
            group.append(index)
        return [*runs, self._run(group, fates)] if group else runs

    def _goes_on(self, before: int, index: int, fates: dict[int, MovedPass | None]) -> bool:
        one, other = fates[before], fates[index]
        if index != before + 1 or one is None or other is None:
            return False
        same = (one.levels_mm, one.above_mm) == (other.levels_mm, other.above_mm)
        return same and self._plan.passes[index].first == self._plan.passes[before].last + 1

    def _run(self, group: list[int], fates: dict[int, MovedPass | None]) -> _Run:
        passes = tuple(self._plan.passes[index] for index in group)
        line, first = self._whole.path.line, passes[0].first
        if fates[group[0]] is None and not group[0]:
            # The way from where the machine stands to the first pass is the way to the next one now.
            z0, z1 = self._whole.path.start[:, 2], self._whole.path.end[:, 2]
            first = next(row for row in range(first, passes[0].cut + 1) if z1[row] < z0[row])
        moves = tuple(each for index in group if (each := fates[index]) is not None)
        return _Run(passes, int(line[first]), int(line[passes[-1].last]), moves)

    def _kept(self, first: int, last: int, actual: int) -> Iterator[Stretch]:
        """Yield lines that do what they did; holes with a new bottom are stretches of their own."""
        if actual != first - 1:
            refuse_rise_elsewhere(self._whole, first, actual)
        lines, edits = self._junctions.lines_before(first, first - 1, actual)
        self._pending += edits
        if lines:
            yield self._new_lines(lines, first)
        for low, high, level in self._parts(first, last):
            spans = [span for span in [*self._pending, *self._hole_edits.values()] if self._is_in(span, low, high)]
            if low in self._hole_edits:
                yield self._remark(f"bottom at {self._from(self._plan.levels_mm[-1], low)}", low)
            yield Stretch(self._edited(low, high, spans), low, high, level)

    def _parts(self, first: int, last: int) -> Iterator[tuple[int, int, Decimal | None]]:
        level = self._plan.levels_mm[-1]
        drilled = sorted(hole.line for hole in self._plan.holes if first <= hole.line <= last)
        next_line = first
        for line in drilled:
            if line > next_line:
                yield next_line, line - 1, None
            yield line, line, level
            next_line = line + 1
        if next_line <= last:
            yield next_line, last, None

    def _dropped(self, run: _Run) -> Iterator[Stretch]:
        check_movable(self._whole, run.first, run.last, "dropped")
        self._check_covered(run.passes[0])
        level = height_at(self._whole, run.first, exact_mm(run.passes[0].level_mm))
        comments = [f"(pass at {level} left out: the floor is above it now)".encode()]
        blocks = self._whole.blocks
        inside = (blocks.comment_block >= run.first - 1) & (blocks.comment_block < run.last)
        for start, end in zip(blocks.comment_start[inside], blocks.comment_end[inside], strict=True):
            comments.append(blocks.text[start:end])
        text = b"".join(comment + self._line_end for comment in comments)
        yield Stretch(text, run.first, run.last, dropped=True)

    def _check_covered(self, each: Pass) -> None:
        """Refuse to drop a pass that cuts where the floor's own pass does not."""
        path = self._whole.path
        trace = trace_of(self._whole, each)
        for move in self._plan.moves:
            if trace_of(self._whole, self._plan.passes[move.index]) in (trace, backwards(trace)):
                return
        message = (
            "this pass lies at or below the new floor, and the pass of the floor does not go the same way, so that it "
            "can't take its place"
        )
        raise refusal_at(self._whole, int(path.line[each.cut]), message)

    def _moved(self, run: _Run, actual: int, run_before: _Run | None) -> Iterator[Stretch]:
        assert run.move is not None
        above = [move.above_mm for move in run.moves]
        if run_before is not None and run_before.move is not None:
            stands = self._relevel.end_mm(run_before.passes[-1], run_before.move.levels_mm[-1])
        else:
            stands = standing_mm(float(self._whole.path.start[run.passes[0].first, 2]))
        for number, level in enumerate(run.move.levels_mm):
            is_copy = number < len(run.move.levels_mm) - 1
            if len(run.move.levels_mm) > 1:
                check_movable(self._whole, run.first, run.last, "repeated")
            before = run.last if number else actual
            axes = self._junctions.depends(run.first, run.first - 1, before)
            crosses = not axes and self._junctions.crosses(run.first, run.first - 1, before)
            if crosses and stands < exact_mm(self._top_mm):
                axes = {0, 1}
            way = way_back(self._whole, run.first, axes, self._top_mm) if axes else None
            if crosses and axes:
                way = way or way_up(self._whole, run.first, before, self._top_mm)
            if crosses and axes and way is None:
                message = "this traverse would begin at another place, in the wood; rise straight up before it"
                raise refusal_at(self._whole, run.first, message)
            if way is None and before < run.first - 1:
                refuse_rise_elsewhere(self._whole, run.first, before)
            if way is not None:
                check_way_up(self._whole, run.first, before, way.height_mm)
                stands = way.height_mm
            lines, edits = self._junctions.lines_before(run.first, run.first - 1, before, way)
            spans = [*edits]
            if not number:
                spans += [span for span in self._pending if self._is_in(span, run.first, run.last)]
            for at, (each, move) in enumerate(zip(run.passes, run.moves, strict=True)):
                spans += self._relevel.edits(each, move, level, (above[at], stands))
                stands = self._relevel.end_mm(each, level)
                left = level if move.is_cut_through else self._relevel.entry_mm(each, level)
                # A pass that comes down from a height that nobody knows leaves what it found.
                above[at] = above[at] if left.is_nan() else min(above[at], left)
            if is_copy:
                spans += self._without_numbers(run.first, run.last)
            what = "repeated" if is_copy else "moved"
            said = f"(pass {what}: {self._from(level, run.first)})".encode()
            yield self._new_lines([said, *lines], run.first, is_way=way is not None)
            text = self._edited(run.first, run.last, spans)
            if is_copy and not text.endswith((b"\n", b"\r")):
                # The program ends there without a line end.
                text += self._line_end
            yield Stretch(text, run.first, run.last, level)

    def _without_numbers(self, first: int, last: int) -> list[Span]:
        """Return the edits that leave line numbers out: a number names one line."""
        blocks = self._whole.blocks
        rows = blocks.rows("N")
        rows = rows[(blocks.block[rows] >= first - 1) & (blocks.block[rows] < last)]
        spans = []
        for start, end in zip(blocks.start[rows].tolist(), blocks.end[rows].tolist(), strict=True):
            after = end
            while blocks.text[after : after + 1] in (b" ", b"\t"):
                after += 1
            spans.append((start, after, b""))
        return spans

    def _holes(self) -> dict[int, Span]:
        edits = {}
        lines = {hole.line for hole in self._plan.holes}
        for line in sorted(lines):
            edit = self._relevel.bottom(line, self._plan.levels_mm[-1])
            if edit is not None:
                edits[line] = edit
        return edits

    def _is_in(self, span: Span, first: int, last: int) -> bool:
        blocks = self._whole.blocks
        return bool(blocks.line_start[first - 1] <= span[0] < blocks.line_end[last - 1])

    def _edited(self, first: int, last: int, spans: list[Span]) -> bytes:
        return spliced(self._whole.lines(first, last), spans, base=int(self._whole.blocks.line_start[first - 1]))

    def _new_lines(self, lines: list[bytes], first: int, *, is_way: bool = False) -> Stretch:
        return Stretch(b"".join(line + self._line_end for line in lines), first, first - 1, is_way=is_way)

    def _from(self, level_mm: Decimal, line: int) -> str:
        now, was = (height_at(self._whole, line, z) for z in (level_mm, self._plan.was_mm))
        return f"{now}, was {was}"

    def _remark(self, text: str, first: int) -> Stretch:
        return self._new_lines([f"({text})".encode()], first)
