"""Corners and rounded corners of open cuts: of slots, of comb joints, of frames.

Closed contours are compared as a whole. The ends of a raster's lines are no corners of the part: one of their sides is
as short as the stepover, so only corners between sides longer than a tool is wide are taken.
"""

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path
from flipreg.register.chords import Cut
from flipreg.register.landmarks import Kind, Landmarks

__all__ = ["open_corners"]

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]

_LEAST_SIDE_MM = 5.0
"""Shorter sides make no corner, in millimetres; ours."""
_SIDE_TOOLS = 1.5
"""Nor do sides shorter than so many tool diameters; ours: a stepover is less than one."""
_USUAL_TOOL_MM = 6.0
"""Taken where the tool is not known; common practice, no source."""
_STRAIGHT_DEG = 0.5
"""A cut that turns by less goes straight on; ours."""
_LEAST_TURN_DEG, _MOST_TURN_DEG = 20.0, 160.0
_MOST = 20_000
"""Corners a stretch; ours."""


def open_corners(cut: Cut, path: Path, closed: NDArray[np.bool_], program: int, diameter_mm: float | None) -> Landmarks:
    """Return corners and rounded corners of what is cut without closing.

    Parameters
    ----------
    cut : Cut
        The cutting of one stretch.
    path : Path
        The motions it was made of.
    closed : bool array
        Which vertices of the cut lie on closed loops.
    program : int
        Index of the stretch.
    diameter_mm : float or None
        Of its tool.
    """
    least = max(_LEAST_SIDE_MM, _SIDE_TOOLS * (_USUAL_TOOL_MM if diameter_mm is None else diameter_mm))
    sharp = _sharp(cut, closed, least)
    rounded = _rounded(cut, path, closed, least)
    at = np.concatenate([sharp[0], rounded[0]])
    before, after = np.concatenate([sharp[1], rounded[1]]), np.concatenate([sharp[2], rounded[2]])
    row, floor = np.concatenate([sharp[3], rounded[3]]), np.concatenate([sharp[4], rounded[4]])
    kind = np.repeat([Kind.CORNER, Kind.ARC], [len(sharp[0]), len(rounded[0])]).astype(np.int8)
    size = np.concatenate([np.zeros(len(sharp[0])), rounded[5]])
    turn = np.degrees(np.abs(np.angle(after / np.where(before == 0, 1.0, before))))
    # Passes at several depths make one corner: the deepest.
    key = np.round(np.column_stack([at, turn, size]) / 0.01)
    order = np.lexsort((floor, kind))
    _, first = np.unique(np.column_stack([kind, key])[order], axis=0, return_index=True)
    keep = order[np.sort(first)][:_MOST]
    inward = after[keep] - before[keep]
    count = len(keep)
    none = np.zeros(count, np.complex128)
    return Landmarks(
        kind=kind[keep],
        centre_mm=at[keep],
        uncertainty_mm=np.full(count, 0.001),
        size_mm=size[keep],
        angle_deg=turn[keep],
        direction=inward / np.maximum(np.abs(inward), 1e-12),
        second=none,
        third=none,
        tool_radius_mm=np.full(count, np.nan if diameter_mm is None else diameter_mm / 2.0),
        floor_mm=floor[keep],
        program=np.full(count, program, np.int64),
        line=path.line[row[keep]].astype(np.int64),
    )


def _sharp(cut: Cut, closed: NDArray[np.bool_], least: float) -> tuple[NDArray[np.generic], ...]:
    """Return tips, directions before and after, rows of the path and depths of sharp corners."""
    xy = cut.xyz_mm[:, :2]
    step = np.diff(xy, axis=0)
    moves = np.abs(step).max(axis=1, initial=0.0) > 1e-6
    # A chord counts if it is cut and open; plunges in between change nothing.
    joins = (cut.run[1:] == cut.run[:-1]) & ~cut.gap[1:] & ~(closed[1:] & closed[:-1])
    chord = np.flatnonzero(moves & joins)
    way = step[chord, 0] + 1j * step[chord, 1]
    if len(chord) < 2:
        return _nothing()
    length = np.abs(way)
    unit = way / length
    linked = (cut.run[chord[1:]] == cut.run[chord[:-1]]) & (np.abs(xy[chord[1:]] - xy[chord[:-1] + 1]) <= 1e-6).all(
        axis=1
    )
    turn = np.degrees(np.abs(np.angle(unit[1:] * unit[:-1].conj())))
    begins = np.concatenate([[True], ~linked | (turn > _STRAIGHT_DEG)])
    side = np.cumsum(begins) - 1
    long = np.bincount(side, weights=length)
    meets = np.flatnonzero(linked & (turn >= _LEAST_TURN_DEG) & (turn <= _MOST_TURN_DEG))
    meets = meets[(long[side[meets]] >= least) & (long[side[meets + 1]] >= least)]
    vertex = chord[meets + 1]
    return xy[vertex], unit[meets], unit[meets + 1], cut.row[vertex], cut.xyz_mm[vertex, 2]


def _rounded(
    cut: Cut, path: Path, closed: NDArray[np.bool_], least: float
) -> tuple[NDArray[np.generic], ...]:
    """Return the same of arcs between two sides that they touch, and their radii."""
    rows = np.unique(cut.row[~closed]) if len(cut.row) else np.empty(0, np.intp)
    rows = rows[(rows > 0) & (rows < len(path) - 1)]
    sweep = np.abs(path.sweep_deg[rows])
    arc = path.is_arc[rows] & (path.normal[rows] == 2) & (sweep >= _LEAST_TURN_DEG) & (sweep <= _MOST_TURN_DEG)
    rows = rows[arc & ~path.is_arc[rows - 1] & ~path.is_arc[rows + 1]]
    ways = [path.end[r, :2] - path.start[r, :2] for r in (rows - 1, rows + 1)]
    before, after = (way[:, 0] + 1j * way[:, 1] for way in ways)
    with np.errstate(invalid="ignore"):
        keep = path.is_cut[rows - 1] & path.is_cut[rows + 1] & (np.abs(before) >= least) & (np.abs(after) >= least)
    rows, before, after = rows[keep], before[keep], after[keep]
    before, after = before / np.abs(before), after / np.abs(after)
    # Only an arc that both sides touch is a rounded corner.
    turn = np.degrees(np.abs(np.angle(after * before.conj())))
    keep = np.abs(turn - np.abs(path.sweep_deg[rows])) <= 1.0
    rows, before, after = rows[keep], before[keep], after[keep]
    radius = np.hypot(*(path.start[rows, :2] - path.centre[rows, :2]).T)
    return path.centre[rows, :2], before, after, rows, path.end[rows, 2], radius


def _nothing() -> tuple[NDArray[np.generic], ...]:
    way = np.empty(0, np.complex128)
    return np.empty((0, 2)), way, way, np.empty(0, np.intp), np.empty(0)
