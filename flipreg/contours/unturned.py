"""Closed contours that are no stretch of cutting at one level, and still are climb or conventional all the way round.

The tool is lifted from them over a tab, or they go down or up on the way, or nobody knows their height. Such a contour
can't be run the other way round by turning its motions round, so that a mirror changes its direction for good.
"""

from dataclasses import replace
from enum import Enum
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flipreg.contours.contour import come_back, contour_rows
from flipreg.path import Kind, Path

__all__ = ["Unturned", "Why", "find_unturned", "unturned_lines"]

Flags = NDArray[np.bool_]
Index = NDArray[np.int64]

Lines = tuple[Index, Index]
"""First and last lines of contours, shape (k,) each, in their order."""

_NO_LINES = np.empty(0, np.int64), np.empty(0, np.int64)

_SAME_MM = 1e-6
_LONGEST_GAP = 0.5
"""Ways through the air, as a part of what is cut, up to which pieces are one contour with tabs (chosen)."""


class Why(Enum):
    """Why a closed contour can't be run the other way round."""

    LIFTED = "the tool is lifted on the way"
    SLOPED = "the height changes on the way"
    UNKNOWN = "the height is not known"


class Unturned(NamedTuple):
    """A closed contour that can't be run the other way round: its lines and the reason."""

    first_line: int
    last_line: int
    why: Why


def find_unturned(path: Path, first: Index, last: Index) -> list[Unturned]:
    """Return the closed contours of a path besides those that `find_contours` returns, in the order of their lines.

    Parameters
    ----------
    path : Path
        A program's motions.
    first, last : int64, shape (k,)
        The first and last rows of the contours that are found already; nothing of these is part of another contour.
    """
    found = [
        Unturned(begin, end, why)
        for why, lines in unturned_lines(path, first, last).items()
        for begin, end in zip(*(column.tolist() for column in lines), strict=True)
    ]
    return sorted(found, key=lambda each: (each.first_line, each.last_line))


def unturned_lines(path: Path, first: Index, last: Index) -> dict[Why, Lines]:
    """Return the lines of what `find_unturned` returns by the reason, as columns, for they may be many."""
    taken = np.zeros(len(path) + 1, np.int64)
    np.add.at(taken, first, 1)
    np.subtract.at(taken, last + 1, 1)
    is_free = np.cumsum(taken[:-1]) == 0
    # Each takes what it finds from those after it.
    return {
        Why.UNKNOWN: _unknown(path, is_free),
        Why.LIFTED: _lifted(path, is_free),
        Why.SLOPED: _sloped(path, is_free),
    }


def _unknown(path: Path, is_free: Flags) -> Lines:
    """Return contours whose height is not known from start to end; their rows are free no more."""
    rows = np.flatnonzero(np.isnan(path.start[:, 2]) & np.isnan(path.end[:, 2]))
    if not rows.size:
        return _NO_LINES
    seen = _seen_from_above(path, rows, _is_placed(path)[rows])
    first, last = contour_rows(seen)
    for begin, end in zip(first.tolist(), last.tolist(), strict=True):
        is_free[rows[begin : end + 1]] = False
    return _in_order(seen, first, last)


def _in_order(path: Path, first: Index, last: Index) -> Lines:
    """Return the lines of contours, by their rows, in the order of these lines."""
    begin, end = path.line.take(first), path.line.take(last)
    order = np.lexsort((end, begin))
    return begin.take(order), end.take(order)


def _seen_from_above(path: Path, rows: Index, is_part: Flags) -> Path:
    """Return rows of a path without heights and without what no contour is known by; no part of any is a traverse."""
    feeds = ("feed_mm_per_min", "spindle_rpm", "tool", "compensation", "work_offset")
    seen = replace(path, **{name: np.broadcast_to(getattr(path, name)[0], len(path)) for name in feeds}).take(rows)
    start, end = np.zeros((2, 3, len(rows)))
    start[:2], end[:2] = seen.start.T[:2], seen.end.T[:2]
    return replace(seen, start=start.T, end=end.T, kind=np.where(is_part, seen.kind, np.uint8(Kind.RAPID)))


def _goes_across(path: Path) -> Flags:
    # From where nobody knows to a place that is known is a way across.
    straight = ~path.is_arc
    for axis in (0, 1):
        straight &= np.abs(path.end[:, axis] - path.start[:, axis]) <= _SAME_MM
    return ~straight


def _is_placed(path: Path) -> Flags:
    """Return which motions start and end at a known X and Y."""
    placed = np.ones(len(path), np.bool_)
    for axis in (0, 1):
        placed &= ~(np.isnan(path.start[:, axis]) | np.isnan(path.end[:, axis]))
    return placed


def _lifted(path: Path, is_free: Flags) -> Lines:
    """Return contours in pieces: each way up, across and down again is taken for a cut along the level.

    Their rows are free no more.
    """
    linked, is_link, rows = _linked(path, is_free)
    if linked is None:
        return _NO_LINES
    found = []
    first, last = contour_rows(linked)
    for at, (begin, end) in enumerate(zip(first.tolist(), last.tolist(), strict=True)):
        part = slice(begin, end + 1)
        travel = np.hypot(*(linked.end - linked.start)[part, :2].T)
        through_air = is_link[part]
        # The chord of an arc is shorter than the arc, which only makes a gap look longer.
        gap, cut = float(travel[through_air].sum()), float(travel[~through_air].sum())
        if through_air.any() and gap <= _LONGEST_GAP * cut:
            found.append(at)
            is_free[rows[part]] = False
    return _in_order(linked, first[found], last[found])


def _linked(path: Path, is_free: Flags) -> tuple[Path | None, Flags, Index]:
    """Return level cuts, those of one level together, with links between pieces; which are links; and their rows.

    A link goes over whatever is cut higher up in between, such as the top of a tab. Where anything in between goes
    deeper it is a traverse, which no contour goes across.
    """
    height = path.end[:, 2]
    level = np.abs(height - path.start[:, 2]) <= _SAME_MM
    rows = np.flatnonzero(is_free & path.is_cut & (path.cycle == 0) & _goes_across(path) & _is_placed(path) & level)
    if len(rows) < 2 or path.is_cut[rows[0] : rows[-1]].all():
        return None, is_free, rows
    depth = np.rint(height[rows] / _SAME_MM).astype(np.int64)
    order = np.argsort(depth, kind="stable")
    rows, depth = rows[order], depth[order]
    if not come_back(path, rows, depth):
        return None, is_free, rows
    one, other = rows[:-1], rows[1:]
    rapids = np.concatenate(([0], np.cumsum(~path.is_cut)))
    is_apart = (depth[:-1] != depth[1:]) | (other != one + 1)
    at = np.flatnonzero(is_apart)
    one, other = one[at], other[at]
    lifted = rapids[other] > rapids[one]
    same = (depth[at] == depth[at + 1]) & (path.tool[one] == path.tool[other])
    same &= path.work_offset[one] == path.work_offset[other]
    same &= _lowest_between(height, one, other, same) >= height[one] - _SAME_MM
    links = replace(
        path.take(one),
        kind=np.where(same, Kind.LINE, Kind.RAPID).astype(path.kind.dtype),
        start=path.end[one],
        end=path.start[other],
        centre=np.full((len(at), 3), np.nan),
        sweep_deg=np.zeros(len(at)),
    )
    place = np.concatenate((np.arange(len(rows)), at + 0.5))
    in_place = np.argsort(place, kind="stable")
    linked = Path.concatenate([path.take(rows), links]).take(in_place)
    is_link = np.concatenate((np.zeros(len(rows), np.bool_), lifted))[in_place]
    return linked, is_link, np.concatenate((rows, one))[in_place]


def _lowest_between(height: NDArray[np.float64], one: Index, other: Index, asked: Flags) -> NDArray[np.float64]:
    """Return the lowest known height between rows, where it is asked for; a row before another one."""
    lowest = np.full(len(one), np.inf)
    at = np.flatnonzero(asked)
    if at.size:
        bounds = np.ravel(np.column_stack((one[at], other[at])))
        lowest[at] = np.minimum.reduceat(np.where(np.isnan(height), np.inf, height), bounds)[::2]
    return lowest


def _sloped(path: Path, is_free: Flags) -> Lines:
    """Return contours that close as seen from above: what goes straight up and down in between ends none."""
    rows = np.flatnonzero(_goes_across(path) | ~is_free)
    # A contour that was found before is no part of another one.
    is_part = (is_free & path.is_cut & _is_placed(path)).take(rows)
    # Of what is no part, one row keeps apart what is before it from what is after it.
    wanted = is_part.copy()
    wanted[1:] |= is_part[:-1]
    if not wanted.any():
        return _NO_LINES
    seen = _seen_from_above(path, rows[wanted], is_part[wanted])
    return _in_order(seen, *contour_rows(seen))
