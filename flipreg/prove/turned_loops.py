"""Closed loops in contours that are said to be turned round, and in what is not: each the other way round, or named."""

from collections.abc import Sequence
from itertools import accumulate

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path
from flipreg.prove.ground import is_fed
from flipreg.prove.loops import LoopRows, closed_loops, enclosed_areas_mm2, lifted_loops, loops_at_no_known_height
from flipreg.prove.read import PROOF_TOLERANCE_MM
from flipreg.prove.stretches import fault
from flipreg.rs274.interpret.whole import Whole

__all__ = ["RowRange", "check_directions", "check_left", "loops_turned", "offsets"]

Flags = NDArray[np.bool_]
RowRange = tuple[int, int]
"""The first and the last of consecutive rows."""

_TURNED_MM2 = 0.01
"""The least area by which something is a closed loop that can be said to be turned round (chosen)."""
_LEFT_MM2 = 0.05
"""The least area of a closed loop that may not be left in silence (chosen): a circle of a quarter of a millimetre."""


def loops_turned(source: Whole, turned: Flags, runs: Sequence[RowRange]) -> list[LoopRows]:
    """Return the closed loops of runs, at least one of each.

    A run begins and ends at its lowest height, so that the other way round it meets no wood that it did not meet
    before.
    """
    if not runs:
        return []
    path = source.path
    firsts, lasts = np.array(runs).T
    found = closed_loops(path, turned, least_mm2=_TURNED_MM2, begins=firsts.tolist())
    bounds = np.searchsorted([loop.first for loop in found], [*firsts, len(path)]).tolist()
    ends = np.fmax(path.start[firsts, 2], path.end[lasts, 2])
    is_lowest = ends <= np.minimum.reduceat(path.end[turned, 2], offsets(runs)) + PROOF_TOLERANCE_MM
    for number, (first, last) in enumerate(runs):
        line, inside = int(path.line[first]), found[bounds[number] : bounds[number + 1]]
        if not inside:
            raise fault(source, line, "something would be turned round that is no closed contour")
        if not is_lowest[number]:
            raise fault(source, line, "a way down or up would be turned round")
        if len(inside) > 1:
            run = path.take(slice(first, last + 1))
            if not _are_laps(run, [loop.last - first for loop in inside]):
                raise fault(source, line, "contours would change places")
    return found


def _are_laps(run: Path, lasts: Sequence[int]) -> bool:
    """Return whether each way from the run's first place back to it goes where the first one goes.

    Rings of different sizes that begin in one corner would be cut in the opposite order.
    """
    here = run.start[0]
    ends = [last for last in lasts if np.abs(run.end[last] - here).max() <= PROOF_TOLERANCE_MM]
    begins = [0, *(last + 1 for last in ends)]
    ways = [run.end[begin : last + 1] for begin, last in zip(begins, ends, strict=False)]
    return all(way.shape == ways[0].shape and np.allclose(way, ways[0], rtol=0.0, atol=1e-3) for way in ways)


def check_left(source: Whole, turned: Flags, left: Sequence[tuple[int, int]]) -> None:
    """Check that each closed loop that is not turned round is named, and that none is named that is."""
    path = source.path
    staying = np.unique(path.line[is_fed(path) & ~turned])
    named = np.array(left).reshape(-1, 2)
    begins, ends = named.T
    is_turned = np.searchsorted(staying, ends, "right") == np.searchsorted(staying, begins)
    if is_turned.any():
        line = int(begins[int(np.argmax(is_turned))])
        raise fault(source, line, "a contour would be named as not turned round, and is, or is none")
    for find in (closed_loops, lifted_loops, loops_at_no_known_height):
        for loop in find(path, ~turned, least_mm2=_LEFT_MM2):
            first, last = sorted((int(path.line[loop.first]), int(path.line[loop.last])))
            if not ((begins <= first) & (last <= ends)).any():
                line = int(path.line[loop.first])
                raise fault(source, line, "this contour would not be turned round, and nobody told")


def check_directions(source: Whole, made: Path, runs: Sequence[RowRange], loops: Sequence[LoopRows]) -> None:
    """Check that the same motions enclose each loop of a run the other way round."""
    if not loops:
        return
    firsts, lasts = np.array([(loop.first, loop.last) for loop in loops]).T
    run_first, run_last = np.array(runs)[np.searchsorted([first for first, _ in runs], firsts, "right") - 1].T
    before = enclosed_areas_mm2(source.path, firsts, lasts)
    after = enclosed_areas_mm2(made, run_first + run_last - lasts, run_first + run_last - firsts)
    same = ~(np.abs(before + after) < np.minimum(np.abs(before), np.abs(after)))
    if same.any():
        line = int(source.path.line[firsts[int(np.argmax(same))]])
        raise fault(source, line, "this contour would not change its direction")


def offsets(runs: Sequence[RowRange]) -> list[int]:
    """Return where each run begins among the rows of all runs."""
    return [0, *accumulate(last + 1 - first for first, last in runs)][:-1]
