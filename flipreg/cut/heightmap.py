"""The surface that programs leave, as heights at the centres of a grid.

Right at every centre: the value is the lowest point of the cutter's lower surface over all motions, traverses
included, to 1e-4 mm in height, or to 2e-5 mm sideways where the surface is steeper than that shows. Arcs and
helices are taken as chords, at most `chord_mm` off. Between the centres nothing is known but this: any point of the
surface lies within half a diagonal of a cell (`Grid.reach_mm`) of a centre. A map made with
`Cutter.grown(grid.reach_mm + chord_mm)` is therefore nowhere above the surface in the whole cell: that is the
conservative side for thin places and for what still holds. Cusps between passes read low on the plain map too, for
their peaks fall between centres.
"""

from collections.abc import Iterator, Sequence
from math import ceil

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.pieces import Pieces, pieces_of
from flipreg.cut.stamp import Canvas, stamp
from flipreg.cut.tool import Cutter
from flipreg.geometry.arc import flatten
from flipreg.path import Compensation, Path

__all__ = ["CHORD_MM", "height_map", "height_map_of", "undetermined"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

CHORD_MM = 0.002
"""Largest distance between an arc and its chords, in millimetres; ours, far below any tolerance in wood."""

_MOTIONS = 65_536
"""Motions worked on at a time, so that memory does not grow with the program; ours."""
_LONGEST_MM = 12.0
"""Pieces are no longer, however large the cutter, for the map's margin grows with them; ours."""
_FEWEST_CELLS = 8.0
"""Pieces may always be this many cells long; ours: a fine cutter on a coarse grid must not make a crowd of pieces."""


def height_map(path: Path, tool: Cutter, grid: Grid, *, top_mm: float, chord_mm: float = CHORD_MM) -> Singles:
    """Return the surface that one path leaves of a flat blank.

    Parameters
    ----------
    path : Path
        The motions, in the frame of the grid. Motions with a coordinate that is not known, and motions under
        cutter compensation, are left out: ask `undetermined` which.
    tool : Cutter
        What cuts.
    grid : Grid
        Where the heights are wanted.
    top_mm : float
        Z of the blank's face.
    chord_mm : float
        How far an arc may stand off its chords.

    Returns
    -------
    float32 array, shape `grid.shape`
        Z in millimetres, in the frame of the path.
    """
    return height_map_of([(path, tool)], grid, top_mm=top_mm, chord_mm=chord_mm)


def height_map_of(
    cuts: Sequence[tuple[Path, Cutter]], grid: Grid, *, top_mm: float | Singles, chord_mm: float = CHORD_MM
) -> Singles:
    """Return the surface that several paths, each with its cutter, leave of a blank.

    Parameters
    ----------
    cuts : sequence of (Path, Cutter)
        In any order: the map does not depend on it.
    grid : Grid
        Where the heights are wanted.
    top_mm : float or float32 array, shape `grid.shape`
        Z of the blank's face, or the map that earlier cuts left.
    chord_mm : float
        How far an arc may stand off its chords.

    Returns
    -------
    float32 array, shape `grid.shape`
        Z in millimetres. A part of a larger array whose margin is kept in memory with it.

    Raises
    ------
    ValueError
        If the face is not finite, or the map of earlier cuts has another shape.
    """
    top = np.asarray(top_mm, dtype=np.float32)
    if top.shape not in ((), grid.shape) or not bool(np.isfinite(top).all()):
        raise ValueError(f"the face needs one finite Z, or a map of shape {grid.shape}, got shape {top.shape}")
    highest = float(top.max())
    margin = max((_margin(cutter, grid) for _, cutter in cuts), default=0)
    rows, columns = grid.shape[0] + 2 * margin, grid.shape[1] + 2 * margin
    surface = np.empty((rows, columns), np.float32)
    surface.fill(highest)
    inner = surface[margin : margin + grid.shape[0], margin : margin + grid.shape[1]]
    if top.shape:
        inner[...] = top
    shift = margin * grid.step_mm
    canvas = Canvas(surface.reshape(-1), grid.x_mm - shift, grid.y_mm - shift, grid.step_mm, columns)
    for path, cutter in cuts:
        for start, end in _chords(path, chord_mm):
            pieces = pieces_of(start, end, cutter, longest_mm=_longest(cutter, grid))
            pieces = _near(pieces, grid, cutter, highest)
            if len(pieces):
                stamp(canvas, pieces, cutter)
    return inner


def undetermined(path: Path, *, top_mm: float) -> NDArray[np.intp]:
    """Return the rows of a path that a height map leaves out although they may cut.

    Those are motions under cutter compensation, whose tool is not where the program says, and motions with a
    coordinate that is not known, unless all of them is known to stay at the face or above.
    """
    known_above = (path.start[:, 2] >= top_mm) & (path.end[:, 2] >= top_mm) & ~path.is_arc
    return np.flatnonzero(~_is_known(path) & ~known_above)


def _is_known(path: Path) -> NDArray[np.bool_]:
    finite = np.isfinite(path.start).all(axis=1) & np.isfinite(path.end).all(axis=1)
    is_plain: NDArray[np.bool_] = np.equal(path.compensation, Compensation.OFF)
    return np.logical_and(finite, is_plain)


def _chords(path: Path, chord_mm: float) -> Iterator[tuple[Floats, Floats]]:
    """Yield straight motions, in bounded portions."""
    for begin in range(0, len(path), _MOTIONS):
        part = path.take(slice(begin, begin + _MOTIONS))
        known = _is_known(part)
        if not bool(known.all()):
            part = part.take(known)
        if not len(part):
            continue
        if not bool(part.is_arc.any()):
            yield part.start, part.end
            continue
        corners, row = flatten(part.start, part.end, part.centre, part.normal, part.sweep_deg, part.is_arc, chord_mm)
        is_first = np.concatenate([[True], row[1:] != row[:-1]])
        starts = np.concatenate([corners[:1], corners[:-1]])
        starts[is_first] = part.start[row[is_first]]
        for at in range(0, len(corners), _MOTIONS):
            yield starts[at : at + _MOTIONS], corners[at : at + _MOTIONS]


def _longest(cutter: Cutter, grid: Grid) -> float:
    return max(min(2.0 * cutter.radius_mm, _LONGEST_MM), _FEWEST_CELLS * grid.step_mm)


def _margin(cutter: Cutter, grid: Grid) -> int:
    """Return the cells by which what a piece cuts may stick out of a grid that the piece touches with its radius."""
    return ceil((2.0 * cutter.radius_mm + _longest(cutter, grid)) / grid.step_mm) + 2


def _near(pieces: Pieces, grid: Grid, cutter: Cutter, top_mm: float) -> Pieces:
    """Leave out pieces above the face, and those that the cutter does not bring to the grid."""
    radius = cutter.radius_mm
    last_x = grid.x_mm + grid.step_mm * (grid.shape[1] - 1)
    last_y = grid.y_mm + grid.step_mm * (grid.shape[0] - 1)
    end_x, end_y = pieces.x + pieces.length * pieces.dx, pieces.y + pieces.length * pieces.dy
    inside = (
        (pieces.z < top_mm)
        & (np.maximum(pieces.x, end_x) + radius >= grid.x_mm)
        & (np.minimum(pieces.x, end_x) - radius <= last_x)
        & (np.maximum(pieces.y, end_y) + radius >= grid.y_mm)
        & (np.minimum(pieces.y, end_y) - radius <= last_y)
    )
    return pieces if bool(inside.all()) else pieces.take(inside)
