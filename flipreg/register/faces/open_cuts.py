"""Ends of straight slots and of cuts in a curve, corners and rounded corners of open cuts: of comb joints, of frames.

Closed contours are compared as a whole. The ends of a raster's lines are no corners of the part: one of their sides is
as short as the stepover, so of a cut of many sides only corners between sides longer than a tool is wide are taken.
"""

import numpy as np
from numpy.typing import NDArray

from flipreg.path import Path
from flipreg.register.faces.chords import Cut
from flipreg.register.faces.landmarks import LandmarkKind, Landmarks
from flipreg.register.faces.open_chains import OpenChains, open_chains
from flipreg.register.faces.open_ends import nothing, open_ends
from flipreg.register.faces.raster import raster_chains

__all__ = ["goes_round", "open_cuts"]

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]

_LEAST_SIDE_MM = 5.0
"""Shorter sides make no corner, in millimetres (chosen)."""
_SIDE_TOOLS = 1.5
"""Nor do sides shorter than so many tool diameters (chosen): a stepover is less than one."""
_USUAL_TOOL_MM = 6.0
"""Taken where the tool is not known; common practice, no source."""
_MOST_OF_NOTCH, _LEAST_OF_NOTCH_MM = 8, 1.0
"""Of a cut of no more sides than this, sides of this length make corners too (chosen)."""
_STRAIGHT_DEG = 0.5
"""A cut that turns by less goes straight on (chosen)."""
_LEAST_TURN_DEG, _MOST_TURN_DEG = 20.0, 160.0
"""A cut that turns by less bends, and one that turns by more goes back; degrees (chosen)."""
_LONGEST_LEAD_MM = 20.0
"""Longer cuts lead into no loop, in millimetres (chosen): leads are a few tool diameters long."""
_MOST = 20_000
"""Corners a stretch (chosen)."""


def open_cuts(cut: Cut, path: Path, closed: NDArray[np.bool_], program: int, diameter_mm: float | None) -> Landmarks:
    """Return ends of slots and of cuts in a curve, corners and rounded corners of what is cut without closing.

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
    tool = _USUAL_TOOL_MM if diameter_mm is None else diameter_mm
    least = max(_LEAST_SIDE_MM, _SIDE_TOOLS * tool)
    chains = open_chains(cut, closed)
    rounded = _rounded(cut, path, closed, least)
    ends = open_ends(chains, tool, least)
    sharp, is_wall = _sharp(chains, least, None if diameter_mm is None else diameter_mm / 2.0)
    parts = (sharp, rounded, ends)
    at, before, after, row, floor, size = (np.concatenate([part[k] for part in parts]) for k in range(6))
    kinds = np.array([LandmarkKind.CORNER, LandmarkKind.ARC, LandmarkKind.END], np.int8)
    kind = np.repeat(kinds, [len(part[0]) for part in parts])
    turn = np.degrees(np.abs(np.angle(after * before.conj())))
    # Passes at several depths make one corner: the deepest.
    key = np.round(np.column_stack([at, turn, size]) / 0.01)
    order = np.lexsort((floor, kind))
    _, first = np.unique(np.column_stack([kind, key])[order], axis=0, return_index=True)
    keep = order[np.sort(first)][:_MOST]
    inward = np.where(kind == LandmarkKind.END, after, after - before)[keep]
    count = len(keep)
    radius = np.full(len(at), np.nan if diameter_mm is None else diameter_mm / 2.0)
    radius[: len(is_wall)][is_wall] = 0.0
    none = np.zeros(count, np.complex128)
    return Landmarks(
        kind=kind[keep],
        centre_mm=at[keep],
        uncertainty_mm=np.full(count, 0.001),
        size_mm=size[keep],
        angle_deg=turn[keep],
        direction=np.asarray(inward / np.maximum(np.abs(inward), 1e-12), np.complex128),
        second=none,
        third=none,
        width_mm=np.zeros((count, 2)),
        tool_radius_mm=radius[keep],
        floor_mm=floor[keep],
        program=np.full(count, program, np.int64),
        line=path.line[row[keep]].astype(np.int64),
    )


def goes_round(cut: Cut, closed: NDArray[np.bool_]) -> bool:
    """Return whether all that is cut across goes round closed loops, or leads into one."""
    chains = open_chains(cut, closed)
    # Of passes at several depths each leads in and out.
    return len(chains) == 0 or bool((chains.lengths_mm() <= chains.leads() * _LONGEST_LEAD_MM).all())


def _sharp(
    chains: OpenChains, least: float, radius_mm: float | None
) -> tuple[tuple[NDArray[np.generic], ...], NDArray[np.bool_]]:
    """Return sharp corners, and which of them are corners of the wood and not only of the tool's way.

    A corner has its tip, the directions before and after it, its row of the path, its depth, and a size: of a square
    notch the width, else 0.
    Where a notch is cut in three sides, there, across and back, its walls stand a tool's radius outside of the tool's
    way. With that known the corners returned are those of the walls; all others are corners of the way.
    """
    cut, chord, unit, linked = chains.cut, chains.chord, chains.unit, chains.linked
    xy = cut.xyz_mm[:, :2]
    if len(chord) < 2:
        return nothing(), np.zeros(0, np.bool_)
    bend = unit[:-1].conj()
    bend *= unit[1:]
    turn = np.angle(bend)
    del bend
    np.degrees(np.abs(turn, out=turn), out=turn)
    begins = np.concatenate([[True], ~linked | (turn > _STRAIGHT_DEG)])
    side = np.cumsum(begins)
    side -= 1
    long = np.asarray(np.bincount(side, weights=chains.length_mm), np.float64)
    # A notch has a few sides, and all of them mean something; a raster has many. Where the cut turns back upon itself
    # the next pass begins.
    chain = np.cumsum(np.concatenate([[True], ~linked | (turn > _MOST_TURN_DEG)]))
    chain -= 1
    sides = np.bincount(chain, weights=begins)
    meets = np.flatnonzero(linked & (turn >= _LEAST_TURN_DEG) & (turn <= _MOST_TURN_DEG))
    # Where one cut leads to a closed loop and another one away from it is no corner of the part.
    meets = meets[~chains.closed[chord[meets + 1]]]
    hand = np.sign((unit[meets + 1] * unit[meets].conj()).imag)
    meets = meets[~np.isin(chain[meets], raster_chains(side[meets], chain[meets], hand, long))]
    is_short = sides[chain[meets]] <= _MOST_OF_NOTCH
    needed = np.where(is_short, _LEAST_OF_NOTCH_MM, least)
    is_long = (long[side[meets]] >= needed) & (long[side[meets + 1]] >= needed)
    meets, is_short = meets[is_long], is_short[is_long]
    vertex = chord[meets + 1]
    before, after = unit[meets], unit[meets + 1]
    at, is_wall, width = xy[vertex].copy(), np.zeros(len(vertex), np.bool_), np.zeros(len(vertex))
    hand = np.sign((after * before.conj()).imag)
    # Two corners to the same side, with one side between them.
    is_next = (side[meets[1:]] == side[meets[:-1] + 1]) & (chain[meets[1:]] == chain[meets[:-1]])
    twin = np.flatnonzero(is_next & (hand[1:] == hand[:-1]) & is_short[:-1])
    square = twin[(np.abs(turn[meets[twin]] - 90.0) <= 1.0) & (np.abs(turn[meets[twin + 1]] - 90.0) <= 1.0)]
    width[square] = width[square + 1] = long[side[meets[square + 1]]] + 2.0 * (radius_mm or 0.0)
    if radius_mm is not None:
        is_wall[twin] = is_wall[twin + 1] = True
        # The inner normals of both sides meet where the corner of the cutter's way is seen from that of the walls.
        inner = 1j * hand * (before + after) / (1.0 + (before * after.conj()).real)
        at[is_wall] -= radius_mm * np.column_stack([inner.real, inner.imag])[is_wall]
    return (at, before, after, cut.row[vertex], cut.xyz_mm[vertex, 2], width), is_wall


def _rounded(
    cut: Cut, path: Path, closed: NDArray[np.bool_], least: float
) -> tuple[NDArray[np.generic], ...]:
    """Return rounded corners as `_sharp` does: arcs that touch the sides before and after them, with their radii."""
    is_open = np.zeros(len(path), np.bool_)
    is_open[cut.row[~closed]] = True
    rows = np.flatnonzero(is_open & path.is_arc)
    rows = rows[(rows > 0) & (rows < len(path) - 1)]
    sweep = np.abs(path.sweep_deg[rows])
    arc = (path.normal[rows] == 2) & (sweep >= _LEAST_TURN_DEG) & (sweep <= _MOST_TURN_DEG)
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

