"""What a program cuts, as straight chords: arcs flattened, travel in the air left out.

Which feed motions are in the wood depends on where Z zero is. Mostly it is the top of the blank, so wood is at
z <= 0. Some programs have it on the spoilboard: then nearly all feeding across happens at z > 0, and
whatever is fed below the height of the traverses counts as cut. (Common practice, no source.)
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.geometry.chords import flatten
from flipreg.path import Path

__all__ = ["CHORD_MM", "Cut", "wood_top"]

Floats = NDArray[np.float64]

CHORD_MM = 0.002
"""Largest distance between an arc and its chords, in millimetres (chosen), far below any tolerance in wood."""

_COARSER_MM = (CHORD_MM, 0.02, 0.2, 5.0)
"""What is tried where arcs would make too many vertices, in millimetres (chosen)."""

MOST_VERTICES = 2_000_000
"""Vertices of arcs a program may have before they are flattened more coarsely (chosen): about 200 MB."""

HOP_MM = 20.0
"""Longest gap in a contour that may be a tab lifted over by a traverse, in millimetres (chosen)."""

_STILL_MM = 1e-6
"""Below this a motion does not move in XY; millimetres."""
_TOP_MM = 1e-3
"""Cutting at the top face itself counts as cutting; millimetres."""
_DEEP_MM = -0.75
"""Fed deeper than this, Z zero is no spoilboard; millimetres. Spoilboards are cut into by less (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class Cut:
    """Vertices of the cutting motions of one program, run after run.

    A run is cutting without leaving the contour: feeds, plunges, and hops over what may be a tab.

    Attributes
    ----------
    xyz_mm : float64, shape (n, 3)
        Vertices in the program frame, consecutive ones of a run joined by a chord.
    run : int64, shape (n,)
        Number of the run a vertex belongs to, ascending.
    gap : bool, shape (n,)
        The chord that ends here is a hop: nothing is cut along it.
    row : int64, shape (n,)
        Row of the path whose motion ends here or passes through here.
    joint : bool, shape (n,)
        A motion begins or ends here; other vertices lie within an arc.
    chord_mm : float
        How far arcs may stand off their chords: `CHORD_MM`, more for programs of very many arcs.
    """

    xyz_mm: Floats
    run: NDArray[np.int64]
    gap: NDArray[np.bool_]
    row: NDArray[np.int64]
    joint: NDArray[np.bool_]
    chord_mm: float

    @classmethod
    def of(cls, path: Path, top_mm: float, *, most: int = MOST_VERTICES) -> "Cut":
        """Return the cutting of a path.

        Parameters
        ----------
        path : Path
            Motions of one program.
        top_mm : float
            Height of the wood's surface, as `wood_top` gives it.
        most : int
            Arcs are flattened more coarsely if they would make more vertices than this.
        """
        rows = np.flatnonzero(cutting_rows(path, top_mm))
        if len(rows) == 0:
            nothing = np.empty(0, np.int64)
            flags = np.empty(0, np.bool_)
            return cls(np.empty((0, 3)), nothing, flags, nothing, flags, CHORD_MM)
        chord_mm = _chord(path, rows, most)
        chords, chord_row = _flatten(path, rows, chord_mm)
        first = np.concatenate([[True], chord_row[1:] != chord_row[:-1]])
        opens, hops = _breaks(path, rows)
        # A vertex before the first chord of a run and after each hop, besides the end of every chord.
        extra = np.zeros(len(chord_row), np.bool_)
        extra[first] = opens | hops
        count = 1 + extra.astype(np.int64)
        at = np.cumsum(count) - 1
        total = int(at[-1]) + 1
        xyz = np.empty((total, 3))
        xyz[at] = chords
        before = at[extra] - 1
        start = path.start[chord_row[extra]].copy()
        unknown_z = np.isnan(start[:, 2])
        start[unknown_z, 2] = path.end[chord_row[extra][unknown_z], 2]
        xyz[before] = start
        gap = np.zeros(total, np.bool_)
        gap[at[first][hops] - 1] = True
        row = np.empty(total, np.int64)
        row[at], row[before] = chord_row, chord_row[extra]
        new_run = np.zeros(total, np.int64)
        new_run[at[first][opens] - 1] = 1
        joint = np.ones(total, np.bool_)
        joint[at] = np.concatenate([chord_row[1:] != chord_row[:-1], [True]])
        return cls(xyz, np.cumsum(new_run) - 1, gap, row, joint, chord_mm)


def cutting_rows(path: Path, top_mm: float) -> NDArray[np.bool_]:
    """Return which rows are fed at or below the wood's surface from and to known XY, shape (n,)."""
    # Column by column, here and below: a program has millions of rows, and what is made of all of them at once adds up.
    known = np.fmin(path.start[:, 2], path.end[:, 2]) <= top_mm + _TOP_MM
    for places, axis in ((path.start, 0), (path.start, 1), (path.end, 0), (path.end, 1), (path.end, 2)):
        known &= np.isfinite(places[:, axis])
    return np.asarray(path.is_cut & known)


def is_still(path: Path) -> NDArray[np.bool_]:
    """Return which rows do not move in XY (full circles do), shape (n,)."""
    still = ~path.is_arc
    for axis in (0, 1):
        still &= np.abs(path.end[:, axis] - path.start[:, axis]) <= _STILL_MM
    return still


def wood_top(path: Path) -> float:
    """Return the height of the wood's surface in the program frame, in millimetres.

    0 where Z zero is the top of the blank; the height of the traverses, just above the wood, where Z zero seems
    to be the spoilboard or where only drilling shows.
    """
    fed = path.is_cut
    z = path.end[fed, 2]
    if len(z) == 0 or np.isnan(z).all():
        return 0.0
    across = fed & ~is_still(path)
    z_across = path.end[across, 2]
    lowest = float(np.nanmin(z))
    if lowest < _DEEP_MM or (len(z_across) and np.mean(z_across <= _TOP_MM) >= 0.5):
        return 0.0
    traverse = ~fed & ~is_still(path) & np.isfinite(path.end[:, 2])
    heights = path.end[traverse, 2]
    if len(heights) == 0:
        return float(np.nanmax(path.end[:, 2])) - 2 * _TOP_MM
    values, counts = np.unique(np.round(heights, 3), return_counts=True)
    return float(values[int(counts.argmax())]) - 2 * _TOP_MM


def _breaks(path: Path, rows: NDArray[np.intp]) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Return, for each cutting row, whether it opens a run and whether a hop leads to it."""
    x, y = (path.start[:, axis].take(rows[1:]) - path.end[:, axis].take(rows[:-1]) for axis in (0, 1))
    distance = np.hypot(x, y)
    opens = np.concatenate([[True], distance > HOP_MM])
    hops = np.concatenate([[False], (distance > _STILL_MM) & (distance <= HOP_MM)])
    return opens, hops


def _chord(path: Path, rows: NDArray[np.intp], most: int) -> float:
    """Return the finest chord distance that keeps the arcs of these rows below `most` vertices."""
    arcs = rows[path.is_arc[rows]]
    if len(arcs) == 0:
        return CHORD_MM
    radius = np.linalg.norm(np.nan_to_num(path.start[arcs] - path.centre[arcs]), axis=1)
    sweep = np.radians(np.abs(path.sweep_deg[arcs]))
    for chord_mm in _COARSER_MM:
        step = 4.0 * np.arcsin(np.sqrt(np.minimum(0.5, chord_mm / (2.0 * np.maximum(radius, chord_mm)))))
        if float((sweep / step).sum()) <= most:
            return chord_mm
    return _COARSER_MM[-1]


def _flatten(path: Path, rows: NDArray[np.intp], chord_mm: float) -> tuple[Floats, NDArray[np.int64]]:
    """Return the ends of chords, shape (m, 3), and the row of each; lines are one chord."""
    arcs = path.is_arc[rows]
    if not arcs.any():
        return path.end[rows], rows
    points, which = flatten(
        path.start[rows],
        path.end[rows],
        path.centre[rows],
        path.normal[rows],
        path.sweep_deg[rows],
        arcs,
        chord_mm,
    )
    return points, rows[which].astype(np.int64)
