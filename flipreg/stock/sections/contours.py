"""Where the cutter goes through, contour by contour: runs with no wood under the centre, and the tabs between them.

A tab is a place in a contour: the cutter comes from a cut that goes through, is lifted a short way, and goes on in the
same contour. It does if it stays in the cut while it is lifted; if the contour closes on itself only over that place;
or if the way over it goes straight on. A way from one contour to another does none of this, whatever its direction.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.surface import is_known
from flipreg.geometry.chords import flatten
from flipreg.job.tool import ToolShape
from flipreg.stock.sections.below import fed_below
from flipreg.stock.sections.section import SectionCut

__all__ = ["ChordRun", "Lift", "Walk", "at_own_floor", "lifts", "runs", "walk"]

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

_CHORD_MM = 0.02
"""Arcs are sampled along chords this close to them; millimetres (chosen)."""
_SHARE = 0.25
"""Samples are at most this share of the diameter apart (chosen)."""
_LIFT_TOOLS = 6.0
"""A tab is at most this many diameters long (chosen)."""
_STRAIGHT = float(np.cos(np.radians(15.0)))
"""A way goes straight on if it turns by no more than 15 degrees (chosen)."""
_ROUND = float(np.cos(np.radians(40.0)))
"""What closes a contour over a tab may turn more: round a small hole it does (chosen)."""
_SHORT_STRAIGHT = 0.9
"""A run shorter than the cutter's radius is straight if its ends are this share of its length apart (chosen)."""
_STILL_MM = 1e-6
"""A chord that goes less far in XY is vertical; millimetres (chosen)."""
_RAISED_MM = 0.02
"""A cutter that is higher by less is not lifted; millimetres (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Walk:
    """A program's way as short chords, from its first cut below the face to its last.

    Attributes
    ----------
    start, end : float64, shape (n, 3)
        Ends of the chords, in the frame of the section, Z from the face that is up.
    row : int array, shape (n,)
        Row of the path.
    is_low : bool array, shape (n,)
        Whether the cutter is fed below the face.
    diameter_mm : float
        Of the cutter.
    length : float64, shape (n,)
        Lengths of the chords in XY.
    """

    start: Floats
    end: Floats
    row: Ints
    is_low: Bools
    diameter_mm: float
    length: Floats = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "length", np.asarray(np.hypot(*(self.end - self.start)[:, :2].T)))

    @property
    def middle(self) -> Floats:
        """Middles of the chords, shape (n, 3)."""
        return np.asarray(0.5 * (self.start + self.end))

    @property
    def heading(self) -> Floats:
        """Unit directions in XY, shape (n, 2); 0 where the cutter does not move in XY."""
        way, length = (self.end - self.start)[:, :2], self.length
        return np.asarray(way / np.where(length > _STILL_MM, length, np.inf)[:, np.newaxis])


@dataclass(frozen=True, slots=True, eq=False)
class Lift:
    """The way over a tab, from cut to cut.

    Attributes
    ----------
    start, end : float64, shape (n, 3)
        Ends of its chords.
    row : int array, shape (n,)
        Row of the path; none where the contour begins and ends at the tab and nothing goes over it.
    """

    start: Floats
    end: Floats
    row: Ints


@dataclass(frozen=True, slots=True)
class ChordRun:
    """Consecutive chords: from `begin` up to but not including `stop`."""

    begin: int
    stop: int


def walk(cut: SectionCut) -> Walk:
    """Return the way of a program."""
    path = cut.path
    low = fed_below(path) & is_known(path)
    rows = np.flatnonzero(low)
    if not len(rows):
        none = np.empty((0, 3))
        return Walk(none, none, np.empty(0, np.intp), np.empty(0, np.bool_), cut.cutter.radius_mm * 2.0)
    rows = np.arange(rows[0], rows[-1] + 1)
    rows = rows[is_known(path)[rows]]
    part = path.take(rows)
    corners, of = flatten(part.start, part.end, part.centre, part.normal, part.sweep_deg, part.is_arc, _CHORD_MM)
    starts = np.concatenate([corners[:1], corners[:-1]])
    first = np.concatenate([[True], of[1:] != of[:-1]])
    starts[first] = part.start[of[first]]
    longest = _SHARE * 2.0 * cut.cutter.radius_mm
    # A motion in the air is one chord: nothing is asked along it.
    length = np.where(low[rows][of], np.hypot(*(corners - starts)[:, :2].T), 0.0)
    count = np.maximum(1, np.ceil(length / longest - 1e-9)).astype(np.intp)
    which = np.repeat(np.arange(len(count)), count)
    number = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)
    way = (corners - starts)[which]
    begin = starts[which] + (number / count[which])[:, np.newaxis] * way
    stop = starts[which] + ((number + 1) / count[which])[:, np.newaxis] * way
    return Walk(begin, stop, rows[of[which]], low[rows][of[which]], 2.0 * cut.cutter.radius_mm)


def runs(way: Walk, marked: Bools) -> list[ChordRun]:
    """Return the runs of marked chords; a stop in one place between two of them is no gap."""
    number = np.flatnonzero(marked)
    if not len(number):
        return []
    along = np.concatenate([[0.0], np.cumsum(way.length)])
    between = along[number[1:]] - along[number[:-1] + 1]
    apart = np.hypot(*(way.start[number[1:]] - way.end[number[:-1]])[:, :2].T)
    breaks = np.flatnonzero((np.diff(number) > 1) & ((between > _STILL_MM) | (apart > _STILL_MM)))
    begins = np.concatenate([[number[0]], number[breaks + 1]])
    stops = np.concatenate([number[breaks], [number[-1]]]) + 1
    return [ChordRun(int(begin), int(stop)) for begin, stop in zip(begins, stops, strict=True)]


def at_own_floor(way: Walk, within_mm: float) -> Bools:
    """Return the chords that are at the floor of their own contour, to within a height."""
    low_z, high_z = np.minimum(way.start[:, 2], way.end[:, 2]), np.maximum(way.start[:, 2], way.end[:, 2])
    out = np.zeros(len(way.row), np.bool_)
    for run in runs(way, way.is_low):
        mine = slice(run.begin, run.stop)
        out[mine] = high_z[mine] <= float(low_z[mine].min()) + within_mm
    return np.logical_and(out, way.is_low)


def lifts(cut: SectionCut, way: Walk, found: list[ChordRun]) -> list[Lift]:
    """Return the tabs between the runs of a program's contours."""
    if not found or cut.tool.shape is ToolShape.DRILL:
        return []
    longest = _LIFT_TOOLS * way.diameter_mm
    is_open = [_is_open(way, run) for run in found]
    chains = [[0]] if is_open[0] else []
    over: set[int] = set()
    for number, (before, after) in enumerate(pairwise(found), 1):
        between = slice(before.stop, after.begin)
        is_short = float(way.length[between].sum()) <= longest
        are_open = is_open[number - 1] and is_open[number]
        stays_in = bool(way.is_low[between].all()) and _is_raised(way, before, after)
        if is_short and (stays_in or (are_open and _goes_on(way, before, after, _STRAIGHT))):
            over.add(number)
        if is_short and are_open:
            chains[-1].append(number)
        elif is_open[number]:
            chains.append([number])
    over_ends = []
    for chain in chains:
        for contour in _contours(way, found, chain, longest):
            over.update(contour[1:])
            if not _comes_back(way, found, contour):
                over_ends.append(_over_the_ends(way, found[contour[0]], found[contour[-1]]))
    return [_between(way, found[number - 1], found[number]) for number in sorted(over)] + over_ends


def _is_raised(way: Walk, before: ChordRun, after: ChordRun) -> bool:
    """Return whether the cutter is higher between two runs than where they are cut; else the other face's tab is there.

    The chord that rises from one run, or that sinks to the other, may belong to it.
    """
    ends = max(min(way.start[row, 2], way.end[row, 2]) for row in (before.stop - 1, after.begin))
    return bool(way.end[before.stop : after.begin, 2].max(initial=-np.inf) > ends + _RAISED_MM)


def _between(way: Walk, before: ChordRun, after: ChordRun) -> Lift:
    between = slice(before.stop, after.begin)
    return Lift(way.start[between], way.end[between], way.row[between])


def _contours(way: Walk, found: list[ChordRun], chain: list[int], longest: float) -> Iterator[list[int]]:
    """Yield the runs of a chain that are one contour with tabs: that close, by coming back or over their two ends.

    What a program cuts just before a contour belongs to the chain and not to the contour, and so does what follows it.
    """
    begins = np.array([way.start[found[number].begin, :2] for number in chain])
    ends = np.array([way.end[found[number].stop - 1, :2] for number in chain])
    # Each end may have run past the other by two diameters, and what is near lies within a radius.
    reach = max(longest, 4.5 * way.diameter_mm)
    first = 0
    while first < len(chain):
        near = first + np.flatnonzero(np.hypot(*(ends[first:] - begins[first]).T) <= reach)
        for last in near[::-1].tolist():
            contour = chain[first : last + 1]
            if _comes_back(way, found, contour) or _closes_over_ends(way, found, contour, longest):
                yield contour
                first = last
                break
        first += 1


def _comes_back(way: Walk, found: list[ChordRun], contour: list[int]) -> bool:
    """Return whether the last of some runs ends where the first begins, or runs past it."""
    if len(contour) < 2:
        return False
    reach = 2.0 * way.diameter_mm
    head = _ends(way, found[contour[0]], reach, at_end=False)
    tail = _ends(way, found[contour[-1]], reach, at_end=True)
    apart = np.hypot(*np.moveaxis(head[:, np.newaxis] - tail[np.newaxis], -1, 0))
    return float(apart.min()) <= way.diameter_mm / 2.0


def _closes_over_ends(way: Walk, found: list[ChordRun], contour: list[int], longest: float) -> bool:
    """Return whether the way from the end of the last of some runs to the begin of the first goes on over a tab."""
    first, last = found[contour[0]], found[contour[-1]]
    over = (way.start[first.begin] - way.end[last.stop - 1])[:2]
    return way.diameter_mm / 2.0 < float(np.hypot(*over)) <= longest and _goes_on(way, last, first, _ROUND)


def _over_the_ends(way: Walk, first: ChordRun, last: ChordRun) -> Lift:
    """Return the way over a tab at which a contour begins and ends: what is fed there, or a line if nothing is."""
    fed = np.flatnonzero(~way.is_low[last.stop :])
    stop = last.stop + int(fed[0]) if len(fed) else len(way.row)
    begin = way.start[first.begin]
    if stop > last.stop and float(np.hypot(*(way.end[stop - 1] - begin)[:2])) <= way.diameter_mm / 2.0:
        return Lift(way.start[last.stop : stop], way.end[last.stop : stop], way.row[last.stop : stop])
    return Lift(way.end[last.stop - 1 : last.stop], begin[np.newaxis], np.empty(0, np.intp))


def _ends(way: Walk, run: ChordRun, reach: float, *, at_end: bool) -> Floats:
    """Return the points of a run within a way of one of its ends, shape (n, 2)."""
    along = np.cumsum(way.length[run.begin : run.stop])
    near = along >= along[-1] - reach if at_end else along <= along[0] + reach
    return np.concatenate([way.start[run.begin : run.stop][near, :2], way.end[run.begin : run.stop][near, :2]])


def _is_open(way: Walk, run: ChordRun) -> bool:
    """Return whether a run is a line that does not come back to itself."""
    length = way.length[run.begin : run.stop]
    moves = length > _STILL_MM
    if not bool(moves.any()):
        return False
    if float(length.sum()) < 0.5 * way.diameter_mm:
        # So short a run comes back to itself, or it is straight.
        reach = float(np.hypot(*(way.end[run.stop - 1] - way.start[run.begin])[:2]))
        return reach >= _SHORT_STRAIGHT * float(length.sum())
    at = way.middle[run.begin : run.stop][moves, :2]
    along = np.cumsum(length[moves])
    place = np.floor(at / (0.5 * way.diameter_mm)).astype(np.int64)
    _, of = np.unique(place, axis=0, return_inverse=True)
    of = of.reshape(-1)
    low, high = np.full(int(of.max()) + 1, np.inf), np.full(int(of.max()) + 1, -np.inf)
    np.minimum.at(low, of, along)
    np.maximum.at(high, of, along)
    return bool((high - low).max() <= 3.0 * way.diameter_mm)


def _goes_on(way: Walk, before: ChordRun, after: ChordRun, least: float) -> bool:
    """Return whether the way from the end of one run to the begin of another keeps the direction of both."""
    over = (way.start[after.begin] - way.end[before.stop - 1])[:2]
    size = float(np.hypot(*over))
    if size <= _STILL_MM:
        return False
    leaves = before.begin + np.flatnonzero(way.length[before.begin : before.stop] > _STILL_MM)[-1:]
    enters = after.begin + np.flatnonzero(way.length[after.begin : after.stop] > _STILL_MM)[:1]
    if not (len(leaves) and len(enters)):
        return False
    rows = np.concatenate([leaves, enters])
    ways = (way.end[rows] - way.start[rows])[:, :2]
    return bool((ways @ over >= least * size * way.length[rows]).all())
