"""Whether the cutter stays clear of the clamps that a job declares.

The cutter is taken for a cylinder upwards from its tip, so a ball, a vee or a drill that passes a clamp with its tip
only is told as well. What it hangs in, the collet and the spindle, is not known and not looked at.
"""

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from flipreg.findings import Finding, Status
from flipreg.geometry.chords import flatten
from flipreg.job.clamp import Clamp
from flipreg.job.layout import Layout
from flipreg.path import Path
from flipreg.program.face import ToolRun
from flipreg.program.known_positions import KnownPositions
from flipreg.program.setup_face import SetupFace
from flipreg.units import limit_text

__all__ = ["clamp_findings", "hits"]

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
Rows = NDArray[np.intp]

_CHORD_MM = 0.001
"""How far arcs may be from the chords that stand for them, in millimetres; the cutter is taken larger by as much."""

_TOUCH_MM = 1e-6
"""A cutter that is nearer by less than this only touches; millimetres (chosen)."""


def clamp_findings(faces: Sequence[SetupFace], layout: Layout) -> Iterator[Finding]:
    """Yield findings of the code 'clamp': for each clamp that is met, or for the setup; none where it has no clamps."""
    clearance_mm = layout.job.limits.clearance_mm
    for face in faces:
        clamps = face.setup.clamps
        programs = [KnownPositions.of(face, program, layout.thickness_mm) for program in face.programs]
        met = [found for clamp in clamps if (found := _met(face, clamp, programs, clearance_mm)) is not None]
        yield from met
        if clamps and not met:
            yield _unsaid(face, programs, clearance_mm) or Finding(
                "clamp",
                Status.PASS,
                "from each program's first point on the cutter keeps clear of the clamps"
                + (f" by {limit_text(clearance_mm)}" if clearance_mm else ""),
                setups=(face.name,),
            )


def hits(path: Path, clamp: Clamp, *, radius_mm: float, clearance_mm: float) -> Bools:
    """Return which motions bring a cutter into a clamp, or nearer to it than they may.

    Parameters
    ----------
    path : Path
        Motions from known points to known points, in the clamp's numbers.
    clamp : Clamp
        The clamp.
    radius_mm : float
        Of the cutter, 0 or more.
    clearance_mm : float
        How far it is to keep away to the side, and with its tip above the top; 0 or more.

    Returns
    -------
    bool array, shape (n,)
        Arcs are looked at to 0.001 mm, and told rather than missed.
    """
    near_mm, top_mm = radius_mm + clearance_mm, clamp.top_mm + clearance_mm - _TOUCH_MM
    low, high = path.bounds_mm()
    corner_low, corner_high = np.array([clamp.x_mm[0], clamp.y_mm[0]]), np.array([clamp.x_mm[1], clamp.y_mm[1]])
    close = (low[:, :2] <= corner_high + near_mm).all(axis=1) & (high[:, :2] >= corner_low - near_mm).all(axis=1)
    rows = np.flatnonzero(close & (low[:, 2] < top_mm))
    found = np.zeros(len(path), np.bool_)
    if not rows.size:
        return found
    some = path.take(rows)
    end, motion = flatten(some.start, some.end, some.centre, some.normal, some.sweep_deg, some.is_arc, _CHORD_MM)
    # A piece starts where the one before it ends, unless it is the first of its motion.
    start = np.concatenate([some.start[:1], end[:-1]])
    first = np.concatenate([[True], motion[1:] != motion[:-1]])
    start[first] = some.start[motion[first]]
    near = near_mm + np.where(some.is_arc[motion], _CHORD_MM, 0.0)
    start, end, is_low = _below(start, end, top_mm + np.where(some.is_arc[motion], _CHORD_MM, 0.0))
    hit = is_low & (_distance(start[:, :2], end[:, :2], corner_low, corner_high) < near - _TOUCH_MM)
    found[rows[motion[hit]]] = True
    return found


def _met(face: SetupFace, clamp: Clamp, programs: Sequence[KnownPositions], clearance_mm: float) -> Finding | None:
    count, first = 0, None
    for one in programs:
        rows = np.concatenate([_rows_into(one, run, clamp, clearance_mm) for run in one.program.tool_runs()])
        count += len(rows)
        if rows.size and first is None:
            first = one, int(rows[0])
    if first is None:
        return None
    one, row = first
    way = "is fed" if bool(one.path.is_cut[row]) else "traverses"
    return Finding(
        "clamp",
        Status.FAIL,
        f"the cutter {way} into the clamp {clamp.name!r}"
        + (f" or nearer to it than {limit_text(clearance_mm)}" if clearance_mm else "")
        + (f"; {count} motions do" if count > 1 else ""),
        one.program.name,
        int(one.path.line[row]),
        setups=(face.name,),
    )


def _rows_into(one: KnownPositions, run: ToolRun, clamp: Clamp, clearance_mm: float) -> Rows:
    """Return the motions of one tool that bring it into a clamp."""
    known = run.first + np.flatnonzero(one.is_known[run.rows])
    radius_mm = (run.diameter_mm or 0.0) / 2
    return known[hits(one.path.take(known), clamp, radius_mm=radius_mm, clearance_mm=clearance_mm)]


def _unsaid(face: SetupFace, programs: Sequence[KnownPositions], clearance_mm: float) -> Finding | None:
    """Return what is open because a program does not say where it goes."""
    tops = [clamp.top_mm + clearance_mm for clamp in face.setup.clamps]
    for one in programs:
        # High enough at both ends, a motion is clear of the clamps wherever it goes.
        is_high = (np.minimum(one.path.start[:, 2], one.path.end[:, 2]) >= max(tops)) & ~one.path.is_arc
        is_high &= one.path.work_offset == one.path.work_offset[:1]
        doubtful = np.flatnonzero(one.is_lost & ~is_high)
        says = "goes to or from a place that it does not say (G28, G30, G53, another work offset)"
        if not doubtful.size and len(one.path) and bool(one.is_approach.all()):
            doubtful, says = np.zeros(1, np.intp), "never says where all three axes are"
        if doubtful.size:
            return Finding(
                "clamp",
                Status.NOT_DETERMINED,
                f"whether the clamps are met cannot be told, for a program {says}; "
                "all motion between known points is clear of them",
                one.program.name,
                int(one.path.line[doubtful[0]]),
                setups=(face.name,),
            )
    return None


def _below(start: Floats, end: Floats, top_mm: Floats) -> tuple[Floats, Floats, Bools]:
    """Return the parts of straight pieces whose tip is at a height or lower, and which pieces have one."""
    rise = end[:, 2] - start[:, 2]
    share = np.clip((top_mm - start[:, 2]) / np.where(rise == 0.0, 1.0, rise), 0.0, 1.0)[:, np.newaxis]
    border = start + share * (end - start)
    cut_start = np.where((start[:, 2] > top_mm)[:, np.newaxis], border, start)
    cut_end = np.where((end[:, 2] > top_mm)[:, np.newaxis], border, end)
    return cut_start, cut_end, np.minimum(start[:, 2], end[:, 2]) <= top_mm


def _distance(start: Floats, end: Floats, low: Floats, high: Floats) -> Floats:
    """Return how far straight pieces of the plane stay from a rectangle, 0 where they meet it; shape (n,)."""
    way = end - start
    # The share of the piece within each pair of sides; a piece along them is within them always or never.
    with np.errstate(divide="ignore", invalid="ignore"):
        enter, leave = (low - start) / way, (high - start) / way
    enter, leave = np.minimum(enter, leave), np.maximum(enter, leave)
    along = way == 0.0
    within = (start >= low) & (start <= high)
    enter = np.where(along, np.where(within, -np.inf, np.inf), enter)
    leave = np.where(along, np.where(within, np.inf, -np.inf), leave)
    meets = np.maximum(enter.max(axis=1), 0.0) <= np.minimum(leave.min(axis=1), 1.0)
    apart = np.minimum(_to_rectangle(start, low, high), _to_rectangle(end, low, high))
    length = (way**2).sum(axis=1)
    for x in (low[0], high[0]):
        for y in (low[1], high[1]):
            corner = np.array([x, y])
            share = ((corner - start) * way).sum(axis=1) / np.where(length > 0.0, length, 1.0)
            nearest = start + np.clip(share, 0.0, 1.0)[:, np.newaxis] * way
            apart = np.minimum(apart, np.hypot(*(corner - nearest).T))
    return np.where(meets, 0.0, apart)


def _to_rectangle(points: Floats, low: Floats, high: Floats) -> Floats:
    off = np.maximum(np.maximum(low - points, points - high), 0.0)
    return np.asarray(np.hypot(off[:, 0], off[:, 1]), dtype=np.float64)
