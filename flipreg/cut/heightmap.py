"""The surface that programs leave, as heights at the centres of a grid.

Right at every centre: the value is the lowest point of the cutter's lower surface over all motions, traverses
included, to 1e-4 mm in height, or to 2e-5 mm sideways where the surface is steeper than that shows. Arcs and
helices are taken as chords, at most `chord_mm` off. Between the centres nothing is known but this: any point of the
surface lies within half a diagonal of a cell (`Grid.reach_mm`) of a centre. A map made with
`Cutter.grown(grid.reach_mm + chord_mm)` is therefore nowhere above the surface in the whole cell: that is the
conservative side for thin places and for what still holds. Cusps between passes read low on the plain map too, for
their peaks fall between centres.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.surface import CHORD_MM, Surface, is_known
from flipreg.cut.tool import Cutter
from flipreg.path import Path

__all__ = ["height_map", "height_map_of", "undetermined"]

Singles = NDArray[np.float32]


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
    surface = Surface(grid, [cutter for _, cutter in cuts], top_mm=top_mm, chord_mm=chord_mm)
    for path, cutter in cuts:
        surface.cut(path, cutter)
    return surface.heights_mm


def undetermined(path: Path, *, top_mm: float) -> NDArray[np.intp]:
    """Return the rows of a path that a height map leaves out although they may cut.

    Those are motions under cutter compensation, whose tool is not where the program says, and motions with a
    coordinate that is not known, unless all of them is known to stay at the face or above.
    """
    known_above = (path.start[:, 2] >= top_mm) & (path.end[:, 2] >= top_mm) & ~path.is_arc
    return np.flatnonzero(~is_known(path) & ~known_above)
