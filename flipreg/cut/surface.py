"""One face while it is cut, motion after motion."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.canvas import Canvas
from flipreg.cut.grid import Grid
from flipreg.cut.level import fill
from flipreg.cut.pieces import Pieces, pieces_of, split
from flipreg.cut.stamp import stamp
from flipreg.cut.tool import Cutter
from flipreg.geometry.chords import flatten
from flipreg.path import Compensation, Path

__all__ = ["CHORD_MM", "Removed", "Surface", "chords", "is_known"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

CHORD_MM = 0.002
"""Largest distance between an arc and its chords, in millimetres (chosen), far below any tolerance in wood."""

_MOTIONS = 65_536
"""Motions worked on at a time, so that memory does not grow with the program (chosen)."""
_LONGEST_MM = 12.0
"""The longest piece in millimetres, however large the cutter, because the map's margin grows with the pieces
(chosen)."""
_FEWEST_CELLS = 8.0
"""Pieces may always be this many cells long (chosen): a fine cutter on a coarse grid would make very many pieces."""


@dataclass(frozen=True, slots=True)
class Removed:
    """What a motion takes away.

    Attributes
    ----------
    depth_mm : float
        By how much it lowers the surface at most, 0 where it goes through air only.
    at_mm : (x, y)
        The centre of the cell with that depth; of any cell it comes near, where it takes nothing.
    """

    depth_mm: float
    at_mm: tuple[float, float]


class Surface:
    """Heights at the centres of a grid, lowered by what runs over them.

    Parameters
    ----------
    grid : Grid
        Where the heights are wanted.
    cutters : sequence of Cutter
        All that will cut here: the margin around the grid is made for them.
    top_mm : float or float32 array, shape `grid.shape`
        Z of the face before it is cut, or the map that earlier cuts left.
    chord_mm : float
        How far an arc may stand off its chords.
    zeros : callable, optional
        Makes the memory, float32 of a shape; without it, numpy does.

    Raises
    ------
    ValueError
        If the face is not finite, or the map of earlier cuts has another shape.
    """

    def __init__(
        self,
        grid: Grid,
        cutters: Sequence[Cutter],
        *,
        top_mm: float | Singles,
        chord_mm: float = CHORD_MM,
        zeros: Callable[[tuple[int, int]], Singles] | None = None,
    ) -> None:
        top = np.asarray(top_mm, dtype=np.float32)
        if top.shape not in ((), grid.shape) or not bool(np.isfinite(top).all()):
            raise ValueError(f"the face needs one finite Z, or a map of shape {grid.shape}, got shape {top.shape}")
        self.grid = grid
        self._highest = float(top.max())
        self._chord_mm = chord_mm
        self._margin = max((_margin(cutter, grid) for cutter in cutters), default=0)
        rows, columns = grid.shape[0] + 2 * self._margin, grid.shape[1] + 2 * self._margin
        # Zeros take no time until they are written over.
        self._padded = np.zeros((rows, columns), np.float32) if zeros is None else zeros((rows, columns))
        if self._highest != 0.0:
            self._padded.fill(self._highest)
        if top.shape:
            self.heights_mm[...] = top

    @property
    def heights_mm(self) -> Singles:
        """The heights as they are, shape `grid.shape`: a view of a larger array that later cuts change."""
        inner = slice(self._margin, self._margin + self.grid.shape[0])
        return self._padded[inner, self._margin : self._margin + self.grid.shape[1]]

    def copy(self) -> "Surface":
        """Return a surface of its own with the same heights."""
        other = object.__new__(Surface)
        other.grid, other._highest, other._chord_mm = self.grid, self._highest, self._chord_mm
        other._margin, other._padded = self._margin, self._padded.copy()
        return other

    def cut(self, path: Path, cutter: Cutter) -> None:
        """Lower the surface to what a path leaves of it.

        Motions with a coordinate that is not known, and motions under cutter compensation, are left out.
        """
        for start, end in chords(path, self._chord_mm):
            self.sweep(start, end, cutter)

    def sweep(self, start_mm: Floats, end_mm: Floats, cutter: Cutter) -> None:
        """Lower the surface to what straight motions leave of it; ends of shape (n, 3), known, in order.

        Raises
        ------
        ValueError
            If the cutter is wider than all that the surface was made for: its margin would not do.
        """
        if _margin(cutter, self.grid) > self._margin:
            raise ValueError(f"the surface was not made for a cutter of {2 * cutter.radius_mm} mm")
        pieces = self._pieces(start_mm, end_mm, cutter)
        if len(pieces):
            shift = self._margin * self.grid.step_mm
            self._lower(self._padded, self.grid.x_mm - shift, self.grid.y_mm - shift, pieces, cutter)

    def removed(self, path: Path, cutter: Cutter) -> Removed:
        """Return what a path would take away, without cutting it; for a few motions that stay close together."""
        deepest = Removed(0.0, (self.grid.x_mm, self.grid.y_mm))
        for start, end in chords(path, self._chord_mm):
            pieces = self._pieces(start, end, cutter)
            if len(pieces):
                found = self._removed(pieces, cutter)
                deepest = max(deepest, found, key=lambda one: one.depth_mm)
        return deepest

    def removed_at(self, at_mm: Floats, cutter: Cutter) -> Removed:
        """Return what a cutter takes away where it stands still, at a point of shape (1, 3)."""
        pieces = self._pieces(at_mm, at_mm, cutter)
        return self._removed(pieces, cutter) if len(pieces) else Removed(0.0, (self.grid.x_mm, self.grid.y_mm))

    def _removed(self, pieces: Pieces, cutter: Cutter) -> Removed:
        grid, margin = self.grid, _margin(cutter, self.grid)
        ends = np.stack(
            [pieces.x, pieces.y, pieces.x + pieces.length * pieces.dx, pieces.y + pieces.length * pieces.dy]
        )
        low_x, high_x = _cells(ends[0::2], grid.x_mm, grid.step_mm)
        low_y, high_y = _cells(ends[1::2], grid.y_mm, grid.step_mm)
        low_x, high_x, low_y, high_y = low_x - margin, high_x + margin, low_y - margin, high_y + margin
        before = np.full((high_y - low_y + 1, high_x - low_x + 1), np.float32(self._highest))
        # Rows and columns of the grid that the window shares.
        rows = slice(max(low_y, 0), min(high_y + 1, grid.shape[0]))
        columns = slice(max(low_x, 0), min(high_x + 1, grid.shape[1]))
        inner = (slice(rows.start - low_y, rows.stop - low_y), slice(columns.start - low_x, columns.stop - low_x))
        before[inner] = self.heights_mm[rows, columns]
        after = before.copy()
        self._lower(after, grid.x_mm + low_x * grid.step_mm, grid.y_mm + low_y * grid.step_mm, pieces, cutter)
        taken = (before - after)[inner]
        if not taken.size:
            return Removed(0.0, (grid.x_mm, grid.y_mm))
        row, column = np.unravel_index(int(taken.argmax()), taken.shape)
        x_mm = grid.x_mm + (columns.start + int(column)) * grid.step_mm
        return Removed(float(taken[row, column]), (x_mm, grid.y_mm + (rows.start + int(row)) * grid.step_mm))

    def _pieces(self, start_mm: Floats, end_mm: Floats, cutter: Cutter) -> Pieces:
        return _near(pieces_of(start_mm, end_mm, cutter), self.grid, cutter, self._highest)

    def _lower(self, heights: Singles, x_mm: float, y_mm: float, pieces: Pieces, cutter: Cutter) -> None:
        """Lower a map with a margin, its first centre at (x, y), to what pieces near the grid leave."""
        canvas = Canvas(heights.reshape(-1), x_mm, y_mm, self.grid.step_mm, heights.shape[1])
        filled = fill(canvas, pieces, cutter)
        rest = pieces.take(~filled) if bool(filled.any()) else pieces
        short = _near(split(rest, cutter, _longest(cutter, self.grid)), self.grid, cutter, self._highest)
        if len(short):
            stamp(canvas, short, cutter)


def is_known(path: Path) -> NDArray[np.bool_]:
    """Return which motions can be cut: those whose ends are known, without cutter compensation; shape (n,)."""
    finite = np.isfinite(path.start).all(axis=1) & np.isfinite(path.end).all(axis=1)
    is_plain: NDArray[np.bool_] = np.equal(path.compensation, Compensation.OFF)
    return np.logical_and(finite, is_plain)


def _cells(at_mm: Floats, first_mm: float, step_mm: float) -> tuple[int, int]:
    """Return the numbers of the lowest and the highest cell that positions lie in."""
    return int(np.floor((at_mm.min() - first_mm) / step_mm)), int(np.ceil((at_mm.max() - first_mm) / step_mm))


def chords(path: Path, chord_mm: float) -> Iterator[tuple[Floats, Floats]]:
    """Yield the known motions as straight ones, starts and ends of shape (n, 3), in bounded portions."""
    for begin in range(0, len(path), _MOTIONS):
        part = path.take(slice(begin, begin + _MOTIONS))
        known = is_known(part)
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
