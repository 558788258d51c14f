"""The proof of turned contours: the same points at the same depth and feed, in opposite order within each contour.

Everything else is in the order it was. What is closed is decided here, by a walk along the cuts: what is said to be
turned round has to hold a closed loop, and each loop in it has to enclose its area the other way round. A loop that
runs as it did is a fault, unless it is among those that are named as left.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path
from flipreg.prove.ground import is_fed
from flipreg.prove.read import PROOF_TOLERANCE_MM
from flipreg.prove.stretches import fault, said
from flipreg.prove.turned_loops import RowRange, check_directions, check_left, loops_turned, offsets
from flipreg.rs274.interpret.whole import Whole

__all__ = ["goes_straight", "prove_turned", "turned_rows"]

Flags = NDArray[np.bool_]
Floats = NDArray[np.float64]

_COLUMNS = ("normal", "tool", "compensation", "work_offset", "cycle")
_FREE_LETTERS = b"XYZIJKRF"
_SAME = 1e-6


def prove_turned(
    source: Whole,
    output: Whole,
    runs: Sequence[RowRange],
    left: Sequence[tuple[int, int]],
    *,
    stands_elsewhere: bool = False,
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
    stands_elsewhere : bool
        These are pieces of two programs, and the piece before ended over where its last run starts or ends.

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
        raise fault(source, 1, "motions would be lost or added")
    turned = turned_rows(source, runs)
    loops = loops_turned(source, turned, runs)
    check_left(source, turned, left)
    order = np.arange(len(ours))
    for first, last in runs:
        order[first : last + 1] = order[first : last + 1][::-1]
    largest = _check_turned(source, ours.take(order), theirs, turned)
    check_directions(source, theirs, runs, loops)
    _check_descents(source, theirs, turned, runs)
    may_move = _may_move(source, theirs, runs, starts_elsewhere=stands_elsewhere)
    return max(largest, _check_rest(source, theirs, turned, may_move))


def _check_lines(source: Whole, output: Whole) -> None:
    """Check that all that is no motion stands where it stood."""
    ours, theirs = source.blocks, output.blocks
    if len(ours) != len(theirs) or not np.array_equal(ours.flags, theirs.flags) or source.tail != output.tail:
        raise fault(source, 1, "lines would be lost or added")
    if said(ours, 1, len(ours)) != said(theirs, 1, len(theirs)):
        raise fault(source, 1, "a comment would change")
    if not np.array_equal(ours.comment_block, theirs.comment_block):
        raise fault(source, 1, "a comment would move to another line")
    if [(s.block, s.index, s.value) for s in ours.settings] != [(s.block, s.index, s.value) for s in theirs.settings]:
        raise fault(source, 1, "a parameter setting would change")
    kept, made = (_fixed_words(whole) for whole in (source, output))
    count = min(len(kept), len(made))
    differ = (kept[:count] != made[:count]).any(axis=1)
    if differ.any() or len(kept) != len(made):
        line = int(kept[int(np.argmax(differ)), 0]) + 1 if differ.any() else 1
        raise fault(source, line, "a word would change")


def _fixed_words(whole: Whole) -> Floats:
    """Return block, letter and value of the words that may not change: all but coordinates, feeds, motion codes."""
    blocks, values = whole.blocks, np.nan_to_num(whole.modes.values)
    is_motion = (blocks.letter == ord("G")) & np.isin(np.round(values, 1), (0, 1, 2, 3))
    kept = np.flatnonzero(~(np.isin(blocks.letter, list(_FREE_LETTERS)) | is_motion))
    return np.column_stack((blocks.block[kept], blocks.letter[kept], values[kept]))


def turned_rows(source: Whole, runs: Sequence[RowRange]) -> Flags:
    """Return which rows are said to be turned round: stretches of cutting, each once."""
    path = source.path
    turned = np.zeros(len(path), np.bool_)
    done, fed = 0, is_fed(path)
    for first, last in runs:
        rows = slice(first, last + 1)
        if first < done or last < first or last >= len(path) or not fed[rows].all():
            raise fault(source, 1, "what is turned round would not be one stretch of cutting")
        turned[rows] = True
        done = last + 1
    return turned


def _check_turned(source: Whole, expected: Path, made: Path, turned: Flags) -> float:
    """Check turned motions: from end to start, about the same centre, the other way round, fed as before."""
    rows = np.flatnonzero(turned)
    mine, new = expected.take(rows), made.take(rows)

    def differ(different: Flags, what: str) -> None:
        if different.any():
            line = int(new.line[int(np.argmax(different))])
            raise fault(source, line, f"the {what} of a turned motion would change")

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


def _check_descents(source: Whole, made: Path, turned: Flags, runs: Sequence[RowRange]) -> None:
    """Check that a turned contour goes down no faster than its source does."""
    if not runs:
        return
    fastest = []
    for path in (source.path, made):
        down = path.end[turned, 2] < path.start[turned, 2] - _SAME
        fastest.append(np.maximum.reduceat(np.where(down, path.feed_mm_per_min[turned], 0.0), offsets(runs)))
    faster = ~(fastest[1] <= fastest[0])
    if faster.any():
        line = int(source.path.line[runs[int(np.argmax(faster))][0]])
        raise fault(source, line, "a turned contour would go down faster than its source")


def _check_rest(source: Whole, made: Path, turned: Flags, may_move: tuple[Flags, Flags]) -> float:
    """Check that the rest is as it was; only the way to a run that starts elsewhere, and up from it, may move."""
    ours = source.path
    rest = ~turned

    def differ(different: Flags, what: str) -> None:
        wrong = rest & different
        if wrong.any():
            raise fault(source, int(ours.line[int(np.argmax(wrong))]), f"the {what} of this motion would change")

    for name in ("kind", *_COLUMNS):
        differ(getattr(ours, name) != getattr(made, name), name)
    for name in ("feed_mm_per_min", "spindle_rpm", "sweep_deg"):
        same = np.isclose(getattr(ours, name), getattr(made, name), rtol=1e-9, atol=1e-9, equal_nan=True)
        differ(~same, name.split("_mm")[0])
    may_end, may_start = may_move
    largest = 0.0
    for name, may in (("end", may_end), ("start", may_start), ("centre", np.zeros(len(ours), np.bool_))):
        mine, new = getattr(ours, name), getattr(made, name)
        off = np.where(np.isnan(mine) & np.isnan(new), 0.0, np.abs(mine - new))
        off[may, :2] = 0.0
        worst = off.max(axis=1, initial=0.0)
        differ(~(worst <= PROOF_TOLERANCE_MM), name)
        largest = max(largest, float(worst[rest].max(initial=0.0)))
    return largest


def _may_move(
    source: Whole, made: Path, runs: Sequence[RowRange], *, starts_elsewhere: bool
) -> tuple[Flags, Flags]:
    """Return the rows that may end, and that may start, over another place, because a run starts or ends there.

    Before a run: its approach, which is one traverse to the run's new start, and straight moves after it. After a
    run: straight moves, and the start of the traverse away.
    """
    ours = source.path
    may_end, may_start = np.zeros(len(ours), np.bool_), np.zeros(len(ours), np.bool_)
    crosses = (~is_fed(ours) & ~is_fed(made)).tolist()
    straight = (goes_straight(ours) & goes_straight(made)).tolist()
    for first, _ in runs:
        row = first - 1
        while row >= 0 and straight[row]:
            may_end[row] = may_start[row] = True
            row -= 1
        if row >= 0 and crosses[row]:
            may_end[row] = True
    for row in [*[0] * starts_elsewhere, *(last + 1 for _, last in runs)]:
        while row < len(ours) and straight[row]:
            may_end[row] = may_start[row] = True
            row += 1
        if row < len(ours) and crosses[row]:
            may_start[row] = True
    return may_end, may_start


def goes_straight(path: Path) -> Flags:
    """Return which motions go straight up or down, or stay where they are."""
    start, end = path.start[:, :2], path.end[:, :2]
    # From where nobody knows to a place that is known is a way across.
    across = (np.abs(np.nan_to_num(end - start)) > _SAME) | (np.isnan(start) & ~np.isnan(end))
    straight: Flags = ~across.any(axis=1) & ~path.is_arc
    return straight
