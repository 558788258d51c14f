"""What the job file permits a program to do to the wood."""

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.job.setup import SetupProgram
from flipreg.stock.sections.section import SectionCut

__all__ = ["declared", "falls", "may_fall_at"]

Bools = NDArray[np.bool_]


def declared(cut: SectionCut) -> SetupProgram:
    """Return what the job file says of a program."""
    return next(named for named in cut.face.setup.programs if named.file == cut.program.name)


def falls(cut: SectionCut) -> NDArray[np.float64]:
    """Return the points in the pieces that a program may cut loose, shape (n, 2), in the frame of the section."""
    points = declared(cut).may_fall
    if not points:
        return np.empty((0, 2))
    return cut.face.seen_from_above.apply(np.column_stack([np.array(points), np.zeros(len(points))]))[:, :2]


def may_fall_at(cut: SectionCut, cells: Bools, grid: Grid) -> bool:
    """Return whether a program may cut loose the piece of some cells."""
    rows, columns, inside = grid.cells_at(falls(cut))
    return bool(cells[rows[inside], columns[inside]].any())
