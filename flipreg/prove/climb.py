"""The proof of turned contours: the same points at the same depth and feed, in opposite order within each contour.

Everything else is in the order it was. What is closed is decided here, by a walk along the cuts: what is said to be
turned round has to hold a closed loop, and each loop in it has to enclose its area the other way round. A loop that
runs as it did is a fault, unless it is among those that are named as left.
"""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from flipreg.errors import ProofError
from flipreg.path import Path
from flipreg.prove.ground import is_fed
from flipreg.prove.loops import Loop, closed_loops, enclosed_area_mm2, lifted_loops, loops_at_no_known_height
from flipreg.prove.read import PROOF_TOLERANCE_MM
from flipreg.prove.stretches import said
from flipreg.rs274.interpret.whole import Whole

__all__ = ["prove_turned"]

Flags = NDArray[np.bool_]
Floats = NDArray[np.float64]

_COLUMNS = ("normal", "tool", "compensation", "work_offset", "cycle")
_FREE_LETTERS = b"XYZIJKRFG"
_SAME = 1e-6
_TURNED_MM2 = 0.01
"""The least area by which something is a closed loop that can be said to be turned round (chosen)."""
_LEFT_MM2 = 0.05
"""The least area of a closed loop that may not be left in silence (chosen): a circle of a quarter of a millimetre."""


def prove_turned(
    source: Whole, output: Whole, runs: Sequence[tuple[int, int]], left: Sequence[tuple[int, int]]
) -> float:
    """Check that a program is its source with its closed contours run the other way round.

    Parameters
    ----------
    source, output : Whole
        The two programs; the output as it was read again.
    runs : sequence of pairs of int
        First and last row of the motions that are said to be turned round; checked, not believed.
    left : sequence of pairs of int
        First and last line of the closed contours that are named as not turned round.

    Returns
    -------
    float
        The largest deviation in millimetres.

    Raises
    ------
    ProofError
        If anything else differs, or a closed loop that nobody is told of still runs as it did.
    """
    _check_lines(source, output)
    ours, theirs = source.path, output.path
    if len(ours) != len(theirs) or not np.array_equal(ours.line, theirs.line):
        raise _fault(source, 1, "motions would be lost or added")
    turned = _turned_rows(source, runs)
    loops = {run: _loops_turned(source, *run) for run in runs}
    _check_left(source, turned, left)
    order = np.arange(len(ours))
    for first, last in runs:
        order[first : last + 1] = order[first : last + 1][::-1]
    largest = _check_turned(source, ours.take(order), theirs, turned)
    _check_directions(source, theirs, loops)
    _check_descents(source, theirs, runs)
    return max(largest, _check_rest(source, theirs, turned, runs))


def _fault(source: Whole, line: int, message: str) -> ProofError:
    return ProofError(f"{source.blocks.source}:{line}: {message}")


def _check_lines(source: Whole, output: Whole) -> None:
    """Check that all that is no motion stands where it stood."""
    ours, theirs = source.blocks, output.blocks
    if len(ours) != len(theirs) or not np.array_equal(ours.flags, theirs.flags) or source.tail != output.tail:
        raise _fault(source, 1, "lines would be lost or added")
    if said(ours, 1, len(ours)) != said(theirs, 1, len(theirs)):
        raise _fault(source, 1, "a comment would change")
    if not np.array_equal(ours.comment_block, theirs.comment_block):
        raise _fault(source, 1, "a comment would move to another line")
    if [(s.block, s.index, s.value) for s in ours.settings] != [(s.block, s.index, s.value) for s in theirs.settings]:
        raise _fault(source, 1, "a parameter setting would change")
    kept, made = (_fixed_words(whole) for whole in (source, output))
    if kept != made:
        line = next((mine[0] for mine, new in zip(kept, made, strict=False) if mine != new), 0) + 1
        raise _fault(source, line, "a word would change")


def _fixed_words(whole: Whole) -> list[tuple[int, int, float]]:
    """Return the words that may not change: all but coordinates, feeds and motion codes."""
    blocks, values = whole.blocks, np.nan_to_num(whole.modes.values)
    is_motion = (blocks.letter == ord("G")) & np.isin(np.round(values, 1), (0, 1, 2, 3))
    free = np.isin(blocks.letter, list(_FREE_LETTERS.replace(b"G", b""))) | is_motion
    kept = np.flatnonzero(~free)
    return list(zip(blocks.block[kept].tolist(), blocks.letter[kept].tolist(), values[kept].tolist(), strict=True))


def _turned_rows(source: Whole, runs: Sequence[tuple[int, int]]) -> Flags:
    """Return which rows are said to be turned round: stretches of cutting, each once."""
    path = source.path
    turned = np.zeros(len(path), np.bool_)
    done, fed = 0, is_fed(path)
    for first, last in runs:
        rows = slice(first, last + 1)
        if first < done or last < first or last >= len(path) or not fed[rows].all():
            raise _fault(source, 1, "what is turned round would not be one stretch of cutting")
        turned[rows] = True
        done = last + 1
    return turned


def _loops_turned(source: Whole, first: int, last: int) -> list[Loop]:
    """Return the closed loops of a run, at least one.

    A run begins and ends at its lowest height, so that the other way round it meets no wood that it did not meet
    before.
    """
    run = source.path.take(slice(first, last + 1))
    line = int(run.line[0])
    found = closed_loops(run, is_fed(run), least_mm2=_TURNED_MM2)
    if not found:
        raise _fault(source, line, "something would be turned round that is no closed contour")
    if not max(run.start[0, 2], run.end[-1, 2]) <= run.end[:, 2].min() + PROOF_TOLERANCE_MM:
        raise _fault(source, line, "a way down or up would be turned round")
    if not _are_laps(run, [loop.last for loop in found]):
        raise _fault(source, line, "contours would change places")
    return [Loop(first + loop.first, first + loop.last, loop.area_mm2) for loop in found]


def _are_laps(run: Path, lasts: Sequence[int]) -> bool:
    """Return whether each way from the run's first place back to it goes where the first one goes.

    Rings of different sizes that begin in one corner would be cut in the opposite order.
    """
    here = run.start[0]
    ends = [last for last in lasts if np.abs(run.end[last] - here).max() <= PROOF_TOLERANCE_MM]
    begins = [0, *(last + 1 for last in ends)]
    ways = [run.end[begin : last + 1] for begin, last in zip(begins, ends, strict=False)]
    return all(way.shape == ways[0].shape and np.allclose(way, ways[0], rtol=0.0, atol=1e-3) for way in ways)


def _check_left(source: Whole, turned: Flags, left: Sequence[tuple[int, int]]) -> None:
    """Check that each closed loop that is not turned round is named, and that none is named that is."""
    path = source.path
    staying = np.unique(path.line[is_fed(path) & ~turned])
    for first, last in left:
        if np.searchsorted(staying, last, "right") == np.searchsorted(staying, first):
            raise _fault(source, first, "a contour would be named as not turned round, and is, or is none")
    for find in (closed_loops, lifted_loops, loops_at_no_known_height):
        for loop in find(path, ~turned, least_mm2=_LEFT_MM2):
            lines = path.line[loop.first], path.line[loop.last]
            if not any(first <= min(lines) and max(lines) <= last for first, last in left):
                raise _fault(source, int(lines[0]), "this contour would not be turned round, and nobody told")


def _check_directions(source: Whole, made: Path, loops: Mapping[tuple[int, int], Sequence[Loop]]) -> None:
    """Check that the same motions enclose each loop of a run the other way round."""
    for (first, last), inside in loops.items():
        for loop in inside:
            there = slice(first + last - loop.last, first + last - loop.first + 1)
            before = enclosed_area_mm2(source.path.take(slice(loop.first, loop.last + 1)))
            after = enclosed_area_mm2(made.take(there))
            if not abs(before + after) < min(abs(before), abs(after)):
                line = int(source.path.line[loop.first])
                raise _fault(source, line, "this contour would not change its direction")


def _check_turned(source: Whole, expected: Path, made: Path, turned: Flags) -> float:
    """Check turned motions: from end to start, about the same centre, the other way round, fed as before."""
    rows = np.flatnonzero(turned)
    mine, new = expected.take(rows), made.take(rows)

    def differ(different: Flags, what: str) -> None:
        if different.any():
            line = int(new.line[int(np.argmax(different))])
            raise _fault(source, line, f"the {what} of a turned motion would change")

    for name in ("kind", *_COLUMNS):
        differ(getattr(mine, name) != getattr(new, name), name)
    differ(mine.spindle_rpm != new.spindle_rpm, "spindle")
    differ(np.abs(mine.sweep_deg + new.sweep_deg) > 1e-3 * 180, "sweep")
    largest = 0.0
    pairs = {"start": (mine.end, new.start), "end": (mine.start, new.end), "centre": (mine.centre, new.centre)}
    for what, (ours, theirs) in pairs.items():
        off = np.where(np.isnan(ours) & np.isnan(theirs), 0.0, np.abs(ours - theirs)).max(axis=1, initial=0.0)
        differ(~(off <= PROOF_TOLERANCE_MM), what)
        largest = max(largest, float(off.max(initial=0.0)))
    falls = new.end[:, 2] < new.start[:, 2] - _SAME
    same_feed = np.isclose(mine.feed_mm_per_min, new.feed_mm_per_min, rtol=1e-9, equal_nan=True)
    differ(~(same_feed | (falls & (new.feed_mm_per_min < mine.feed_mm_per_min))), "feed")
    return largest


def _check_descents(source: Whole, made: Path, runs: Sequence[tuple[int, int]]) -> None:
    """Check that a turned contour goes down no faster than its source does."""
    before = source.path
    for first, last in runs:
        rows = slice(first, last + 1)
        down, new_down = (path.end[rows, 2] < path.start[rows, 2] - _SAME for path in (before, made))
        feeds, new_feeds = before.feed_mm_per_min[rows][down], made.feed_mm_per_min[rows][new_down]
        if new_feeds.size and not new_feeds.max() <= feeds.max(initial=0.0):
            raise _fault(source, int(before.line[first]), "a turned contour would go down faster than its source")


def _check_rest(source: Whole, made: Path, turned: Flags, runs: Sequence[tuple[int, int]]) -> float:
    """Check that the rest is as it was; only the way to a run that starts elsewhere, and up from it, may move."""
    ours = source.path
    rest = ~turned

    def differ(different: Flags, what: str) -> None:
        wrong = rest & different
        if wrong.any():
            raise _fault(source, int(ours.line[int(np.argmax(wrong))]), f"the {what} of this motion would change")

    for name in ("kind", *_COLUMNS):
        differ(getattr(ours, name) != getattr(made, name), name)
    for name in ("feed_mm_per_min", "spindle_rpm", "sweep_deg"):
        same = np.isclose(getattr(ours, name), getattr(made, name), rtol=1e-9, atol=1e-9, equal_nan=True)
        differ(~same, name.split("_mm")[0])
    may_end, may_start = _may_move(source, made, runs)
    largest = 0.0
    for name, may in (("end", may_end), ("start", may_start), ("centre", np.zeros(len(ours), np.bool_))):
        mine, new = getattr(ours, name), getattr(made, name)
        off = np.where(np.isnan(mine) & np.isnan(new), 0.0, np.abs(mine - new))
        off[may, :2] = 0.0
        worst = off.max(axis=1, initial=0.0)
        differ(~(worst <= PROOF_TOLERANCE_MM), name)
        largest = max(largest, float(worst[rest].max(initial=0.0)))
    return largest


def _may_move(source: Whole, made: Path, runs: Sequence[tuple[int, int]]) -> tuple[Flags, Flags]:
    """Return the rows that may end, and that may start, over another place, because a run starts or ends there.

    Before a run: its approach, which is one traverse to the run's new start, and straight moves after it. After a
    run: straight moves, and the start of the traverse away.
    """
    ours = source.path
    may_end, may_start = np.zeros(len(ours), np.bool_), np.zeros(len(ours), np.bool_)
    crosses = ~is_fed(ours) & ~is_fed(made)
    straight = (_goes_straight(ours) & _goes_straight(made)).tolist()
    for first, last in runs:
        row = first - 1
        while row >= 0 and straight[row]:
            may_end[row] = may_start[row] = True
            row -= 1
        if row >= 0 and crosses[row]:
            may_end[row] = True
        row = last + 1
        while row < len(ours) and straight[row]:
            may_end[row] = may_start[row] = True
            row += 1
        if row < len(ours) and crosses[row]:
            may_start[row] = True
    return may_end, may_start


def _goes_straight(path: Path) -> Flags:
    """Return which motions go straight up or down, or stay where they are."""
    start, end = path.start[:, :2], path.end[:, :2]
    # From where nobody knows to a place that is known is a way across.
    across = (np.abs(np.nan_to_num(end - start)) > _SAME) | (np.isnan(start) & ~np.isnan(end))
    straight: Flags = ~across.any(axis=1) & ~path.is_arc
    return straight
