"""What both faces leave between them: the thickness map, thin webs, breakthroughs, skins.

Each face's map comes from that face's own programs, with Z measured from its own face. The back's paths are moved
to the front's plane before their map is made, so that both maps have the same cell centres and nothing is
interpolated. Setups that lie tilted have no place here: their surface is no height over this plane.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.bands import bands
from flipreg.cut.grid import Grid
from flipreg.cut.heightmap import height_map_of
from flipreg.cut.regions import Region, label, regions_of
from flipreg.cut.surface import CHORD_MM
from flipreg.cut.tool import Cutter
from flipreg.geometry.isometry import Isometry
from flipreg.path import Path

__all__ = [
    "LEAST_LEFT_MM",
    "BothFaces",
    "Web",
    "both_faces",
    "breakthroughs",
    "skins",
    "thinnest_web",
    "through_depth_mm",
]

Singles = NDArray[np.float32]
Bools = NDArray[np.bool_]

Cuts = Sequence[tuple[Path, Cutter]]

LEAST_LEFT_MM = 2e-4
"""Less wood than this counts as none: the maps are right to 1e-4 mm, and rounding leaves less where cuts just meet."""


@dataclass(frozen=True, slots=True, eq=False)
class BothFaces:
    """The two surfaces of what is left, in one frame: that of the front's grid, Z from the front face.

    Attributes
    ----------
    grid : Grid
        Where the cells lie.
    front_mm, back_mm : float32, shape `grid.shape`
        Z of the surface that the front's cuts leave (0 and below) and of the one that the back's leave (minus the
        thickness of the blank and above). A front below the back means that nothing is left there.
    blank_mm : float
        Thickness of the blank.
    """

    grid: Grid
    front_mm: Singles
    back_mm: Singles
    blank_mm: float

    @property
    def left_mm(self) -> Singles:
        """Thickness of what is left, shape `grid.shape`; below 0 it says by how much cuts overlap."""
        return np.asarray(self.front_mm - self.back_mm, dtype=np.float32)

    @property
    def is_left(self) -> Bools:
        """Cells where more is left than `LEAST_LEFT_MM`."""
        left, least = np.empty(self.grid.shape, np.bool_), np.float32(LEAST_LEFT_MM)
        for band in bands(left.shape):
            np.greater(self.front_mm[band] - self.back_mm[band], least, out=left[band])
        return left

    @property
    def is_through(self) -> Bools:
        """Cells where the cuts of one face go through by themselves, to within `LEAST_LEFT_MM`."""
        deepest, highest = np.float32(LEAST_LEFT_MM - self.blank_mm), np.float32(-LEAST_LEFT_MM)
        return np.logical_or(self.front_mm <= deepest, self.back_mm >= highest)

    def joints(self) -> tuple[Bools, Bools]:
        """Return which neighbours in a row and in a column share more height than `LEAST_LEFT_MM`.

        Shapes (rows, columns - 1) and (rows - 1, columns), as `flipreg.cut.regions.label` takes them.
        """
        rows, columns = self.grid.shape
        in_row, in_column = np.empty((rows, columns - 1), np.bool_), np.empty((rows - 1, columns), np.bool_)
        least = np.float32(LEAST_LEFT_MM)
        for band in bands(self.grid.shape):
            top, bottom = self.front_mm[band], self.back_mm[band]
            shared = np.minimum(top[:, 1:], top[:, :-1])
            shared -= np.maximum(bottom[:, 1:], bottom[:, :-1])
            np.greater(shared, least, out=in_row[band])
            # With the row after the band, where there is one.
            after = slice(band.start, min(band.stop, rows - 1) + 1)
            top, bottom = self.front_mm[after], self.back_mm[after]
            shared = np.minimum(top[1:], top[:-1])
            shared -= np.maximum(bottom[1:], bottom[:-1])
            np.greater(shared, least, out=in_column[band])
        return in_row, in_column

    def pieces(self) -> tuple[NDArray[np.int32], int]:
        """Return the numbers of the pieces into which what is left falls, and how many they are.

        Cells hang together where the wood of both shares some height: a floor cut from one face doesn't hold a floor
        beside it that starts where the first one ends.
        """
        joined_x, joined_y = self.joints()
        return label(self.is_left, joined_x=joined_x, joined_y=joined_y)


@dataclass(frozen=True, slots=True)
class Web:
    """The thinnest place.

    Attributes
    ----------
    left_mm : float
        What is left there.
    at_mm : (x, y)
        Centre of its cell.
    front_mm, back_mm : float
        Z of the two surfaces there.
    """

    left_mm: float
    at_mm: tuple[float, float]
    front_mm: float
    back_mm: float


def both_faces(  # noqa: PLR0913 - two faces, each with cuts and a zero
    front: Cuts,
    back: Cuts,
    front_from_back: Isometry,
    grid: Grid,
    *,
    blank_mm: float,
    front_top_mm: float = 0.0,
    back_top_mm: float = 0.0,
    grown_mm: float = 0.0,
    chord_mm: float = CHORD_MM,
) -> BothFaces:
    """Return what the programs of both faces leave.

    Parameters
    ----------
    front, back : sequence of (Path, Cutter)
        The cuts of each face, in the frame of its own programs. Motions that are not known are left out; ask
        `flipreg.cut.heightmap.undetermined`.
    front_from_back : Isometry
        Maps the back's plane to the front's, as seen from the front: a flip, determinant -1. Its Z is not used.
    grid : Grid
        Cells, in the front's frame.
    blank_mm : float
        Thickness of the blank, over 0.
    front_top_mm, back_top_mm : float
        Z of the face in the programs of each face.
    grown_mm : float
        By how much all cutters are grown sideways. With `grid.reach_mm + chord_mm` the thickness is nowhere more
        than the least in the cell: the side to be on for thin webs and for what holds.
    chord_mm : float
        How far arcs may stand off their chords.

    Returns
    -------
    BothFaces
        In the front's frame, Z from the front face.

    Raises
    ------
    ValueError
        If the blank has no thickness, or the isometry is no flip.
    """
    if not blank_mm > 0.0:
        raise ValueError(f"a blank has a thickness over 0 mm, got {blank_mm}")
    if front_from_back.determinant != -1:
        raise ValueError("the back is seen from its own side: the isometry to the front's plane mirrors")
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
    top = height_map_of(under, grid, top_mm=front_top_mm, chord_mm=chord_mm)
    bottom = height_map_of(over, grid, top_mm=back_top_mm, chord_mm=chord_mm)
    return BothFaces(grid, top - np.float32(front_top_mm), np.float32(back_top_mm - blank_mm) - bottom, blank_mm)


def breakthroughs(faces: BothFaces, *, meant: Bools | None = None) -> tuple[Region, ...]:
    """Return the regions where cuts from both faces meet although neither goes through.

    Parameters
    ----------
    faces : BothFaces
        The two surfaces.
    meant : bool array, shape `grid.shape`, optional
        Cells where cuts are meant to meet: profiles cut half from each face.

    Returns
    -------
    tuple of Region
        Their values are the thickness left, `LEAST_LEFT_MM` and below.
    """
    met = ~faces.is_left & ~faces.is_through
    labels, count = label(met if meant is None else met & ~meant)
    return regions_of(labels, count, faces.left_mm, faces.grid)


def skins(faces: BothFaces, meant: Bools) -> tuple[Region, ...]:
    """Return the regions where cuts are meant to go through and something is left.

    Parameters
    ----------
    faces : BothFaces
        The two surfaces.
    meant : bool array, shape `grid.shape`
        Cells of the through cuts, without their tabs.

    Returns
    -------
    tuple of Region
        Their values are the thickness left, over `LEAST_LEFT_MM`.
    """
    labels, count = label(faces.is_left & meant)
    return regions_of(labels, count, faces.left_mm, faces.grid)


def thinnest_web(faces: BothFaces, *, where: Bools | None = None) -> Web | None:
    """Return the thinnest place, None where no cell is asked about.

    Parameters
    ----------
    faces : BothFaces
        The two surfaces; make them with grown cutters for a thickness that is nowhere less.
    where : bool array, shape `grid.shape`, optional
        Cells that are asked about, the part without its tabs, say; if nothing is left in one of them, that is the
        thinnest. Without it, all cells where something is left.
    """
    cells = faces.is_left if where is None else where
    if not bool(cells.any()):
        return None
    left = np.where(cells, faces.left_mm, np.float32(np.inf))
    row, column = np.unravel_index(int(left.argmin()), left.shape)
    place = faces.grid.centres_mm(np.array([row]), np.array([column]))[0]
    return Web(
        left_mm=float(left[row, column]),
        at_mm=(float(place[0]), float(place[1])),
        front_mm=float(faces.front_mm[row, column]),
        back_mm=float(faces.back_mm[row, column]),
    )


def through_depth_mm(faces: BothFaces) -> tuple[float, float]:
    """Return how deep the front's and the back's cuts go below the far face, in millimetres, 0 where they don't.

    That is how deep the spoilboard is cut, if the blank lies on it.
    """
    front = max(0.0, -faces.blank_mm - float(faces.front_mm.min()))
    return front, max(0.0, float(faces.back_mm.max()))
