"""Closed contours that leave the wood in between: lifted over a tab by a traverse, or cut where no height is known.

Such a contour is no stretch of cutting that closes by itself, and still it is climb or conventional all the way round.
"""

from dataclasses import dataclass, replace

import numpy as np

from flipreg.contour import find_contours
from flipreg.path import Kind, Path

__all__ = ["ApartContour", "find_apart"]

_SAME_MM = 1e-6
_LONGEST_GAP = 0.5
"""Ways through the air, as a part of what is cut, up to which pieces are one contour with tabs; ours."""


@dataclass(frozen=True, slots=True)
class ApartContour:
    """A closed contour in pieces, or at a height that nobody knows.

    Attributes
    ----------
    first_line, last_line : int
        Its lines.
    is_lifted : bool
        It is lifted from in between; otherwise its height is not known.
    """

    first_line: int
    last_line: int
    is_lifted: bool


def find_apart(path: Path) -> list[ApartContour]:
    """Return the closed contours that `find_contours` does not return, because something keeps them apart."""
    found = [*_lifted(path), *_unknown(path)]
    return sorted(found, key=lambda each: each.first_line)


def _unknown(path: Path) -> list[ApartContour]:
    """Return contours whose height is not known from start to end."""
    unknown = np.isnan(path.start[:, 2]) & np.isnan(path.end[:, 2])
    if not unknown.any():
        return []
    own = path.take(unknown)
    start, end = (np.column_stack((points[:, :2], np.zeros(len(own)))) for points in (own.start, own.end))
    level = replace(own, start=start, end=end)
    return [ApartContour(each.first_line, each.last_line, is_lifted=False) for each in find_contours(level)]


def _lifted(path: Path) -> list[ApartContour]:
    """Return contours in pieces: each way up, across and down again is taken for a cut along the level."""
    linked, is_link = _linked(path)
    if linked is None:
        return []
    found = []
    for each in find_contours(linked):
        rows = slice(each.first, each.last + 1)
        travel = np.hypot(*(linked.end - linked.start)[rows, :2].T)
        through_air = is_link[rows]
        # The chord of an arc is shorter than the arc, which only makes a gap look longer.
        gap, cut = float(travel[through_air].sum()), float(travel[~through_air].sum())
        if through_air.any() and gap <= _LONGEST_GAP * cut:
            found.append(ApartContour(each.first_line, each.last_line, is_lifted=True))
    return found


def _linked(path: Path) -> tuple[Path | None, np.ndarray[tuple[int], np.dtype[np.bool_]]]:
    """Return the level cuts of a path with links between pieces of one level, and which rows are links.

    From one level to another the link is a traverse, which no contour goes across.
    """
    moved = (np.abs(path.end[:, :2] - path.start[:, :2]) > _SAME_MM).any(axis=1) | path.is_arc
    level = np.abs(path.end[:, 2] - path.start[:, 2]) <= _SAME_MM
    rows = np.flatnonzero(path.is_cut & (path.cycle == 0) & moved & level)
    if len(rows) < 2:
        return None, np.zeros(0, np.bool_)
    rapids = np.concatenate(([0], np.cumsum(~path.is_cut)))
    one, other = rows[:-1], rows[1:]
    lifted = rapids[other] > rapids[one]
    if not lifted.any():
        return None, np.zeros(0, np.bool_)
    same = np.abs(path.start[other, 2] - path.end[one, 2]) <= _SAME_MM
    apart = np.flatnonzero(lifted | ~same)
    one, other, same = one[apart], other[apart], same[apart]
    links = path.take(one)
    links = replace(
        links,
        kind=np.where(same, Kind.LINE, Kind.RAPID).astype(links.kind.dtype),
        start=path.end[one],
        end=path.start[other],
        centre=np.full((len(apart), 3), np.nan),
        sweep_deg=np.zeros(len(apart)),
    )
    place = np.concatenate((np.arange(len(rows)), apart + 0.5))
    order = np.argsort(place, kind="stable")
    linked = Path.concatenate([path.take(rows), links]).take(order)
    return linked, np.asarray(place[order] % 1 > 0)
