"""The pieces of wood that a program cuts loose, and the line at which each comes loose."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.surface import Surface
from flipreg.cut.thickness import BothFaces
from flipreg.stock.sections.hanging import Borders, Hanging
from flipreg.stock.sections.section import SectionCut

__all__ = ["FreePiece", "Release", "first_row", "piece_of", "pieces_off"]

Bools = NDArray[np.bool_]

_LEAST_CELLS = 4
"""Fewer cells are the grid's ragged edge (chosen)."""
_CHIP_MM = 0.5
"""A piece that is nowhere thicker is a flake that the cutter takes along (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class FreePiece:
    """A piece of wood that is not held.

    Attributes
    ----------
    cells : bool array, shape of the grid
        Its cells.
    at_mm : (x, y)
        Mean of their centres, in the frame of the section.
    inside_mm : (x, y)
        The centre of the cell of it that is nearest to that.
    area_mm2 : float
        Their area.
    is_chip : bool
        Whether it is no larger than the end of the narrowest cutter of the section, or a flake.
    goes_on : bool
        Whether it reaches the line where this section meets another one, and goes on there.
    """

    cells: Bools
    at_mm: tuple[float, float]
    inside_mm: tuple[float, float]
    area_mm2: float
    is_chip: bool
    goes_on: bool


@dataclass(frozen=True, slots=True, eq=False)
class Release:
    """A piece that a program cuts loose.

    Attributes
    ----------
    cut : SectionCut
        The program.
    piece : FreePiece
        The piece.
    is_known : bool
        Whether it is known what holds it; if not, it may hang by wood that lies where nothing is known.
    line : int or None
        The line whose motion cuts the last wood that joined it to what is held. None of chips, and where what still
        holds it is thinner or narrower than a cell of the grid.
    held : str
        What is taken as held.
    is_permitted : bool
        Whether the job says that it may fall.
    """

    cut: SectionCut
    piece: FreePiece
    is_known: bool
    line: int | None
    held: str
    is_permitted: bool


def pieces_off(now: Hanging, faces: BothFaces, off: Bools, chip_mm2: float) -> list[FreePiece]:
    """Return the pieces that are not held, the largest first.

    Parameters
    ----------
    now : Hanging
        The pieces of wood.
    faces : BothFaces
        Its surfaces.
    off : bool array, shape of the grid
        Cells of pieces that came loose before: what is cut off those is no new one.
    chip_mm2 : float
        Pieces up to this are chips.
    """
    grid = faces.grid
    cells = now.cells.copy()
    cells[0] = 0
    new = cells - np.bincount(now.pieces.at(np.flatnonzero(off)), minlength=now.count + 1)
    found = np.flatnonzero((new >= _LEAST_CELLS) & ~now.held & (2 * new > cells))
    found = found[found > 0]
    if not len(found):
        return []
    out = [_piece(now, faces, number, grid, chip_mm2) for number in found.tolist()]
    return sorted(out, key=lambda piece: -piece.area_mm2)


def piece_of(now: Hanging, numbers: NDArray[np.int32], grid: Grid, borders: Borders) -> FreePiece:
    """Return pieces of wood that hang together as one, the uncut wood beyond the grid counted."""
    mine = now.pieces.named(numbers)
    rows, columns = np.nonzero(mine)
    places = grid.centres_mm(rows, columns)
    inside = places[int(np.hypot(*(places - places.mean(axis=0)).T).argmin())]
    area_mm2, at_mm = now.weighed(numbers, grid, borders)
    goes_on = bool(now.goes_on[numbers].any())
    return FreePiece(mine, at_mm, (float(inside[0]), float(inside[1])), area_mm2, False, goes_on)  # noqa: FBT003


def first_row(
    cut: SectionCut, done: int, before: Surface, all_held: Callable[[Surface], bool]
) -> tuple[int, Surface, Surface] | None:
    """Return the motion of a program that cuts the last wood that holds one of some pieces.

    Parameters
    ----------
    cut : SectionCut
        The program.
    done : int
        Rows of it that have run.
    before : Surface
        The cut face after those.
    all_held : callable
        Whether all pieces are held when the face is as given.

    Returns
    -------
    (int, Surface, Surface) or None
        Its row, and the face before and after it; None where all are held to the end.
    """
    path = cut.path
    after = before.copy()
    after.cut(path.take(slice(done, len(path))), cut.cutter)
    if all_held(after):
        return None
    surface, gone = before, len(path)
    # Between `done`, where all are held, and `gone`, where one is not: halved until one motion is left.
    while gone - done > 1:
        middle = (done + gone) // 2
        trial = surface.copy()
        trial.cut(path.take(slice(done, middle)), cut.cutter)
        if all_held(trial):
            done, surface = middle, trial
        else:
            gone, after = middle, trial
    return done, surface, after


def _piece(now: Hanging, faces: BothFaces, number: int, grid: Grid, chip_mm2: float) -> FreePiece:
    mine = now.pieces.named([number])
    rows, columns = np.nonzero(mine)
    places = grid.centres_mm(rows, columns)
    middle = places.mean(axis=0)
    inside = places[int(np.hypot(*(places - middle).T).argmin())]
    area_mm2 = len(rows) * grid.cell_mm2
    thick_mm = float((faces.front_mm[rows, columns] - faces.back_mm[rows, columns]).max())
    return FreePiece(
        mine,
        (float(middle[0]), float(middle[1])),
        (float(inside[0]), float(inside[1])),
        area_mm2,
        area_mm2 <= chip_mm2 or thick_mm <= _CHIP_MM,
        bool(now.goes_on[number]),
    )
