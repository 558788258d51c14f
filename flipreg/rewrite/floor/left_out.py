"""Passes that are left out together with their way back: from over the place they come down at, to over it again.

The way up from a pass is where the way to the next one begins. Without the pass the tool already stands up there, and
the same line would lead down to its height, or across from another place.
"""

from collections.abc import Collection, Sequence
from dataclasses import replace
from decimal import Decimal
from math import inf, isnan

import numpy as np

from flipreg.path import Path
from flipreg.rewrite.floor.movable import does_more
from flipreg.rewrite.floor.passes import Pass, exact_mm
from flipreg.rewrite.text.heights import told_height
from flipreg.rewrite.text.refuse import refusal_at
from flipreg.rs274.interpret.whole import Whole

__all__ = ["check_way_up", "left_out_with_ways", "refuse_rise_elsewhere"]

_SAME_MM = 1e-9


def left_out_with_ways(whole: Whole, passes: Sequence[Pass], dropped: Collection[int], top_mm: float) -> list[Pass]:
    """Return passes such that one that is left out ends where it begins, above the surface, if it comes back there.

    Parameters
    ----------
    whole : Whole
        The program.
    passes : sequence of Pass
        All passes; one that is left out or repeated begins after what is done on the way to it.
    dropped : collection of int
        Those that are left out.
    top_mm : float
        Height of the wood's surface.

    Returns
    -------
    list of Pass
        One left out begins over the place it comes down at, and holds the way back there; the next one begins after it.
        Where no way leads back, or where the pass begins in the wood, where the one before it ends, they are as before.
    """
    path, new = whole.path, list(passes)
    events = does_more(whole)
    # The row before which the tool stands where those that are left out, one right after another, begin.
    begin = -1
    for index in sorted(dropped):
        each = new[index]
        goes_on = begin >= 0 and index - 1 in dropped and new[index - 1].last + 1 == each.first
        if not goes_on:
            begin = _over_the_start(path, each)
        if not path.start[begin, 2] > top_mm:
            begin = -1
            continue
        stop = next((row for row in range(each.last + 1, len(path)) if path.is_cut[row]), len(path))
        lines = path.line[each.last : stop]
        quiet = [row for row in range(each.last + 1, stop) if not events[lines[0] : path.line[row]].any()]
        back = next((row for row in quiet if _is_back(whole, row, begin)), None)
        if back is None:
            continue
        new[index] = replace(each, first=each.first if goes_on else begin, last=back)
        if index + 1 < len(new) and new[index + 1].first <= back:
            new[index + 1] = replace(new[index + 1], first=back + 1)
    return new


def refuse_rise_elsewhere(whole: Whole, first: int, actual: int) -> None:
    """Refuse a rise out of a pass that is left out, where it would come down over another place.

    Parameters
    ----------
    whole : Whole
        The program.
    first, actual : int
        The line after the pass, and the line that it runs after now; from 1.

    Raises
    ------
    RefusedError
        At the rise.
    """
    path, blocks = whole.path, whole.blocks
    begin = int(np.searchsorted(path.line, actual, side="right"))
    for row in range(int(np.searchsorted(path.line, first)), len(path)):
        words = slice(*np.searchsorted(blocks.block, [path.line[row] - 1, path.line[row]]).tolist())
        goes_across = np.isin(blocks.letter[words], list(b"XY")).any()
        if path.is_cut[row] or goes_across or begin == 0 or _is_at(path, row, begin):
            return
        low, high = float(path.end[row, 2]), float(path.end[begin - 1, 2])
        if low < high:
            said_low, said_high = (told_height(whole, exact_mm(z)) for z in (low, high))
            message = (
                f"the pass that this line led up from is left out, and from {said_high}, where the tool stands now, it "
                f"would come down to {said_low} at another place; let it go up to {said_high}"
            )
            raise refusal_at(whole, int(path.line[row]), message)


def check_way_up(whole: Whole, first: int, before: int, height_mm: Decimal) -> None:
    """Refuse a way that leads to a line at a height, in millimetres, where the line before it ends higher than that.

    Raises
    ------
    RefusedError
        At the line that is led to.
    """
    row = int(np.searchsorted(whole.path.line, before, side="right")) - 1
    stands = float(whole.path.end[row, 2]) if row >= 0 else -inf
    if isnan(stands) or stands > height_mm:
        low = told_height(whole, height_mm)
        if isnan(stands):
            high, remedy = "a height that nobody knows", "ask for a floor that leaves no pass out before it"
        else:
            high = told_height(whole, exact_mm(stands))
            remedy = f"let the program cross to it at {high}"
        message = (
            f"from {high}, where the tool stands before this line now, the way to it at {low} would lead down at "
            f"another place; {remedy}"
        )
        raise refusal_at(whole, first, message)


def _over_the_start(path: Path, each: Pass) -> int:
    """Return the first row of a pass after its last traverse across."""
    begin = row = each.first
    while not path.is_cut[row]:
        row += 1
        if not _is_at(path, row, begin):
            begin = row
    return begin


def _is_at(path: Path, row: int, begin: int) -> bool:
    """Return whether two rows start over the same place."""
    return bool((np.abs(path.start[row, :2] - path.start[begin, :2]) <= _SAME_MM).all())


def _is_back(whole: Whole, row: int, begin: int) -> bool:
    """Return whether a row leads to where another one starts, or over it if the next motion is straight up or down."""
    path = whole.path
    if row + 1 == len(path) or path.line[row + 1] == path.line[row] or not _is_at(path, row + 1, begin):
        return False
    if abs(path.start[row + 1, 2] - path.start[begin, 2]) <= _SAME_MM:
        return True
    following = next((at for at in range(row + 1, len(path)) if (path.start[at] != path.end[at]).any()), None)
    if following is None or path.is_arc[following] or whole.modes.incremental[path.line[following] - 1]:
        return False
    return bool((path.start[following, :2] == path.end[following, :2]).all())
