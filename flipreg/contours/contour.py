"""Closed contours in what a program cuts: where the tool comes back to where it was, without leaving the wood.

A contour lies at one level, with rises over tabs in between; lead-ins, links and ramps lie outside of it. Mirrored, it
runs the other way round, so that climb milling becomes conventional.
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flipreg.contours.ways_back import POINT_MM, PRIME, Visits, cells, chosen_loops
from flipreg.path import Path

__all__ = ["Contour", "are_laps", "come_back", "comes_back", "contour_rows", "find_contours"]

Floats = NDArray[np.float64]
Index = NDArray[np.int64]

_LEVEL_MM = 1e-6
_XY = 2


class Contour(NamedTuple):
    """A closed contour.

    Attributes
    ----------
    first, last : int
        Rows of its first and its last motion.
    first_line, last_line : int
        Their lines.
    area_mm2 : float
        Enclosed area, positive where it runs counter-clockwise.
    """

    first: int
    last: int
    first_line: int
    last_line: int
    area_mm2: float


def find_contours(path: Path) -> list[Contour]:
    """Return the closed contours of a path, in the order they are cut.

    The first way back to where it starts closes a contour: laps without leaving it are a contour each, and so are rings
    that begin in one corner.
    """
    first, last, area = _loops(path)
    lines = path.line[first].tolist(), path.line[last].tolist()
    columns = (first.tolist(), last.tolist(), *lines, area.tolist())
    return [Contour(*each) for each in zip(*columns, strict=True)]


def contour_rows(path: Path) -> tuple[Index, Index]:
    """Return the first and the last rows of what `find_contours` returns, as columns, for they may be many."""
    first, last, _ = _loops(path)
    return first, last


def comes_back(path: Path) -> bool:
    """Return whether the cuts of a path come back to any place, seen from above.

    Where they don't there is no contour of any kind; most chunks of a surface are known by it at a tenth of the time.
    """
    rows = np.flatnonzero(path.is_cut & (path.cycle == 0) & (_goes_across(path) | path.is_arc))
    return come_back(path, rows)


def come_back(path: Path, rows: Index, level: Index | None = None) -> bool:
    """Return whether rows come back to any place, seen from above; of several levels, to any place of their own."""
    start, end = ([points[:, axis].take(rows) for axis in (0, 1)] for points in (path.start, path.end))
    is_elsewhere = np.ones(len(rows), np.bool_)
    is_elsewhere[1:] = (start[0][1:] != end[0][:-1]) | (start[1][1:] != end[1][:-1])
    if level is not None:
        is_elsewhere[1:] |= level[1:] != level[:-1]
    x, y = (np.concatenate((s[is_elsewhere], e)) for s, e in zip(start, end, strict=True))
    key = cells(x) * PRIME + cells(y)
    if level is not None:
        key += np.concatenate((level[is_elsewhere], level)) * PRIME**2
    key.sort()
    return bool((key[1:] == key[:-1]).any())


def _goes_across(path: Path) -> NDArray[np.bool_]:
    across: NDArray[np.bool_] = (path.start[:, 0] != path.end[:, 0]) | (path.start[:, 1] != path.end[:, 1])
    return across


def are_laps(path: Path, contours: Sequence[Contour]) -> bool:
    """Return whether contours are one after the other, and each goes exactly the way of the first."""
    first = contours[0]
    size = first.last - first.first
    for before, each in pairwise(contours):
        if each.first != before.last + 1 or each.last - each.first != size:
            return False
    laps = [path.take(slice(each.first, each.last + 1)) for each in contours]
    return all(
        np.allclose(getattr(laps[0], name), getattr(lap, name), rtol=0.0, atol=POINT_MM, equal_nan=True)
        for lap in laps[1:]
        for name in ("kind", "start", "end", "centre", "sweep_deg")
    )


def _loops(path: Path) -> tuple[Index, Index, Floats]:
    """Return the first row, the last row and the area of each contour."""
    rows = _rows_that_may_close(path)
    visits = Visits.of(path, rows) if rows.size else None
    if visits is None or not visits.place.size:
        nothing = np.empty(0, np.int64)
        return nothing, nothing, np.empty(0)
    area = np.concatenate(([0.0], np.cumsum(_area_terms(path, rows))))
    # Rows are counted among those that may close, and mapped back at the end.
    first, last = chosen_loops(visits, area)
    good = _closes(path, rows[first], rows[last]) & _stays_up(path, rows, first, last)
    first, last = first[good], last[good]
    return rows[first], rows[last], area[last + 1] - area[first]


def _rows_that_may_close(path: Path) -> Index:
    """Return the fed rows of stretches that turn back in X and in Y: most rows of a surface do not."""
    fed = path.is_cut & (path.cycle == 0)
    if len(path) and np.isnan(path.start[0]).any():
        fed &= ~np.isnan(path.start).any(axis=1)
    is_arc = path.is_arc
    if not is_arc.any() and not all(_turns_back(path, fed, axis) for axis in (0, 1)):
        # Rows of a surface, to and fro along one axis: a whole chunk at once.
        return np.empty(0, np.int64)
    begins = fed.copy()
    begins[1:] &= ~fed[:-1]
    first = np.flatnonzero(begins)
    if not first.size:
        return first
    stretch = np.cumsum(begins) - 1
    rows = np.flatnonzero(fed)
    owner = stretch[rows]
    has_arcs = np.zeros(len(first), np.bool_)
    has_arcs[owner[is_arc[rows]]] = True
    if has_arcs.all():
        return rows
    turns_back = np.ones(len(first), np.bool_)
    for axis in (0, 1):
        step = path.end[:, axis].take(rows) - path.start[:, axis].take(rows)
        there = np.bincount(owner, np.maximum(step, 0.0), len(first))
        back = np.bincount(owner, np.minimum(step, 0.0), len(first))
        turns_back &= (there > 0) & (back < 0)
    turns_back |= has_arcs
    return rows if turns_back.all() else rows[turns_back[owner]]


def _turns_back(path: Path, fed: NDArray[np.bool_], axis: int) -> bool:
    """Return whether anything is fed to and fro along an axis."""
    there, here = path.end[:, axis], path.start[:, axis]
    return bool((fed & (there > here)).any() and (fed & (there < here)).any())


def _area_terms(path: Path, rows: Index) -> Floats:
    """Return what each motion adds to the area enclosed, by the triangles and circular segments under it."""
    (x0, y0), (x1, y1) = ([points[:, axis].take(rows) for axis in (0, 1)] for points in (path.start, path.end))
    term: Floats = (x0 * y1 - x1 * y0) / 2
    at = np.flatnonzero(path.is_arc.take(rows) & (path.normal.take(rows) == _XY))
    if at.size:
        arcs = rows[at]
        x, y = (start[at] - path.centre[:, axis].take(arcs) for axis, start in enumerate((x0, y0)))
        sweep = np.radians(path.sweep_deg.take(arcs))
        term[at] += (x * x + y * y) * (sweep - np.sin(sweep)) / 2
    return term


def _closes(path: Path, first: Index, last: Index) -> NDArray[np.bool_]:
    """Return whether rows meet: places were compared by a number that two places may share."""
    off = path.start.T.take(first, axis=1) - path.end.T.take(last, axis=1)
    return np.asarray(np.abs(off).max(axis=0, initial=0.0) <= POINT_MM)


def _stays_up(path: Path, rows: Index, first: Index, last: Index) -> NDArray[np.bool_]:
    """Return whether nothing between goes deeper than where a contour starts, and something is cut there."""
    if not first.size:
        return np.zeros(0, np.bool_)
    z0, z1 = path.start[:, 2].take(rows), path.end[:, 2].take(rows)
    across = (_goes_across(path) | path.is_arc).take(rows)
    flat = np.where(across & (z0 == z1), z1, np.inf)
    bounds = np.ravel(np.column_stack((first, last + 1)))
    bounds = bounds[:-1] if bounds[-1] == len(rows) else bounds
    lowest, lowest_flat = (np.minimum.reduceat(z, bounds)[::2] for z in (z1, flat))
    level = z0[first]
    stays: NDArray[np.bool_] = (lowest >= level - _LEVEL_MM) & (lowest_flat <= level + _LEVEL_MM)
    return stays
