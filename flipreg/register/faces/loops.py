"""Closed loops in what a program cuts.

A loop closes where a run comes back to a vertex it has been at before. Lead-ins, ramps and lifts over tabs lie
before, after or above the loop and do not hide it. Passes that go round the same loop at several depths
are one loop.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path
from flipreg.register.faces.chords import CHORD_MM, Cut
from flipreg.register.faces.loop import Loop

__all__ = ["find_loops"]

Floats = NDArray[np.float64]

_STILL_MM = 1e-6
_SAME_MM = 0.01
"""Vertices closer than about this are one vertex, in millimetres (chosen): ten times a program's last decimal."""
_CLOSE_MM = 0.05
"""A run whose end comes this near its beginning is closed, in millimetres (chosen)."""
_LEAST_AREA_MM2 = 0.02
"""Smaller loops are noise of ramps, in square millimetres (chosen): a circle of 0.16 mm."""
_ROUNDNESS = 1e-4
"""Least area over squared length: below it a loop is a line driven back and forth (chosen)."""
_SMALL_CIRCLE_MM = 40.0
"""Circles up to this size are holes, of which only centre and radius are looked at (chosen)."""
_MOST_LOOPS = 20_000
"""Loops a program, largest first (chosen), against programs that are all loops."""
_MOST_LARGEST = 400
"""Loops that may be outlines, of those that do not stand alone (chosen): pockets are cleared by thousands."""
_SIXTEEN = np.column_stack([np.cos(np.arange(16) * np.pi / 8), np.sin(np.arange(16) * np.pi / 8)])
_FINE_VERTICES = 200_000
"""Vertices one loop may have (chosen)."""
_GAP_SHARE = 0.25
"""Largest share of a loop that may be hopped over (chosen): more would be a guess, not an outline."""
_TAB_BEND_DEG = 60.0
"""Over a tab a contour bends by less than this (chosen): what bends more goes on to another slot or row."""
_GAP_LENGTH_MM = 50.0
"""Shortest loop that may have gaps, in millimetres (chosen): a lead-out, a hop and a lead-in close a small ring too."""


def find_loops(cut: Cut, path: Path) -> tuple[list[Loop], NDArray[np.bool_]]:
    """Return the distinct closed loops of a cut, largest area first, and what of the cut lies on any.

    Parameters
    ----------
    cut : Cut
        The vertices of one program's cutting.
    path : Path
        The motions they were made of: where arcs were flattened coarsely, loops are flattened again from it.

    Returns
    -------
    loops : list of Loop
        Loops that differ in area or in bounding box by more than rounding; `floor_mm` is the lowest of the
        passes that were folded into one.
    closed : bool array
        Which vertices of the cut lie on a loop that is closed without a hop.
    """
    moved = _distinct(cut)
    xyz, run, gap = cut.xyz_mm[moved], cut.run[moved], cut.gap[moved]
    joint = _joints(cut, moved)
    closed = np.zeros(len(cut.run), np.bool_)
    if len(xyz) < 4:
        return [], closed
    first, last = _spans(xyz[:, :2], run, joint)
    if len(first) == 0:
        return [], closed
    # Vertices skipped by `moved` may carry the depth of a plunge, but the loop's own vertices carry it too.
    bounds = np.stack([first, last + 1], axis=1).ravel()
    bounds = bounds[:-1] if bounds[-1] == len(xyz) else bounds
    low = np.fmin.reduceat(xyz, bounds, axis=0)[::2]
    high = np.fmax.reduceat(xyz, bounds, axis=0)[::2]
    steps = np.concatenate([[0.0], np.hypot(np.diff(xyz[:, 0]), np.diff(xyz[:, 1]))])
    travelled = np.cumsum(steps)
    hopped = np.cumsum(np.where(gap, steps, 0.0))
    length = travelled[last] - travelled[first]
    hop = hopped[last] - hopped[first]
    area = np.abs(_swept_area(xyz[:, :2], first, last))
    keep = (hop <= _GAP_SHARE * length) & (area >= _LEAST_AREA_MM2)
    keep &= (hop == 0.0) | (length >= _GAP_LENGTH_MM)
    turned = np.cumsum(_turned_hops(xyz[:, :2], gap))
    keep &= turned[last] == turned[first]
    whole = keep & (hop == 0.0)
    edges = np.bincount(first[whole], minlength=len(xyz) + 1) - np.bincount(last[whole] + 1, minlength=len(xyz) + 1)
    closed[moved] = np.cumsum(edges)[: len(xyz)] > 0
    stretch = np.cumsum((np.diff(run, prepend=run[0]) != 0) | gap)
    begins = np.flatnonzero(np.diff(stretch, prepend=-1))
    stretch_low = np.minimum.reduceat(xyz[:, :2], begins, axis=0)[stretch[first]]
    stretch_high = np.maximum.reduceat(xyz[:, :2], begins, axis=0)[stretch[first]]
    key = np.round(np.column_stack([low[:, :2], high[:, :2], area / np.maximum(length, 1.0)]) / 0.02)
    chosen = np.flatnonzero(keep)
    if len(chosen) == 0:
        return [], closed
    # Of passes alike, the one with the least hopped over shows most of the contour.
    order = chosen[np.lexsort((chosen, hop[chosen]))]
    _, where, group = np.unique(key[order], axis=0, return_index=True, return_inverse=True)
    floor = np.full(len(where), np.inf)
    np.minimum.at(floor, group.ravel(), low[order, 2])
    picked = order[where]
    row = cut.row[moved]
    box = np.column_stack([low[picked, :2], high[picked, :2]])
    stretch_box = np.column_stack([stretch_low[picked], stretch_high[picked]])
    loops = [
        Loop(
            points_mm=xyz[first[i] + 1 : last[i] + 1, :2],
            gap=gap[first[i] + 1 : last[i] + 1],
            area_mm2=float(area[i]),
            length_mm=float(length[i]),
            box_mm=box[k],
            stretch_box_mm=stretch_box[k],
            floor_mm=float(floor[k]),
            row=int(row[first[i] + 1]),
            last_row=int(row[last[i]]),
        )
        for k, i in ((k, picked[k]) for k in _worth_keeping(box, stretch_box, area[picked]).tolist())
    ]
    if cut.chord_mm > CHORD_MM:
        loops = [_fine(loop, path) for loop in loops]
    return sorted(loops, key=lambda loop: -loop.area_mm2), closed


def _worth_keeping(box: Floats, stretch_box: Floats, area: Floats) -> NDArray[np.intp]:
    """Return which loops may be holes, because they stand alone, or outlines, because few are larger."""
    size = (box[:, 2:] - box[:, :2]).max(axis=1)
    alone = np.abs(stretch_box - box).max(axis=1) <= np.maximum(0.5, 0.15 * size)
    largest = np.zeros(len(area), np.bool_)
    largest[np.argsort(-area, kind="stable")[:_MOST_LARGEST]] = True
    kept = np.flatnonzero(alone | largest)
    return kept[np.argsort(-area[kept], kind="stable")[:_MOST_LOOPS]]


def _fine(loop: Loop, path: Path) -> Loop:
    """Return the loop with its arcs flattened finely."""
    motions = path.take(slice(loop.row, loop.last_row + 1))
    if not motions.is_arc.any():
        return loop
    is_small = loop.size_mm <= _SMALL_CIRCLE_MM
    if is_small and motions.is_arc.all() and float(np.ptp(motions.centre[:, :2], axis=0).max()) <= _SAME_MM:
        return _round(loop, motions)
    cut = Cut.of(motions, np.inf, most=_FINE_VERTICES)
    moved = _distinct(cut)
    points, gap = cut.xyz_mm[moved, :2][1:], cut.gap[moved][1:]
    if len(points) < 3:
        return loop
    low, high = points.min(axis=0), points.max(axis=0)
    x, y = (points - low).T
    return replace(
        loop,
        points_mm=points,
        gap=gap,
        area_mm2=float(abs(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2.0),
        length_mm=float(np.hypot(*(points - np.roll(points, 1, axis=0)).T).sum()),
        box_mm=np.concatenate([low, high]),
    )


def _round(loop: Loop, motions: Path) -> Loop:
    """Return a loop made of arcs about one centre as a circle of 16 corners: enough to see that it is one."""
    centre = motions.centre[0, :2]
    radius = float(np.hypot(*(motions.end[:, :2] - centre).T).mean())
    return replace(
        loop,
        points_mm=centre + radius * _SIXTEEN,
        gap=np.zeros(len(_SIXTEEN), np.bool_),
        area_mm2=np.pi * radius**2,
        length_mm=2.0 * np.pi * radius,
        box_mm=np.concatenate([centre - radius, centre + radius]),
    )


def _joints(cut: Cut, moved: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return for each kept vertex whether a motion begins or ends there, here or at the vertices left out after it."""
    kept = np.flatnonzero(moved)
    return np.logical_or.reduceat(cut.joint, kept)


def _distinct(cut: Cut) -> NDArray[np.bool_]:
    """Return which vertices lie elsewhere in XY than the one before, or open a run."""
    distinct = np.ones(len(cut.run), np.bool_)
    distinct[1:] = np.diff(cut.run) != 0
    for axis in (0, 1):
        distinct[1:] |= np.abs(np.diff(cut.xyz_mm[:, axis])) > _STILL_MM
    return distinct


def _turned_hops(xy: Floats, gap: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return at which vertices a hop ends that leads off the way: over a tab a cut goes on as it went before."""
    way = np.diff(xy[:, 0] + 1j * xy[:, 1])
    angle = np.zeros(len(xy))
    bend = np.abs(np.angle(way[1:] * way[:-1].conj(), deg=True))
    angle[1:-1] = bend
    hops = np.flatnonzero(gap)
    off = np.zeros(len(xy), np.bool_)
    off[hops] = np.maximum(angle[hops], angle[np.maximum(hops - 1, 0)]) > _TAB_BEND_DEG
    return off


def _swept_area(xy: Floats, first: NDArray[np.intp], last: NDArray[np.intp]) -> Floats:
    """Return the signed areas of the polygons from vertex `first` to vertex `last`."""
    x, y = (xy[:, axis] - middle for axis, middle in enumerate(xy.mean(axis=0)))
    crosses = np.concatenate([[0.0], np.cumsum(x[:-1] * y[1:] - x[1:] * y[:-1])])
    closing = x[last] * y[first] - x[first] * y[last]
    return np.asarray((crosses[last] - crosses[first] + closing) / 2.0)


def _spans(xy: Floats, run: NDArray[np.int64], joint: NDArray[np.bool_]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return first and last vertex of each loop; loops follow one another and do not overlap."""
    # Loops begin and end where motions do, so that they can be flattened again motion by motion.
    if joint.all():
        before = _previous_visit(xy, run)
    else:
        joints = np.flatnonzero(joint)
        before = np.full(len(xy), -1, np.int64)
        visit = _previous_visit(xy[joints], run[joints])
        before[joints] = np.where(visit >= 0, joints[visit], -1)
    x, y = (xy[:, axis] - middle for axis, middle in enumerate(xy.mean(axis=0)))
    crosses = np.concatenate([[0.0], np.cumsum(x[:-1] * y[1:] - x[1:] * y[:-1])])
    travelled = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
    back = np.flatnonzero(before >= 0)
    visited = before[back]
    closing = x[back] * y[visited] - x[visited] * y[back]
    area = np.abs(crosses[back] - crosses[visited] + closing) / 2.0
    length = travelled[back] - travelled[visited]
    real = (area >= _LEAST_AREA_MM2) & (area >= _ROUNDNESS * length**2) & (back - visited >= 3)
    first: list[int] = []
    last: list[int] = []
    spans = zip(back[real].tolist(), visited[real].tolist(), length[real].tolist(), strict=True)
    free_from, last_length, settled = 0, 0.0, 0
    for end, begin, size in spans:
        if begin >= free_from:
            settled = free_from
        elif begin >= settled and size < 0.7 * last_length:
            # A pocket's rows and its wall share corners: the shorter way round is the wall.
            first.pop()
            last.pop()
        else:
            continue
        first.append(begin)
        last.append(end)
        free_from, last_length = end, size
    more_first, more_last = _nearly_closed(xy, run, first)
    order = np.argsort(np.array(first + more_first, np.intp), kind="stable")
    return np.array(first + more_first, np.intp)[order], np.array(last + more_last, np.intp)[order]


def _previous_visit(xy: Floats, run: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return for each vertex the last earlier vertex of its run at the same place, or -1."""
    place, other = (np.round(xy[:, axis] / _SAME_MM).astype(np.int64) for axis in (0, 1))
    place -= place.min()
    place *= int(np.ptp(other)) + 1
    place += other
    del other
    before = np.full(len(xy), -1, np.int64)
    # Most places of a surface are visited once.
    in_order = np.sort(place)
    twice = in_order[1:][in_order[1:] == in_order[:-1]]
    if not twice.size:
        return before
    again = np.flatnonzero(twice[np.minimum(np.searchsorted(twice, place), len(twice) - 1)] == place)
    place, run = place[again], run[again]
    order = np.argsort(place, kind="stable")
    place, run = place[order], run[order]
    same = (place[1:] == place[:-1]) & (run[1:] == run[:-1])
    before[again[order[1:][same]]] = again[order[:-1][same]]
    return before


def _nearly_closed(xy: Floats, run: NDArray[np.int64], first: list[int]) -> tuple[list[int], list[int]]:
    """Return loops of runs that none was found in, closed but for rounding or by an overlap.

    The end lies near the first vertices' chord or the beginning near the last one: an overlapping lead-out drives
    on past the start.
    """
    begins = np.flatnonzero(np.concatenate([[True], run[1:] != run[:-1]]))
    ends = np.concatenate([begins[1:] - 1, [len(run) - 1]])
    taken = np.zeros(int(run[-1]) + 1, np.bool_)
    taken[run[np.array(first, np.intp)]] = True
    open_runs = ~taken[run[begins]] & (ends - begins >= 3)
    extra_first: list[int] = []
    extra_last: list[int] = []
    begins, ends = begins[open_runs], ends[open_runs]
    extent = np.hypot(*(xy[ends] - xy[begins]).T)
    # Only runs whose ends are near one another can be closed by rounding or a short overlap.
    for begin, end in zip(begins[extent <= 30.0].tolist(), ends[extent <= 30.0].tolist(), strict=True):
        if _distance_to_chord(xy[end], xy[begin], xy[begin + 1]) <= _CLOSE_MM or (
            _distance_to_chord(xy[begin], xy[end - 1], xy[end]) <= _CLOSE_MM
        ):
            extra_first.append(begin)
            extra_last.append(end)
    return extra_first, extra_last


def _distance_to_chord(point: Floats, start: Floats, end: Floats) -> float:
    along = end - start
    share = np.clip(((point - start) @ along) / max(float(along @ along), 1e-12), 0.0, 1.0)
    return float(np.hypot(*(point - start - share * along)))
