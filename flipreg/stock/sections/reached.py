"""What setups of other sections may cut of one: at a slant, where there is no height map."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import acos, sin, tan

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.surface import CHORD_MM, Surface, chords
from flipreg.cut.tool import Cutter
from flipreg.job.bend import Bend
from flipreg.job.layout import Layout
from flipreg.program.setup_face import SetupFace

__all__ = ["reached", "seen_over"]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_FAR_MM = 200.0
"""A slanting cutter that may reach further than this is not looked at closely (chosen)."""
_STRAIGHT = 1e-9
"""A way goes straight on if it turns by less than this angle; radians (chosen): far below what rounding does to it."""
_PIECE_MM = 10.0
"""Ways at a slant are looked at in pieces of this length (chosen)."""


def reached(
    layout: Layout, bend: Bend | None, others: Sequence[SetupFace], grid: Grid, *, fed_only: bool = False
) -> Bools:
    """Return the cells of a section that setups of other sections may cut, shape `grid.shape`; erring to too many.

    Parameters
    ----------
    layout : Layout
        Of the job.
    bend : Bend or None
        Of the section.
    others : sequence of SetupFace
        Setups in which another section lies flat.
    grid : Grid
        Cells of the section.
    fed_only : bool
        Whether traverses are left out.
    """
    cells = np.zeros(grid.shape, np.bool_)
    for face in others:
        section_from_program = ~layout.blank_from_section(bend) @ face.blank_from_program
        lean = acos(min(1.0, abs(float(section_from_program.matrix[2, 2]))))
        for _, program, tool in face.runs():
            leaning = _Leaning(tool.diameter_mm / 2, lean, face.is_front, layout.thickness_mm)
            path = program.path.take(program.path.is_cut) if fed_only else program.path
            for chord in chords(path, CHORD_MM):
                start, end = (section_from_program.apply(part) for part in chord)
                # A piece touches only where the whole motion does.
                whole, _ = leaning.touches(start, end, grid)
                start, end = _short(start[whole], end[whole])
                touches, reach_mm = leaning.touches(start, end, grid)
                if not bool(touches.any()):
                    continue
                most_mm = float(reach_mm[touches].max())
                if not most_mm <= _FAR_MM:
                    return np.ones(grid.shape, np.bool_)
                cells |= seen_over(grid, start[touches], end[touches], most_mm + grid.reach_mm)
    return cells


@dataclass(frozen=True, slots=True)
class _Leaning:
    """A cutter over a section in which it does not stand upright.

    Attributes
    ----------
    radius_mm : float
        Its radius.
    lean : float
        By how much it leans over, in radians.
    front_is_up : bool
        Which face of the section it comes from.
    thickness_mm : float
        Of the blank.
    """

    radius_mm: float
    lean: float
    front_is_up: bool
    thickness_mm: float

    def touches(self, start_mm: Floats, end_mm: Floats, grid: Grid) -> tuple[Bools, Floats]:
        """Return which motions may touch a grid's cells, and how far the cutter reaches around each, in millimetres."""
        # Heights over the face of the section that is up, wherever the section lying flat has its own.
        height = start_mm[:, 2], end_mm[:, 2]
        low = np.minimum(*height) if self.front_is_up else -self.thickness_mm - np.maximum(*height)
        # Above its tip the cutter leans over by this much before it leaves the section's upper face.
        reach_mm = self.radius_mm + np.maximum(0.0, -low) * tan(self.lean)
        below = low < self.radius_mm * sin(self.lean)
        return below & _comes_near(start_mm, end_mm, grid, reach_mm), reach_mm


def _short(start_mm: Floats, end_mm: Floats) -> tuple[Floats, Floats]:
    """Return straight motions in pieces of which each is about as deep at both ends."""
    count = np.maximum(1, np.ceil(np.linalg.norm(end_mm - start_mm, axis=1) / _PIECE_MM)).astype(np.intp)
    row = np.repeat(np.arange(len(count)), count)
    number = np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)
    begin, stop = (number / count[row])[:, np.newaxis], ((number + 1) / count[row])[:, np.newaxis]
    way = (end_mm - start_mm)[row]
    return start_mm[row] + begin * way, start_mm[row] + stop * way


def _comes_near(start_mm: Floats, end_mm: Floats, grid: Grid, reach_mm: Floats) -> Bools:
    """Return the motions whose ends, or what lies between, may be within a reach of a cell's centre."""
    last = np.array([grid.shape[1] - 1, grid.shape[0] - 1]) * grid.step_mm
    first = np.array([grid.x_mm, grid.y_mm])
    around = (reach_mm + grid.reach_mm)[:, np.newaxis]
    low, high = np.minimum(start_mm, end_mm)[:, :2] - around, np.maximum(start_mm, end_mm)[:, :2] + around
    return np.logical_and((low <= first + last).all(axis=1), (high >= first).all(axis=1))


def seen_over(grid: Grid, start_mm: Floats, end_mm: Floats, radius_mm: float) -> Bools:
    """Return the cells within a radius of straight ways seen from above, whatever their height."""
    cells = np.zeros(grid.shape, np.bool_)
    if not len(start_mm):
        return cells
    ends = np.concatenate([start_mm[:, :2], end_mm[:, :2]])
    window = grid.window(ends.min(axis=0) - radius_mm, ends.max(axis=0) + radius_mm)
    if not cells[window].size:
        return cells
    flat = Cutter.flat(2.0 * radius_mm)
    plan = Surface(grid.part(*window), [flat], top_mm=0.0)
    start_mm, end_mm = _straightened(start_mm, end_mm)
    below = np.full(len(start_mm), -1.0)
    plan.sweep(np.column_stack([start_mm, below]), np.column_stack([end_mm, below]), flat)
    cells[window] = plan.heights_mm < 0.0
    return cells


def _straightened(start_mm: Floats, end_mm: Floats) -> tuple[Floats, Floats]:
    """Return ways in the plane with those that go straight on taken together, shape (n, 2) each."""
    start_mm, end_mm = start_mm[:, :2], end_mm[:, :2]
    way = end_mm - start_mm
    one, other = way[:-1], way[1:]
    turn = one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
    ahead = (one * other).sum(axis=1)
    goes_on = (end_mm[:-1] == start_mm[1:]).all(axis=1) & (ahead > 0.0) & (np.abs(turn) <= _STRAIGHT * ahead)
    return start_mm[np.concatenate([[True], ~goes_on])], end_mm[np.concatenate([~goes_on, [True]])]
