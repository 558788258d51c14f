"""Traverses of a setup through wood of a section that does not lie flat in it.

Where the sections lean towards the face that is up, the other one rises beside the section that lies flat, and a
traverse that is high enough over that runs into it. Points of the slanting cutter's lower surface are compared with
what is left of the other section. What has been cut there at a slant nobody knows, so cells that such cuts may reach
are left out.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flipreg.cut.grid import Grid
from flipreg.cut.surface import is_known
from flipreg.cut.thickness import BothFaces
from flipreg.cut.tool import Cutter
from flipreg.job.bend import Bend
from flipreg.job.layout import Layout
from flipreg.program.setup_face import SetupFace
from flipreg.stock.sections.reached import reached
from flipreg.stock.sections.section import SectionCut, section_name

__all__ = ["Slant", "plan_of", "slant_of"]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Left = Callable[[], BothFaces]

_DEEP_MM = 0.05
"""Wood that is less deep than this is no find; millimetres (chosen)."""
_EVERY_MM = 0.5
"""Distance of the places along a way that are looked at (chosen)."""
_ROWS = 8
"""Motions looked at at a time, so that memory does not grow with their number (chosen)."""
_CELL_MM = 1.0
"""Cells of the plan of what may have been cut at a slant (chosen)."""
_TURN = np.arange(0.0, 2.0 * np.pi, np.pi / 8)


@dataclass(frozen=True, slots=True)
class Slant:
    """Traverses of one program that run into another section.

    Attributes
    ----------
    cut : SectionCut
        The program.
    line : int
        Line of the first such traverse.
    count : int
        How many there are.
    section : str
        The section that they run into.
    depth_mm : float
        How deep the first one goes below that section's surface, at most.
    at_mm : (x, y)
        Where, in that section's frame.
    """

    cut: SectionCut
    line: int
    count: int
    section: str
    depth_mm: float
    at_mm: tuple[float, float]


def slant_of(
    cut: SectionCut, bend: Bend | None, left: Left | None, layout: Layout, setups: Sequence[SetupFace]
) -> Slant | None:
    """Return the traverses of a program that run into a section that does not lie flat; None without any.

    Parameters
    ----------
    cut : SectionCut
        The program.
    bend : Bend or None
        Of the other section.
    left : callable or None
        Gives what is left of it before the program, and is asked only if something comes near; None where nothing is
        cut of it.
    layout : Layout
        Of the job.
    setups : sequence of SetupFace
        All setups of the job, for what they may have cut there at a slant.
    """
    found = _points_in_wood(cut, bend, left, layout)
    if not len(found):
        return None
    plan = plan_of(found[:, 1:3])
    others = [face for face in setups if face.bend != bend]
    slanted = reached(layout, bend, others, plan, fed_only=True)
    row, column, _ = plan.cells_at(found[:, 1:3])
    found = found[~slanted[row, column]]
    if not len(found):
        return None
    first = int(found[:, 0].min())
    mine = found[found[:, 0] == first]
    _, x_mm, y_mm, depth_mm = mine[mine[:, 3].argmax()].tolist()
    count = len(np.unique(found[:, 0]))
    return Slant(cut, int(cut.path.line[first]), count, section_name(bend), depth_mm, (x_mm, y_mm))


def plan_of(points_mm: Floats) -> Grid:
    """Return cells of a millimetre around points, shape (n, 2): each lies in one, however its place is rounded."""
    low, high = points_mm.min(axis=0) - _CELL_MM, points_mm.max(axis=0) + _CELL_MM
    return Grid.covering((float(low[0]), float(low[1])), (float(high[0]), float(high[1])), _CELL_MM)


def _points_in_wood(cut: SectionCut, bend: Bend | None, left: Left | None, layout: Layout) -> Floats:
    """Return points of a cutter that are in another section's wood: row of the path, x, y, depth; shape (n, 4)."""
    up = 1.0 if cut.face.is_front else -1.0
    other_from_own = ~layout.blank_from_section(bend) @ layout.blank_from_section(cut.face.bend)
    base_mm = 0.0 if cut.face.is_front else -layout.thickness_mm
    turned, lift = np.array([1.0, 1.0, up]), np.array([0.0, 0.0, base_mm])
    path = cut.path
    rows = np.flatnonzero(is_known(path) & ~path.is_cut)
    start, end = (other_from_own.apply(part[rows] * turned + lift) for part in (path.start, path.end))
    rim = other_from_own.turn(_rim(cut.cutter) * turned)
    box = np.array([*layout.section_box_mm(bend)])
    low = np.array([box[0], box[1], -layout.thickness_mm])
    high = np.array([box[2], box[3], 0.0])
    # Only ways whose own box comes as near as the rim reaches.
    near = (np.minimum(start, end) + rim.min(axis=0) < high).all(axis=1)
    near &= (np.maximum(start, end) + rim.max(axis=0) > low).all(axis=1)
    start, end, rows = start[near], end[near], rows[near]
    out = [np.empty((0, 4))]
    faces = left() if left is not None and len(rows) else None
    for begin in range(0, len(rows), _ROWS):
        some = slice(begin, begin + _ROWS)
        row, points = _along(rows[some], start[some], end[some], rim)
        inside = ((points > low) & (points < high)).all(axis=1)
        row, points = row[inside], points[inside]
        depth = _depth(points, faces, layout, is_front=cut.face.is_front)
        deep = depth > _DEEP_MM
        out.append(np.column_stack([row[deep], points[deep, :2], depth[deep]]))
    return np.concatenate(out)


def _rim(cutter: Cutter) -> Floats:
    """Return points of a cutter's lower surface, from the centre of its tip, shape (n, 3)."""
    radius = np.unique(
        [0.0, cutter.tip_radius_mm, cutter.tip_radius_mm + 0.7 * cutter.corner_radius_mm, cutter.radius_mm]
    )
    # A hair inside, where the profile of a rim is finite whatever the rounding.
    radius = radius * (1.0 - 1e-9)
    height = cutter.profile(radius)
    turn = np.repeat(_TURN, len(radius))
    r, z = np.tile(radius, len(_TURN)), np.tile(height, len(_TURN))
    return np.column_stack([r * np.cos(turn), r * np.sin(turn), z])


def _along(rows: NDArray[np.intp], start_mm: Floats, end_mm: Floats, rim: Floats) -> tuple[NDArray[np.intp], Floats]:
    """Return the cutter's points all along straight ways, and the rows they belong to."""
    count = 2 + (np.linalg.norm(end_mm - start_mm, axis=1) / _EVERY_MM).astype(np.intp)
    way = np.repeat(np.arange(len(count)), count)
    number = np.arange(len(way)) - np.repeat(np.cumsum(count) - count, count)
    share = (number / (count[way] - 1))[:, np.newaxis]
    tips = start_mm[way] + share * (end_mm - start_mm)[way]
    points = (tips[:, np.newaxis] + rim).reshape(-1, 3)
    return np.repeat(rows[way], len(rim)), points


def _depth(points: Floats, faces: BothFaces | None, layout: Layout, *, is_front: bool) -> Floats:
    """Return how deep points are below the face that is up, negative where no wood is; shape (n,)."""
    z = points[:, 2]
    front, back = np.zeros(len(z)), np.full(len(z), -layout.thickness_mm)
    if faces is not None and len(z):
        grid = faces.grid
        row, column, inside = grid.cells_at(points[:, :2])
        front[inside] = faces.front_mm[row[inside], column[inside]]
        back[inside] = faces.back_mm[row[inside], column[inside]]
    depth = front - z if is_front else z - back
    return np.where((z < front) & (z > back), depth, -1.0)
