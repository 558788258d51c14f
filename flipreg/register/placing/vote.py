"""Features vote for a placement: where differences between like features of both faces pile up.

For each way round, every feature of the back and every one of the front that is like it name the shift that would lay
one on the other. Shifts named by many features at once are worth a look. Rare features vote first, for they say most;
the number of votes is bounded.
"""

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from flipreg.register.faces.landmarks import LandmarkKind, Landmarks, compatible
from flipreg.register.faces.near import apart, expanded, middles
from flipreg.register.faces.placement import Placement
from flipreg.register.placing.agreement import Comparable

__all__ = ["Ballot", "candidates", "piled_up"]

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]

_MOST_VOTES = 150_000
"""Votes for one way round (chosen), for 100,000 features within two seconds."""
_LEAST_VOTERS = 6
"""Features that vote even where each has very many likes (chosen)."""
_CELL_MM = 1.0
"""Shifts within a cell of this size are votes for one (chosen): room for a turn by a fraction of a degree."""
_MOST_PEAKS = 40
"""Shifts looked at for one way round (chosen): where more do as well the pattern repeats, and that is known by then."""
_SHARE = 0.5
"""Shifts with less of the most votes than this are not looked at (chosen)."""
_LOOKED_AT = 800
"""Features of the back by which a shift is looked at (chosen)."""
_SETTLING = 3
"""How often the middle of what agrees is looked for, each time more closely (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Ballot:
    """A placement that features voted for.

    Attributes
    ----------
    placement : Placement
        The way round, and the shift in the middle of what agrees.
    count : int
        Features looked at that coincide there.
    """

    placement: Placement
    count: int


def candidates(both: Comparable, matrix: Floats) -> list[Ballot]:
    """Return the shifts for which most features vote, with the back turned as `matrix` says, most first.

    Parameters
    ----------
    both : Comparable
        The features of both faces.
    matrix : array, shape (2, 2)
        Maps directions of the back to the front.
    """
    ours, theirs = _voters(both.front, both.back)
    may = compatible(both.front, both.back, ours, theirs, matrix)
    shift = both.front.centre_mm[ours[may]] - (both.back.centre_mm @ matrix.T)[theirs[may]]
    if len(shift) == 0:
        return []
    cell = max(_CELL_MM, 4.0 * both.gate_mm)
    rough = piled_up(shift, cell, most=_MOST_PEAKS, share=_SHARE)
    rough = rough[apart(rough, cell / 4.0)[:_MOST_PEAKS]]
    few = both.thinned(_LOOKED_AT)
    offsets = _settled(few, matrix, rough, cell)
    offsets = offsets[apart(offsets, both.gate_mm)]
    counts = few.counts(matrix, offsets).tolist()
    found = [Ballot(Placement(matrix, offset), count) for offset, count in zip(offsets, counts, strict=True)]
    return sorted(found, key=lambda one: -one.count)


def _voters(front: Landmarks, back: Landmarks) -> tuple[Rows, Rows]:
    """Return pairs of features that may be alike, those of the front that have fewest likes first."""
    our_row: list[Rows] = []
    first: list[Rows] = []
    last: list[Rows] = []
    member: list[Rows] = []
    begin = 0
    for ours, theirs in product(LandmarkKind, LandmarkKind):
        alike = ours == theirs or {ours, theirs} == {LandmarkKind.HOLE, LandmarkKind.CONTOUR}
        a, b = np.flatnonzero(front.kind == ours), np.flatnonzero(back.kind == theirs)
        if not alike or len(a) == 0 or len(b) == 0:
            continue
        low, high = np.zeros(len(a), np.intp), np.full(len(a), len(b), np.intp)
        if ours == theirs == LandmarkKind.CONTOUR:
            b = b[np.argsort(back.size_mm[b], kind="stable")]
            size = front.size_mm[a]
            room = 0.05 * size + 0.5 + 4.0 * _widest(front, back)
            low = np.searchsorted(back.size_mm[b], size - room)
            high = np.searchsorted(back.size_mm[b], size + room)
        our_row.append(a)
        first.append(low + begin)
        last.append(high + begin)
        member.append(b)
        begin += len(b)
    if not our_row:
        none = np.empty(0, np.intp)
        return none, none
    rows, lows, highs, members = (np.concatenate(parts) for parts in (our_row, first, last, member))
    order = np.argsort(highs - lows, kind="stable")
    # Of equally common ones the voters are spread over the face.
    order = order[highs[order] > lows[order]]
    total = np.cumsum(highs[order] - lows[order])
    chosen = int(np.searchsorted(total, _MOST_VOTES, side="right"))
    if chosen < min(_LEAST_VOTERS, len(order)):
        chosen = min(_LEAST_VOTERS, len(order))
    which, at = expanded(lows[order[:chosen]], highs[order[:chosen]])
    return rows[order[:chosen]][which], members[at]


def _widest(front: Landmarks, back: Landmarks) -> float:
    """Return how much the tools of contours differ at most, in millimetres."""
    radii = [
        side.tool_radius_mm[(side.kind == LandmarkKind.CONTOUR) & np.isfinite(side.tool_radius_mm)]
        for side in (front, back)
    ]
    if len(radii[0]) == 0 or len(radii[1]) == 0:
        return 0.0
    return float(max(radii[0].max() - radii[1].min(), radii[1].max() - radii[0].min(), 0.0))


def piled_up(shift: Floats, cell: float, *, most: int, share: float = 0.0, least: float = 1.0) -> Floats:
    """Return the middles of the cells with most votes, most first; two grids, so that no peak is cut in four.

    Parameters
    ----------
    shift : array, shape (n, 2)
        The votes, at least one.
    cell : float
        Size of a cell.
    most : int
        Cells of a grid that are looked at.
    share, least : float
        A cell counts with this share of the most votes, and this many votes.

    Returns
    -------
    array, shape (k, 2)
    """
    votes: list[Rows] = []
    found: list[Floats] = []
    for half in (0.0, 0.5):
        grid = np.floor(shift / cell + half).astype(np.int64)
        grid -= grid.min(axis=0)
        key = grid[:, 0] * (int(grid[:, 1].max()) + 1) + grid[:, 1]
        order = np.argsort(key)
        begin = np.flatnonzero(np.diff(key[order], prepend=-1))
        count = np.diff(begin, append=len(key))
        enough = np.flatnonzero(count >= max(least, share * float(count.max())))
        top = enough[np.argsort(-count[enough], kind="stable")[:most]]
        which, at = expanded(begin[top], begin[top] + count[top])
        votes.append(count[top])
        found.append(middles(shift[order[at]], which)[1] if len(top) else np.empty((0, 2)))
    return np.asarray(np.concatenate(found)[np.argsort(-np.concatenate(votes), kind="stable")])


def _settled(both: Comparable, matrix: Floats, offsets_mm: Floats, reach_mm: float) -> Floats:
    """Return shifts, shape (m, 2), each moved to the middle of what agrees there, looked at ever more closely."""
    offsets_mm = offsets_mm.copy()
    for _ in range(_SETTLING):
        which, ours, theirs, _ = both.pairs_at(matrix, offsets_mm, reach_mm)
        gap = both.front.centre_mm[ours] - both.back.centre_mm[theirs] @ matrix.T - offsets_mm[which]
        numbers, middle = middles(gap, which)
        offsets_mm[numbers] += middle
        reach_mm = max(both.gate_mm, reach_mm / 2.0)
    return offsets_mm
