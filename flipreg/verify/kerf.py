"""Where the profile programs go round, and the pieces that they go round."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.regions import label
from flipreg.cut.surface import Surface
from flipreg.job.layout import Layout
from flipreg.job.setup import Section
from flipreg.path import Path
from flipreg.verify.below import below_face
from flipreg.verify.section import SectionCut, SectionCuts

__all__ = ["Kerf", "Piece", "kerf_of", "profile_rows"]

Bools = NDArray[np.bool_]
Singles = NDArray[np.float32]

_LEAST_TOOLS = 4.0
"""A piece is larger than this many squares of the profile cutter's diameter; smaller ones are chips. Ours."""


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """A piece of wood that the kerf goes round, as far as the section goes.

    Attributes
    ----------
    cells : bool array, shape of the grid
        Its cells.
    at_mm : (x, y)
        Mean of their centres.
    area_mm2 : float
        Their area.
    goes_on : bool
        Whether it reaches the line where this section meets another one, and goes on there.
    """

    cells: Bools
    at_mm: tuple[float, float]
    area_mm2: float
    goes_on: bool


@dataclass(frozen=True, slots=True, eq=False)
class Kerf:
    """The band that the profile cutters pass, whatever their depth there.

    Attributes
    ----------
    front, back : float32 arrays, shape of the grid
        Z that each face's profile programs alone leave, from their own face: below 0 where they pass.
    cells : bool array, shape of the grid
        Where the profile cutter of either face passes.
    blank : bool array, shape of the grid
        The wood outside it that reaches the edge of what is looked at.
    part : bool array, shape of the grid
        The cells of all pieces.
    pieces : tuple of Piece
        What it goes round, the largest first.
    """

    front: Singles
    back: Singles
    cells: Bools
    blank: Bools
    part: Bools
    pieces: tuple[Piece, ...]


def kerf_of(section: SectionCuts, layout: Layout) -> Kerf | None:
    """Return the kerf of a section; None where no program is named as a profile."""
    if not any(cut.is_profile for cut in section.cuts):
        return None
    front, back = (_passed(section.of(is_front=is_front), section.grid) for is_front in (True, False))
    passed = np.minimum(front, back) < 0.0
    labels, count = label(~passed)
    limits = _limits(section, layout)
    outer = np.concatenate([labels[:, 0], labels[:, -1], *(labels[edge] for edge in (0, -1) if edge not in limits)])
    at_limit = np.concatenate([labels[edge] for edge in limits]) if limits else np.empty(0, np.int32)
    cells = np.bincount(labels.ravel(), minlength=count + 1)
    widest_mm = max(cut.tool.diameter_mm for cut in section.cuts if cut.is_profile)
    pieces = []
    for number in np.flatnonzero(cells * section.grid.cell_mm2 > _LEAST_TOOLS * widest_mm**2).tolist():
        if number == 0 or number in outer:
            continue
        mine = labels == number
        rows, columns = np.nonzero(mine)
        x_mm, y_mm = section.grid.centres_mm(rows, columns).mean(axis=0).tolist()
        area_mm2 = float(cells[number]) * section.grid.cell_mm2
        pieces.append(Piece(mine, (x_mm, y_mm), area_mm2, bool((at_limit == number).any())))
    pieces.sort(key=lambda piece: -piece.area_mm2)
    outer = np.unique(outer[outer > 0])
    part = np.zeros_like(passed)
    for piece in pieces:
        part |= piece.cells
    return Kerf(front, back, passed, np.isin(labels, outer), part, tuple(pieces))


def profile_rows(path: Path) -> NDArray[np.bool_]:
    """Return the motions of a profile program that are fed below the face, shape (n,)."""
    return np.logical_and(path.is_cut, below_face(path))


def _passed(cuts: Sequence[SectionCut], grid: Grid) -> Singles:
    profiles = [cut for cut in cuts if cut.is_profile]
    surface = Surface(grid, [cut.cutter for cut in profiles], top_mm=0.0)
    for cut in profiles:
        surface.cut(cut.path.take(profile_rows(cut.path)), cut.cutter)
    return surface.heights_mm


def _limits(section: SectionCuts, layout: Layout) -> list[int]:
    """Return the rows of the grid, 0 and -1, beyond which the wood goes on as another section."""
    if section.bend is not None:
        return [0] if section.bend.section is Section.FAR else [-1]
    return [edge for edge, bend in ((0, layout.near), (-1, layout.far)) if bend is not None]
