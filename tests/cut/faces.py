"""What programs of both faces leave, for tests: the maps of both sides, laid over each other."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.heightmap import height_map_of
from flipreg.cut.labelled import label
from flipreg.cut.regions import Region, regions_of
from flipreg.cut.thickness import BothFaces
from flipreg.cut.tool import Cutter
from flipreg.geometry.isometry import Isometry
from flipreg.path import Path

__all__ = ["both_faces", "regions"]

Cuts = Sequence[tuple[Path, Cutter]]


def both_faces(
    front: Cuts,
    back: Cuts,
    front_from_back: Isometry,
    grid: Grid,
    *,
    blank_mm: float,
    front_top_mm: float = 0.0,
    back_top_mm: float = 0.0,
    grown_mm: float = 0.0,
) -> BothFaces:
    """Return what is left of a blank; cuts in the frame of their own programs, tops the Z of the faces there."""
    flat = Isometry(
        front_from_back.xx,
        front_from_back.xy,
        front_from_back.yx,
        front_from_back.yy,
        front_from_back.dx_mm,
        front_from_back.dy_mm,
    )
    over = [(path.transformed(flat), cutter.grown(grown_mm)) for path, cutter in back]
    under = [(path, cutter.grown(grown_mm)) for path, cutter in front]
    top = height_map_of(under, grid, top_mm=front_top_mm)
    bottom = height_map_of(over, grid, top_mm=back_top_mm)
    return BothFaces(grid, top - np.float32(front_top_mm), np.float32(back_top_mm - blank_mm) - bottom, blank_mm)


def regions(faces: BothFaces, cells: NDArray[np.bool_]) -> tuple[Region, ...]:
    """Return the regions that some cells make, with the thickness left as their values."""
    return regions_of(label(cells), faces.left_mm, faces.grid)
