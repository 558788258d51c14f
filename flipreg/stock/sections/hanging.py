"""Which wood of a section hangs together, and which of it is held.

Wood hangs together where cells share a side and some height. What is held is what the clamps of a setup stand on; where
it declares none that stand on wood, the piece that keeps most of the blank's border. Neither depends on what the job
says about its programs.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.labelled import Labelled
from flipreg.cut.thickness import BothFaces
from flipreg.job.layout import Layout
from flipreg.job.setup import Section
from flipreg.program.setup_face import SetupFace
from flipreg.stock.sections.section import SectionCuts

__all__ = ["Borders", "Hanging", "clamped", "hanging"]

Bools = NDArray[np.bool_]
Labels = NDArray[np.int32]
Box = tuple[float, float, float, float]

_WITHIN_MM = 1e-6
"""Grids are clipped to a section to within this; millimetres (chosen)."""
_LEAST_SHARE = 0.01
"""What keeps most of the border is no less than this share of all wood (chosen)."""


@dataclass(frozen=True, slots=True)
class Borders:
    """What lies beyond the four sides of a section's grid: left, right, near, far.

    Attributes
    ----------
    goes_on : four bools
        Whether uncut blank of the section lies beyond that side.
    meets : four bools
        Whether the section meets another one beyond that side, so that the blank has no edge there.
    beyond_mm : four boxes
        The blank beyond that side: xmin, ymin, xmax, ymax; the corners belong to near and far.
    """

    goes_on: tuple[bool, bool, bool, bool]
    meets: tuple[bool, bool, bool, bool]
    beyond_mm: tuple[Box, Box, Box, Box]

    @classmethod
    def of(cls, section: SectionCuts, layout: Layout) -> "Borders":
        """Return the borders of a section's grid."""
        grid = section.grid
        low_x, low_y, high_x, high_y = layout.section_box_mm(section.bend)
        first_x, first_y = grid.x_mm - grid.step_mm / 2, grid.y_mm - grid.step_mm / 2
        last_x, last_y = first_x + grid.step_mm * grid.shape[1], first_y + grid.step_mm * grid.shape[0]
        beyond = first_x - low_x, high_x - last_x, first_y - low_y, high_y - last_y
        left, right, near, far = (bool(distance > _WITHIN_MM) for distance in beyond)
        if section.bend is not None:
            is_far = section.bend.section is Section.FAR
            meets = (False, False, is_far, not is_far)
        else:
            meets = (False, False, layout.near is not None, layout.far is not None)
        boxes = (
            (low_x, first_y, first_x, last_y),
            (last_x, first_y, high_x, last_y),
            (low_x, low_y, high_x, first_y),
            (low_x, last_y, high_x, high_y),
        )
        return cls((left, right, near, far), meets, boxes)


@dataclass(frozen=True, slots=True, eq=False)
class Hanging:
    """The pieces of wood of a section at one time.

    Attributes
    ----------
    pieces : Labelled
        The pieces by number.
    cells : int array, shape (count + 1,)
        How many cells each piece has; of 0, how many have no wood.
    group : int array, shape (count + 1,)
        Of each piece the smallest number of those that hang together with it through wood beyond the grid.
    held : bool array, shape (count + 1,)
        Which pieces are held.
    goes_on : bool array, shape (count + 1,)
        Which pieces reach the line where the section meets another one.
    is_last_left : bool
        Whether next to nothing is left of the blank's border, so that the largest piece was taken as held.
    """

    pieces: Labelled
    cells: NDArray[np.intp]
    group: NDArray[np.intp]
    held: Bools
    goes_on: Bools
    is_last_left: bool

    @property
    def count(self) -> int:
        """How many pieces there are."""
        return self.pieces.count

    def weighed(self, numbers: Labels, grid: Grid, borders: Borders) -> tuple[float, tuple[float, float]]:
        """Return the area of pieces that are one, and its centre, the uncut wood beyond the grid included."""
        mine = np.isin(self.group, self.group[numbers])
        rows, columns = np.nonzero(self.pieces.named(np.flatnonzero(mine)))
        area = len(rows) * grid.cell_mm2
        centre = area * grid.centres_mm(rows, columns).mean(axis=0)
        for cells, goes_on, box in zip(self.pieces.sides(), borders.goes_on, borders.beyond_mm, strict=True):
            if goes_on and bool(np.isin(self.group[cells[cells > 0]], self.group[numbers]).any()):
                x_low, y_low, x_high, y_high = box
                more = (x_high - x_low) * (y_high - y_low)
                area += more
                centre = centre + more * 0.5 * np.array([x_low + x_high, y_low + y_high])
        return area, (float(centre[0]) / area, float(centre[1]) / area)

    def is_held_at(self, cells: Bools) -> bool:
        """Return whether any of some cells has wood that is held."""
        return bool((self.pieces.named(np.flatnonzero(self.held)) & cells).any())


def hanging(
    faces: BothFaces,
    borders: Borders,
    clamped_cells: Bools | None,
    off: Bools | None = None,
    without: Bools | None = None,
) -> Hanging:
    """Return the pieces of wood of a section, and which are held.

    Parameters
    ----------
    faces : BothFaces
        What is left.
    borders : Borders
        Of the section.
    clamped_cells : bool array, shape of the grid, or None
        Where clamps stand on it; None where none do.
    off : bool array, shape of the grid, optional
        Cells of pieces that have come loose: they are held no more.
    without : bool array, shape of the grid, optional
        Cells whose wood does not count.
    """
    pieces = faces.pieces(without)
    count, sides = pieces.count, pieces.sides()
    group = _through_beyond(sides, borders, count)
    # A piece's share of the blank's border, in cells: where the grid stops short of the border, of the border's line.
    share = np.zeros(count + 1)
    for cells, meets in zip(sides, borders.meets, strict=True):
        if not meets:
            share += np.bincount(cells, minlength=count + 1)
    total = np.bincount(group, weights=np.where(np.arange(count + 1) > 0, share, 0.0), minlength=count + 1)
    cells_each = pieces.cells
    size = np.bincount(group, weights=cells_each, minlength=count + 1)
    size[0] = 0.0
    if off is not None and bool(off.any()):
        gone = np.bincount(group[pieces.at(np.flatnonzero(off))], minlength=count + 1) > 0.5 * size
        size[gone], total[gone] = 0.0, 0.0
    held_group = np.zeros(count + 1, np.bool_)
    standing = np.empty(0, np.intp) if clamped_cells is None else pieces.under(clamped_cells)
    standing = standing[(standing > 0) & (size[group[standing]] > 0.0)]
    held_group[group[standing]] = True
    is_last_left = False
    if not len(standing) and count:
        most = int(total[1:].argmax()) + 1
        beyond = any(
            goes_on and bool((group[cells[cells > 0]] == most).any())
            for cells, goes_on in zip(sides, borders.goes_on, strict=True)
        )
        # Chips in the blank's corners hold nothing.
        is_last_left = not beyond and not (total[most] > 0.0 and size[most] > _LEAST_SHARE * size.sum())
        held_group[int(size.argmax()) if is_last_left else most] = True
    held = held_group[group]
    held[0] = False
    on_line = np.zeros(count + 1, np.bool_)
    for cells, meets in zip(sides, borders.meets, strict=True):
        if meets:
            on_line[cells] = True
    goes_on = np.zeros(count + 1, np.bool_)
    goes_on[group[on_line]] = True
    goes_on = goes_on[group]
    goes_on[0] = False
    return Hanging(pieces, cells_each, group, held, goes_on, is_last_left)


def clamped(face: SetupFace, section: SectionCuts, layout: Layout) -> Bools | None:
    """Return the cells of a section that a setup's clamps stand over; None where none stand on it.

    A clamp on wood beyond the grid stands for the nearest cells of the grid: the wood between is uncut.
    """
    grid = section.grid
    box = np.array(layout.section_box_mm(section.bend))
    cells = np.zeros(grid.shape, np.bool_)
    xs, ys = grid.xs_mm, grid.ys_mm
    for clamp in face.setup.clamps if face.bend == section.bend else ():
        corners = np.array([[x, y, 0.0] for x in clamp.x_mm for y in clamp.y_mm])
        there = face.seen_from_above.apply(corners)[:, :2]
        low, high = np.maximum(there.min(axis=0), box[:2]), np.minimum(there.max(axis=0), box[2:])
        if bool((low >= high).any()):
            continue
        columns, rows = (
            (at >= min(low[axis], at[-1]) - grid.step_mm / 2) & (at <= max(high[axis], at[0]) + grid.step_mm / 2)
            for axis, at in enumerate((xs, ys))
        )
        cells |= rows[:, np.newaxis] & columns
    return cells if bool(cells.any()) else None


def _through_beyond(sides: Sequence[Labels], borders: Borders, count: int) -> NDArray[np.intp]:
    """Return the groups of pieces that hang together through the uncut wood beyond the grid's sides."""
    beyond: list[set[int]] = [set() for _ in sides]
    for found, cells, goes_on in zip(beyond, sides, borders.goes_on, strict=True):
        if goes_on:
            found.update(np.unique(cells[cells > 0]).tolist())
    # Left and right meet near and far beyond the grid's corners.
    for one, other in ((0, 2), (0, 3), (1, 2), (1, 3)):
        if borders.goes_on[one] and borders.goes_on[other]:
            beyond[one] = beyond[other] = beyond[one] | beyond[other]
    group = np.arange(count + 1)
    changed = True
    while changed:
        changed = False
        for members in beyond:
            if members:
                rows = np.fromiter(members, np.intp)
                least = int(group[rows].min())
                wrong = np.isin(group, group[rows]) & (group != least)
                changed |= bool(wrong.any())
                group[wrong] = least
    return group
