"""What both faces leave between them: the thickness map, pieces, thin webs.

Each face's map comes from that face's own programs, with Z measured from its own face. The back's paths are moved
to the front's plane before their map is made, so that both maps have the same cell centres and nothing is
interpolated. Setups that lie tilted have no place here: their surface is no height over this plane.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.bands import bands
from flipreg.cut.grid import Grid
from flipreg.cut.labelled import Labelled, labelled

__all__ = ["LEAST_LEFT_MM", "BothFaces", "Web", "thinnest_web"]

Singles = NDArray[np.float32]
Bools = NDArray[np.bool_]

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

    def window(self, cells: tuple[slice, slice]) -> "BothFaces":
        """Return some rows and columns of them, of which there are some: views."""
        return BothFaces(self.grid.part(*cells), self.front_mm[cells], self.back_mm[cells], self.blank_mm)

    @property
    def left_mm(self) -> Singles:
        """Thickness of what is left, shape `grid.shape`; below 0 it says by how much cuts overlap."""
        return np.asarray(self.front_mm - self.back_mm, dtype=np.float32)

    @property
    def is_left(self) -> Bools:
        """Cells where more is left than `LEAST_LEFT_MM`."""
        return self._compared(np.greater, LEAST_LEFT_MM)

    def is_thinner(self, than_mm: float) -> Bools:
        """Return the cells where less is left than a thickness."""
        return self._compared(np.less, than_mm)

    def _compared(self, compare: np.ufunc, with_mm: float) -> Bools:
        """Return how the thickness of each cell compares, without a map of thicknesses."""
        found, limit = np.empty(self.grid.shape, np.bool_), np.float32(with_mm)
        for band in bands(found.shape):
            compare(self.front_mm[band] - self.back_mm[band], limit, out=found[band])
        return found

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

    def pieces(self, without: Bools | None = None) -> Labelled:
        """Return the pieces into which what is left falls, without some cells, shape `grid.shape`.

        Cells hang together where the wood of both shares some height: a floor cut from one face doesn't hold a floor
        beside it that starts where the first one ends.
        """
        rows, least = self.grid.shape[0], np.float32(LEAST_LEFT_MM)

        def look(band: slice) -> tuple[Bools, Bools, Bools]:
            # With the row after the band, where there is one.
            after = slice(band.start, min(band.stop, rows - 1) + 1)
            top, bottom = self.front_mm[after], self.back_mm[after]
            left = top - bottom > least
            if without is not None:
                left &= ~without[after]
            shared = np.minimum(top[1:], top[:-1])
            shared -= np.maximum(bottom[1:], bottom[:-1])
            apart = shared <= least
            apart &= left[1:]
            apart &= left[:-1]
            size = band.stop - band.start
            top, bottom = top[:size], bottom[:size]
            shared = np.minimum(top[:, 1:], top[:, :-1])
            shared -= np.maximum(bottom[:, 1:], bottom[:, :-1])
            return left[:size], shared > least, apart

        return labelled(self.grid.shape, look)


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
    least_mm, row, column = np.inf, 0, 0
    for band in bands(cells.shape):
        left = np.where(cells[band], faces.front_mm[band] - faces.back_mm[band], np.float32(np.inf))
        in_band, at = np.unravel_index(int(left.argmin()), left.shape)
        if left[in_band, at] < least_mm:
            least_mm, row, column = float(left[in_band, at]), band.start + int(in_band), int(at)
    place = faces.grid.centres_mm(np.array([row]), np.array([column]))[0]
    return Web(
        left_mm=least_mm,
        at_mm=(float(place[0]), float(place[1])),
        front_mm=float(faces.front_mm[row, column]),
        back_mm=float(faces.back_mm[row, column]),
    )
