"""What holds the pieces that are cut out, and the line at which one comes loose."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.holding import Tab, tabs
from flipreg.cut.regions import label
from flipreg.cut.surface import Surface
from flipreg.cut.thickness import BothFaces
from flipreg.verify.kerf import Kerf, Piece
from flipreg.verify.section import SectionCut

__all__ = ["Loose", "came_loose", "held", "joined", "joined_on_a_sheet"]


@dataclass(frozen=True, slots=True, eq=False)
class Loose:
    """A piece that a program cuts loose.

    Attributes
    ----------
    cut : SectionCut
        The program.
    piece : Piece
        The piece.
    line : int or None
        The line whose motion cuts the last wood that joined it to the blank. None where that last wood is thinner
        or narrower than a cell of the grid, or lies where nothing is known, so that nobody can tell.
    """

    cut: SectionCut
    piece: Piece
    line: int | None


def held(faces: BothFaces, kerf: Kerf, piece: Piece) -> tuple[float | None, tuple[Tab, ...]]:
    """Return how one piece hangs.

    Parameters
    ----------
    faces : BothFaces
        What is left; thin, so that the figures err to the thin side.
    kerf : Kerf
        Of the section.
    piece : Piece
        One of its pieces.

    Returns
    -------
    floor_mm : float or None
        The thinnest wood in the kerf as long as most of it is wood, else None.
    tabs : tuple of Tab
        Those to the blank or to other pieces; none as long as there is a floor.
    """
    wood = faces.left_mm[faces.is_left & kerf.cells]
    if 2 * len(wood) > int(kerf.cells.sum()):
        return float(wood.min()), ()
    return None, tabs(faces, kerf.cells, piece.cells)


def joined(faces: BothFaces, kerf: Kerf) -> list[bool]:
    """Return which of the kerf's pieces hang together with the blank, wherever any wood of both does."""
    return _joined(*faces.pieces(), kerf)


def joined_on_a_sheet(known: NDArray[np.bool_], kerf: Kerf) -> list[bool]:
    """Return which pieces hang together with the blank while a sheet of wood goes through all known cells."""
    return _joined(*label(known), kerf)


def _joined(labels: NDArray[np.int32], count: int, kerf: Kerf) -> list[bool]:
    of_blank = np.zeros(count + 1, np.bool_)
    of_blank[labels[kerf.blank]] = True
    of_blank[0] = False
    return [bool(of_blank[labels[piece.cells]].any()) for piece in kerf.pieces]


def came_loose(
    cut: SectionCut,
    piece: Piece,
    kerf: Kerf,
    before: Surface,
    faces_with: Callable[[bool, Surface], BothFaces],
) -> Loose:
    """Return the line of a program that cuts a piece loose.

    Parameters
    ----------
    cut : SectionCut
        The program, at whose end the piece is loose on the thin surfaces.
    piece : Piece
        The piece.
    kerf : Kerf
        Of the section.
    before : Surface
        The cut face before the program.
    faces_with : callable
        Both faces with another surface on the side that is given first.
    """
    side, number = cut.face.is_front, kerf.pieces.index(piece)

    def is_joined(surface: Surface) -> bool:
        return joined(faces_with(side, surface), kerf)[number]

    path, done, surface = cut.path, 0, before.copy()
    after = before.copy()
    after.cut(path, cut.cutter)
    if is_joined(after):
        return Loose(cut, piece, None)
    # Between `done`, where it is joined, and `gone`, where it is not: halved until one motion is left.
    gone = len(path)
    while gone - done > 1:
        middle = (done + gone) // 2
        trial = surface.copy()
        trial.cut(path.take(slice(done, middle)), cut.cutter)
        if is_joined(trial):
            done, surface = middle, trial
        else:
            gone = middle
    return Loose(cut, piece, int(path.line[gone - 1]))
